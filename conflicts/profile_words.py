"""Why there is no profile, and what would make one possible, in sentences with their figures."""

import numpy as np

from conflicts.engine.profile_conflict import Conflict
from conflicts.engine.profile_limits import ProfileLimits, Range
from conflicts.engine.profile_lines import BLOCKED_M, UnknownDepth
from conflicts.engine.profile_proof import Demand
from conflicts.profile_demands import MORE_COVER_M, WIDER_RATIO, Demands, LineAhead
from conflicts.profile_eased import Eased
from conflicts.profile_relax import Relaxation, Relaxed
from conflicts.sentences import station_words
from locates.units import format_grade, format_length

NOT_FOUND = (
    "No profile was found, and it is not proven that there is none: the demands lie at the edge of what can "
    "be drilled. Relax one of them."
)


def conflict_sentences(demands: Demands, conflict: Conflict, show_units: str) -> list[str]:
    """Why no profile keeps the demands: the fewest that cannot all hold, and the setback where it tells.

    Parameters
    ----------
    demands : Demands
    conflict : Conflict
    show_units : str
    """
    limits = demands.limits
    lines = [demands.lines[number] for number in conflict.lines]
    demand = _from_bit if demands.begins_at_bit else _demand
    parts = [demand(limits, one, show_units) for one in conflict.demands]
    parts += [_line(demands, one, show_units) for one in lines]
    if len(parts) == 1:
        return [f"No profile can be drilled: {parts[0]}."]
    found = [f"No profile can be drilled, for these cannot all hold: {'; '.join(parts)}."]
    bends = {Demand.ENTRY_PITCH, Demand.BEND_RADIUS} <= set(conflict.demands) and not demands.begins_at_bit
    return found + (_setback(limits, lines, show_units) if bends else [])


def relaxation_sentence(demands: Demands, relaxation: Relaxation, show_units: str) -> str:
    """What would make a profile possible.

    Parameters
    ----------
    demands : Demands
    relaxation : Relaxation
    show_units : str
    """
    if relaxation.kind is Relaxed.RIG_BACK:
        far = format_length(relaxation.back_m, show_units, "up")
        stretch = demands.limits.entry_station_m
        rearmost = "" if stretch.least == stretch.greatest else " from the rearmost place that it may have"
        return f"Move the rig back {far}{rearmost}, in line with the first stretch of the alignment."
    if relaxation.kind is Relaxed.MORE_PITCH and relaxation.bend_radius_m is not None:
        limits = demands.limits
        radius_m = relaxation.bend_radius_m / (1.0 + WIDER_RATIO)
        bend = format_length(radius_m, show_units, "down")
        return (
            f"Allow {_a_rod(limits, radius_m)} instead of {_a_rod(limits, _radius_m(limits))} of pitch "
            f"change a rod (a bend radius of {bend}), if the rods and the product can take it."
        )
    if relaxation.eased is not None:
        return _eased(relaxation.eased, show_units)
    parts = [
        f"{one.name} (its unknown depth blocks {format_length(one.to_m - one.from_m, show_units, 'up')} "
        f"from {station_words(one.from_m, show_units)})"
        for one in relaxation.lines
    ]
    what = "Expose " if len(parts) == 1 else "No single one is enough; expose all of these: "
    return f"{what}{'; '.join(parts)}. A profile was found without; the depth found must clear it."


def _eased(eased: Eased, show_units: str) -> str:
    """A limit that gives way, as what is to be allowed in its place."""
    limits = eased.limits
    cover = format_length(limits.minimum_cover_m - MORE_COVER_M, show_units, "down")
    words = {
        Demand.GREATEST_DEPTH: (
            f"Allow the hole's centre to lie {format_length(limits.greatest_depth_m, show_units, 'up')} deep."
        ),
        Demand.STEEPEST_PITCH: f"Allow a pitch of {format_grade(limits.steepest_pitch_ratio)}.",
        Demand.ENTRY_PITCH: f"Allow a pitch at entry of {_grades(limits.entry_pitch_ratio)}, if the rig can.",
        Demand.EXIT_PITCH: f"Allow a pitch at the end of {_grades(limits.exit_pitch_ratio)}.",
        Demand.EXIT_DEPTH: f"Let the bore end at a depth of {_lengths(limits.exit_depth_m, show_units)}.",
        Demand.COVER: (
            f"Ask for {cover} of cover, if the law of the place, the owner of the ground and the operators "
            "allow so little."
        ),
    }
    return words[eased.demand]


def _radius_m(limits: ProfileLimits) -> float:
    return limits.bend_radius_m / (1.0 + WIDER_RATIO)


def _a_rod(limits: ProfileLimits, radius_m: float) -> str:
    """Pitch change a rod by the published convention, tan(L / R)."""
    return format_grade(float(np.tan(limits.rod_length_m / radius_m)))


