"""Pull estimate of a bore as a sheet: every step with its sum, and whether the gear bears it."""

from dataclasses import dataclass, field
from math import atan, degrees

import numpy as np

from conflicts.engine.arcs import turn_angles_rad
from conflicts.engine.drillability import end_pitches_ratio
from conflicts.engine.path import BorePath
from conflicts.pullback.forces import NEWTONS_PER_POUND, PASCALS_PER_PSI, format_force
from conflicts.pullback.held_against import held_against
from conflicts.pullback.pull import Pull
from conflicts.pullback.pull_load import (
    PullLoads,
    PullPath,
    fluid_drag_n,
    parts_of_hole,
    pull_loads,
    small_rig_pull_n,
    steered_bends,
)
from conflicts.pullback.weakest import conduits_bear_n
from conflicts.worked import Worked
from locates.units import METRES_PER_FOOT, format_length

PE4710_STRESS_PA = 1330.0 * PASCALS_PER_PSI
TIMES, MINUS, ROOM = "\N{MULTIPLICATION SIGN}", "\N{MINUS SIGN}", "\N{NO-BREAK SPACE}"


@dataclass(frozen=True)
class PullSheet:
    """The estimate.

    Attributes
    ----------
    pull_n : float
        The greater of the two estimates, with the drag of the fluid.
    figures : list of Worked
    faults : list of str
        Why the pull must not be made as it is described, or what is not known of it.
    answer : str
        The estimate against the weakest link; empty where a fault stands.
    """

    pull_n: float
    figures: list[Worked]
    faults: list[str] = field(default_factory=list)
    answer: str = ""


def way_of(path: BorePath, above_ground_m: float) -> PullPath:
    """The way of the conduits through a bore: in at its exit, out at the rig."""
    points = path.points_m
    hole_m = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())
    least_m = float(points[:, 2].min())
    at_rig, at_exit = (abs(atan(pitch)) for pitch in end_pitches_ratio(path))
    depths = float(points[-1, 2]) - least_m, float(points[0, 2]) - least_m
    return parts_of_hole(hole_m, depths, (at_exit, at_rig), above_ground_m)


@dataclass(frozen=True, slots=True)
class PulledThrough:
    """The hole that conduits are pulled through, where it is narrowest and widest, metres.

    The narrowest decides what goes in, the widest how much fluid the bundle drives out. ``unknown`` says
    where nobody knows how wide it is; empty where that is known everywhere.
    """

    narrowest_m: float
    widest_m: float
    is_reamed: bool
    unknown: str = ""


def planned_bends(path: BorePath) -> float:
    """All turns of a path, in plan and height together, as right angles."""
    steps = np.diff(path.points_m, axis=0)
    turns = turn_angles_rad(steps / np.linalg.norm(steps, axis=1)[:, None])
    return float(np.degrees(turns).sum() / 90.0)


def pull_sheet(pull: Pull, path: BorePath, hole: PulledThrough, units: str) -> PullSheet:
    """The sheet of one pull.

    Parameters
    ----------
    pull : Pull
    path : BorePath
        The bore from the rig to its exit, where the conduits enter.
    hole : PulledThrough
    units : str
        Of the job: "feet" or "metric".
    """
    bundle, way = pull.bundle, way_of(path, pull.above_ground_m)
    weight = bundle.weight_n_per_m
    buoyancy = bundle.buoyancy_n_per_m(pull.mud_relative_density)
    loads = pull_loads(way, pull.frictions, weight, buoyancy)
    drag_n = fluid_drag_n(hole.widest_m, bundle.circle_m)
    bends = planned_bends(path), steered_bends(way.hole_m, pull.rod_diameter_m)
    short_n = small_rig_pull_n(way.hole_m, buoyancy, sum(bends))
    pull_n = max(loads.greatest, short_n) + drag_n
    figures = [
        *_bundle_figures(pull, buoyancy, hole, units),
        *_load_figures(pull, way, loads, units),
        *_short_figures(way, buoyancy, bends, short_n, units),
        Worked(
            "Drag of the fluid",
            format_force(drag_n, units),
            f"10 psi {TIMES} an eighth of \N{GREEK SMALL LETTER PI} {TIMES} "
            f"(hole\N{SUPERSCRIPT TWO} {MINUS} bundle\N{SUPERSCRIPT TWO})",
            note="The pressure that drives the fluid out beside the bundle; from memory of ASTM F1962.",
        ),
        Worked(
            "Pull that is counted on",
            format_force(pull_n, units, "up"),
            "the greater of both estimates + the drag of the fluid",
            f"{format_force(max(loads.greatest, short_n), units)} + {format_force(drag_n, units)}",
        ),
    ]
    bears_n = conduits_bear_n(bundle, PE4710_STRESS_PA)
    figures.append(
        Worked(
            "Conduits of PE4710 bear",
            format_force(bears_n, units, "down"),
            f"1,330 psi {TIMES} cross-section of the walls",
            note="For a pull of twelve hours, as published of ASTM F1962-22; what their maker states counts.",
        )
    )
    faults, answer = held_against(pull, pull_n, hole.narrowest_m, units)
    if hole.unknown:
        return PullSheet(pull_n, figures, [hole.unknown, *faults])
    return PullSheet(pull_n, figures, faults, answer)


