"""What the page of a hole's passes shows: how wide the hole is and why, what turned by it, the log."""

from dataclasses import dataclass
from itertools import pairwise

from conflicts.crossings import FoundCrossing
from conflicts.drilled import hole_made
from conflicts.hole_passes import PassInput, PassLog, WithdrawnPass, is_as_planned
from conflicts.scene import Scene

REAMED, PULLED_IN, PLANNED = "reamed", "as wide as the conduits", "planned; no reamer is on record here"


@dataclass(frozen=True)
class ShownStretch:
    """A stretch of the hole with its diameter, and where that is from, in words."""

    from_m: float
    to_m: float
    diameter_m: float
    because: str


@dataclass(frozen=True)
class PassesSheet:
    """Everything on the page.

    ``passes`` are those that count, the last one first. ``turned`` are crossings that are not clear, where
    the hole is wider than planned. ``less_m`` is how much less than planned the finished hole is somewhere.
    """

    log: PassLog
    stretches: list[ShownStretch]
    passes: tuple[PassInput, ...]
    withdrawn: tuple[WithdrawnPass, ...]
    planned_m: float
    wider_m: float
    less_m: float
    turned: list[FoundCrossing]


def passes_sheet(scene: Scene, crossings: list[FoundCrossing]) -> PassesSheet:
    """The page of a hole's passes.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    crossings : list of FoundCrossing
        The scene's.
    """
    log, planned_m = scene.inputs.site.passes, scene.inputs.final_diameter_m
    stretches = shown_stretches(scene)
    sizes = [one.diameter_m for one in stretches]
    return PassesSheet(
        log=log,
        stretches=stretches,
        passes=log.passes[::-1],
        withdrawn=log.withdrawn,
        planned_m=planned_m,
        wider_m=max(0.0, max(sizes) - planned_m),
        less_m=max(0.0, planned_m - min(sizes)),
        turned=[
            one
            for one in crossings
            if 2.0 * one.clearance.sizes.bore_radius_m > planned_m and not one.is_clear
        ],
    )


def shown_stretches(scene: Scene) -> list[ShownStretch]:
    """How wide the hole is from entry to exit.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    """
    hole, log, length_m = hole_made(scene), scene.inputs.site.passes, scene.path.length_m
    edges = [0.0, *(min(max(edge, 0.0), length_m) for edge in hole.edges_m), length_m]
    return [
        ShownStretch(low_m, high_m, diameter_m, _because(log, 0.5 * (low_m + high_m), diameter_m))
        for (low_m, high_m), diameter_m in zip(pairwise(edges), hole.diameters_m, strict=True)
        if high_m > low_m
    ]


def _because(log: PassLog, station_m: float, diameter_m: float) -> str:
    reamed_m = log.reamed_m(station_m, station_m)
    if reamed_m is not None and (reamed_m == diameter_m or is_as_planned(reamed_m, diameter_m)):
        return REAMED
    if log.is_finished and any(one.diameter_m == diameter_m for one in log.passes):
        return PULLED_IN
    return PLANNED
