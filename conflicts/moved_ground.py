"""Whether another plan of a bore would move what is in the ground already: rods, abandoned legs, passes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from conflicts.drilled import drilled_path
from conflicts.engine.frame import FloatArray, GroundFrame
from conflicts.hole_passes import PassLog
from conflicts.inputs import BoreInputs
from conflicts.rod_log import RodInput, RodLog
from conflicts.scene import Scene, lay_out

# What comes to lie nearer to where it was than this stays where it is, m: finer than anything is located.
SAME_PLACE_M = 0.005


@dataclass(frozen=True)
class Moved:
    """What another plan would move, and how far at most."""

    what: str
    by_m: float


def moved_by_plan(before: BoreInputs, after: BoreInputs, log: RodLog, passes: PassLog) -> Moved | None:
    """What a changed plan would move the most of what is in the ground.

    Parameters
    ----------
    before, after : BoreInputs
        The bore as it is planned, and as it would be.
    log : RodLog
    passes : PassLog

    Returns
    -------
    Moved or None
        None where all stays within `SAME_PLACE_M`.

    Raises
    ------
    EngineError
        A plan from which no path can be built.

    Notes
    -----
    Rods lie from the planned entry on, along the alignment where no heading was read, and passes by stations
    of the alignment; so their places follow from the plan. They are worked out by both plans and held against
    each other: in three dimensions by the readings of pitch and heading alone, in plan also as drawn through
    the dots. The ground is the same for both: where it was surveyed anew, depths are below that.
    """
    was = _laid_out(replace(before, ground=after.ground, ground_points=after.ground_points))
    would_be = _laid_out(after)
    found = [*_moved_rods(was, would_be, log), *_moved_passes(was, would_be, passes)]
    farthest = max(found, key=lambda one: one.by_m, default=None)
    return farthest if farthest is not None and farthest.by_m > SAME_PLACE_M else None


def _laid_out(inputs: BoreInputs) -> Scene:
    """The plan alone: no line is asked about."""
    return lay_out(replace(inputs, marks=()))


def _moved_rods(was: Scene, would_be: Scene, log: RodLog) -> Iterator[Moved]:
    legs = [(f" of the abandoned leg {place}", leg) for place, leg in enumerate(log.legs, start=1)]
    chains: list[tuple[str, Sequence[RodInput]]] = [("", log.rods)]
    chains += [(name, (*leg.before, *leg.rods)) for name, leg in legs]
    for name, chain in chains:
        if not chain:
            continue
        old, new = (_joints(scene, was.frame, log, chain) for scene in (was, would_be))
        # By readings alone, and as drawn.
        away = np.maximum(*(np.linalg.norm(b - a, axis=1) for a, b in zip(old, new, strict=True)))
        place = int(np.argmax(away))
        yield Moved(f"rod {chain[place].number}{name}", float(away[place]))


def _joints(
    scene: Scene, frame: GroundFrame, log: RodLog, chain: Sequence[RodInput]
) -> tuple[FloatArray, FloatArray]:
    """Ends of rods in one frame: by readings alone with their heights, and in plan as they are drawn."""
    drilled = drilled_path(scene, log, chain)
    joints = () if drilled is None else drilled.joints
    raw = np.array([one.raw_m for one in joints])
    drawn = np.array([one.point_m[:2] for one in joints])
    return np.column_stack([_in_frame(scene, frame, raw[:, :2]), raw[:, 2]]), _in_frame(scene, frame, drawn)


def _in_frame(scene: Scene, frame: GroundFrame, plan_m: FloatArray) -> FloatArray:
    """Places of a scene in another ground frame, for each bore's lies about its own alignment."""
    lon_lat = scene.frame.to_geographic(plan_m)
    return frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])


def _moved_passes(was: Scene, would_be: Scene, passes: PassLog) -> Iterator[Moved]:
    if not passes.passes:
        return
    old, new = was.alignment_m, _in_frame(would_be, was.frame, would_be.alignment_m)
    sideways_m = float(shapely.hausdorff_distance(shapely.LineString(old), shapely.LineString(new)))
    ends_m = max(float(np.linalg.norm(new[end] - old[end])) for end in (0, -1))
    higher_m = abs(float(would_be.path.points_m[0, 2] - was.path.points_m[0, 2]))
    yield Moved("what was reamed or pulled in", max(sideways_m, ends_m, higher_m))