def _per_length(weight_n_per_m: float, units: str) -> str:
    if units == "feet":
        return f"{weight_n_per_m * METRES_PER_FOOT / NEWTONS_PER_POUND:,.2f}{ROOM}lb/ft"
    return f"{weight_n_per_m:,.1f}{ROOM}N/m"


def _hole_words(hole: PulledThrough, units: str) -> str:
    least, most = (format_length(one, units) for one in (hole.narrowest_m, hole.widest_m))
    size = least if least == most else f"{least} to {most}"
    return f"The hole is {size}, {'as reamed' if hole.is_reamed else 'as planned: no reamer is logged'}."


def _bundle_figures(pull: Pull, buoyancy: float, hole: PulledThrough, units: str) -> list[Worked]:
    bundle = pull.bundle
    many = f"{bundle.count} conduits" if bundle.count > 1 else "one conduit"
    return [
        Worked(
            "Circle round the bundle",
            format_length(bundle.circle_m, units, "up"),
            f"of {many}, {format_length(bundle.outside_diameter_m, units)} each",
            note=_hole_words(hole, units),
        ),
        Worked(
            "Weight in air",
            _per_length(bundle.weight_n_per_m, units),
            f"walls {TIMES} relative density {TIMES} that of water",
            f"{many}, DR {bundle.dimension_ratio:g}, relative density {bundle.relative_density:g}",
        ),
        Worked(
            "Buoyancy in the hole",
            _per_length(buoyancy, units),
            f"fluid displaced {MINUS} weight, the conduits empty and closed",
            f"fluid {pull.mud_relative_density:g} times as heavy as water",
            "The lift presses the conduits against the top of the hole; water in them takes it away.",
        ),
    ]


def _load_figures(pull: Pull, way: PullPath, loads: PullLoads, units: str) -> list[Worked]:
    turned = f"e^(friction {TIMES} angle) {TIMES} "
    pressed = f"pull before + friction {TIMES} buoyancy {TIMES} length"
    lighter = f"{MINUS} drag of what has left the ground"
    depth = f"buoyancy {TIMES} depth"
    frictions = f"friction {pull.frictions.on_ground:g} on the ground, {pull.frictions.in_hole:g} in the hole"

    def part(name: str, force_n: float, formula: str, length_m: float, *more: str) -> Worked:
        filled = ", ".join([f"{format_length(length_m, units)} long", *more])
        return Worked(name, format_force(force_n, units), formula, filled)

    def angle(turn_rad: float) -> str:
        return f"{degrees(turn_rad):.1f}\N{DEGREE SIGN}"

    return [
        part(
            "Pull where they enter",
            loads.at_entry,
            f"{turned}friction {TIMES} weight {TIMES} length on the ground",
            way.above_ground_m + way.hole_m,
            angle(way.entry_rad),
            frictions,
        ),
        part(
            "Pull after the falling part",
            loads.falling,
            f"{turned}({pressed} + {depth} {lighter})",
            way.falling_m,
            angle(way.entry_rad),
            f"{format_length(way.falls_m, units)} down",
        ),
        part("Pull after the level part", loads.level, f"{pressed} {lighter}", way.level_m),
        part(
            "Pull after the rising part",
            loads.rising,
            f"{turned}({pressed} {MINUS} {depth} {lighter})",
            way.rising_m,
            angle(way.exit_rad),
            f"{format_length(way.rises_m, units)} up",
        ),
    ]


def _short_figures(
    way: PullPath, buoyancy: float, bends: tuple[float, float], short_n: float, units: str
) -> list[Worked]:
    planned, steered = bends
    return [
        Worked(
            "Bends of 90\N{DEGREE SIGN}",
            f"{planned + steered:.2f}",
            "planned + those that steering adds",
            f"{planned:.2f} + {steered:.2f}",
        ),
        Worked(
            "Short estimate for small rigs",
            format_force(short_n, units),
            f"length {TIMES} buoyancy \N{DIVISION SIGN} 3 {TIMES} 1.6 to the power of the bends",
            f"{format_length(way.hole_m, units)} {TIMES} {_per_length(abs(buoyancy), units)} "
            f"\N{DIVISION SIGN} 3 {TIMES} 1.6^{planned + steered:.2f}",
        ),
    ]