def _demand(limits: ProfileLimits, demand: Demand, show_units: str) -> str:
    cover = format_length(limits.minimum_cover_m - MORE_COVER_M, show_units, "up")
    deepest = format_length(limits.greatest_depth_m, show_units, "down")
    stations = (station_words(one, show_units) for one in (limits.covered_m.least, limits.covered_m.greatest))
    radius_m = _radius_m(limits)
    at_m, turn_rad = limits.too_sharp or (0.0, 0.0)
    words = {
        Demand.ENTRY_DEPTH: f"the bore enters at a depth of {_lengths(limits.entry_depth_m, show_units)}",
        Demand.ENTRY_PITCH: f"the pitch at entry is {_grades(limits.entry_pitch_ratio)}",
        Demand.EXIT_DEPTH: f"the bore ends at a depth of {_lengths(limits.exit_depth_m, show_units)}",
        Demand.EXIT_PITCH: f"the pitch at the end is {_grades(limits.exit_pitch_ratio)}",
        Demand.BEND_RADIUS: (
            "the first rod is straight and no bend is tighter than "
            f"{format_length(radius_m, show_units, 'up')} ({_a_rod(limits, radius_m)} of pitch change a rod)"
        ),
        Demand.STEEPEST_PITCH: f"no pitch is steeper than {format_grade(limits.steepest_pitch_ratio)}",
        Demand.COVER: f"the cover is {cover} or more from {' to '.join(stations)}",
        Demand.ALIGNMENT: (
            f"the alignment turns by {abs(np.degrees(turn_rad)):.1f} degrees at "
            f"{station_words(at_m, show_units)}, within one rod"
        ),
        Demand.GREATEST_DEPTH: f"the hole's centre is no deeper than {deepest}",
    }
    return words[demand]


def _from_bit(limits: ProfileLimits, demand: Demand, show_units: str) -> str:
    """A demand of a profile that goes on from rods in the ground."""
    radius_m = _radius_m(limits)
    words = {
        Demand.ENTRY_DEPTH: "the bore goes on from where the bit is",
        Demand.ENTRY_PITCH: f"it goes on at the pitch read last, {_grades(limits.entry_pitch_ratio)}",
        Demand.BEND_RADIUS: (
            f"no bend is tighter than {format_length(radius_m, show_units, 'up')} "
            f"({_a_rod(limits, radius_m)} of pitch change a rod)"
        ),
    }
    return words.get(demand) or _demand(limits, demand, show_units)


def _lengths(wanted: Range, show_units: str) -> str:
    first, last = (format_length(one, show_units) for one in (wanted.least, wanted.greatest))
    return first if first == last else f"{first} to {last}"


def _grades(wanted: Range) -> str:
    first, last = format_grade(wanted.least), format_grade(wanted.greatest)
    return first if first == last else f"{first} to {last}"


def _line(demands: Demands, line: LineAhead, show_units: str) -> str:
    """What a line asks for."""
    low, high = line.from_m, line.to_m
    where = f"from {station_words(low, show_units)} to {station_words(high, show_units)}"
    if isinstance(line.obstacle, UnknownDepth):
        if line.obstacle.down_to_m >= BLOCKED_M:
            blocked = format_length(high - low, show_units, "up")
            return f"the depth of {line.name} is unknown, which blocks every depth {where} ({blocked})"
        down_to = format_length(line.obstacle.down_to_m, show_units, "up")
        return f"the depth of {line.name} is unknown, which blocks all above a depth of {down_to} {where}"
    required = format_length(line.required_m, show_units, "up")
    at = np.array([float(np.clip(line.station_m, low, high))])
    lower, upper = line.obstacle.edges_m(at, 0.0)
    words = (
        f"{line.name} at {station_words(float(at[0]), show_units)} is missed by {required} in the worst case"
    )
    if np.isnan(lower[0]):
        return words
    ground = float(demands.limits.ground.at(at)[0])
    over, under = (format_length(ground - float(one), show_units) for one in (upper[0], lower[0]))
    return f"{words} (the hole's centre there no deeper than {over}, or {under} deep and more)"


def _setback(limits: ProfileLimits, lines: list[LineAhead], show_units: str) -> list[str]:
    """How far from the rig a bore first lies level, where a line stands nearer.

    Notes
    -----
    After a straight first rod L at an angle a and an arc of radius R to level: depth L sin a + R (1 - cos a),
    setback L cos a + R sin a (Najafi, Trenchless Technology Piping, eq. 5.7). The shallowest angle is told.
    """
    angle = float(np.arctan(max(0.0, -limits.entry_pitch_ratio.greatest)))
    rod_m, radius_m = limits.rod_length_m, _radius_m(limits)
    depth_m = limits.entry_depth_m.least + rod_m * np.sin(angle) + radius_m * (1.0 - np.cos(angle))
    setback_m = float(rod_m * np.cos(angle) + radius_m * np.sin(angle))
    nearest = min((one.station_m - limits.entry_station_m.least for one in lines), default=np.inf)
    found = (
        f"With a {format_length(radius_m, show_units)} bend radius and {format_grade(float(np.tan(angle)))} "
        f"downward at entry the bore is first level {format_length(depth_m, show_units)} deep, "
        f"{format_length(setback_m, show_units)} from the rig"
    )
    if nearest < setback_m:
        return [f"{found}; the first of these lines stands at {format_length(nearest, show_units)}."]
    return [f"{found}."]
