"""What the rods of a bore meet at a moment: those in the ground, and those that were pulled back."""

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from conflicts.bit_ahead import bit_ahead
from conflicts.drilled import Drilled, DrilledCrossing, drilled_path
from conflicts.drilled_beside import Leg, abandoned_legs
from conflicts.engine.drilled_path import path_through
from conflicts.engine.errors import EngineError
from conflicts.engine.line import project_on
from conflicts.held_to_then import held_to_then
from conflicts.hole_passes import HoleSize
from conflicts.rod_log import RodLog
from conflicts.scene import Scene


@dataclass(frozen=True, eq=False)
class LegCrossing:
    """A crossing of an abandoned leg, by a hole as wide as the plan's: who left it may not have reamed it."""

    leg: Leg
    drilled: DrilledCrossing


@dataclass(frozen=True, eq=False)
class AsDrilled:
    """The path in the ground and all that it and abandoned legs meet.

    ``path`` is None where no rod is in the ground, and where ``problem`` says why it cannot be told.
    """

    path: Drilled | None = None
    crossings: tuple[DrilledCrossing, ...] = ()
    legs: tuple[LegCrossing, ...] = ()
    problem: str = ""

    @property
    def every(self) -> list[tuple[str, DrilledCrossing]]:
        """All crossings with the name of their leg, empty for the rods in the ground: those come first."""
        return [("", one) for one in self.crossings] + [(one.leg.name, one.drilled) for one in self.legs]

    @property
    def not_clear(self) -> list[tuple[str, DrilledCrossing]]:
        """Those of every one that are not clear."""
        return [(leg, one) for leg, one in self.every if not one.crossing.is_clear]


def as_drilled(scene: Scene, log: RodLog | None, at: datetime) -> AsDrilled:
    """What the logged rods of a bore meet.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog or None
        None where no rod was ever logged.
    at : datetime
        At which variances count.

    Returns
    -------
    AsDrilled
        Readings that give no path are told, never raised: the plan's page stands without them.
    """
    if log is None:
        return AsDrilled()
    try:
        legs = tuple(
            LegCrossing(leg, one) for leg in abandoned_legs(scene, log) for one in _of_leg(scene, leg, at)
        )
        path = drilled_path(scene, log)
        met = () if path is None else tuple(held_to_then(scene, path, at))
    except EngineError as error:
        return AsDrilled(problem=str(error))
    return AsDrilled(path, met, legs)


def _of_leg(scene: Scene, leg: Leg, at: datetime) -> list[DrilledCrossing]:
    """The crossings of a leg up to its bit, past the place at which it left the rods that stayed."""
    named = leg.path
    if named is None:
        return []
    planned = HoleSize((scene.inputs.final_diameter_m,))
    return [
        one
        for one in held_to_then(scene, to_bit(scene, named.drilled), at, planned)
        if one.crossing.clearance.to_m > named.begins_m
    ]


def to_bit(scene: Scene, drilled: Drilled) -> Drilled:
    """A path that goes straight on from the antenna to the bit.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
    """
    path = path_through(np.vstack([drilled.path.points_m, bit_ahead(scene, drilled.head).point_m]))
    return replace(drilled, path=path, stations_m=project_on(path.points_m[:, :2], scene.plan_m))
