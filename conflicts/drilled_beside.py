"""What was drilled beside the plan: the path in the ground, abandoned legs, and how far each was off."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.drilled import Drilled, DrilledJoint, drilled_path
from conflicts.engine.errors import EngineError
from conflicts.rod_log import RodLog
from conflicts.scene import Scene

# Less than this is on the plan, for nobody reads less.
ON_PLAN_M = 0.005


@dataclass(frozen=True)
class NamedPath:
    """A path that was drilled, with the name of its leg; the one in the ground has none.

    ``begins_m`` is the station of its own at which it left the rods that stayed in the ground.
    """

    name: str
    drilled: Drilled
    begins_m: float = 0.0


@dataclass(frozen=True)
class Leg:
    """An abandoned leg, named by its order, as far as it can be drawn.

    ``drilled`` begins at the entry: with the rods that the leg was joined to.
    """

    name: str
    first: int
    last: int
    reason: str
    withdrawn_at: datetime
    withdrawn_by: str
    drilled: Drilled | None

    @property
    def count(self) -> int:
        """Of its own rods."""
        return self.last - self.first + 1

    @property
    def path(self) -> NamedPath | None:
        """What there is to draw of it."""
        if self.drilled is None:
            return None
        before = self.drilled.joints[: -self.count]
        return NamedPath(self.name, self.drilled, before[-1].own_station_m if before else 0.0)


@dataclass(frozen=True)
class OffPlan:
    """How far some of a bore's rods are off the plan, each told by the rod with the most.

    ``depth`` is None where no depth was read, ``plan`` where no dot was.
    """

    name: str
    depth: DrilledJoint | None
    plan: DrilledJoint | None


@dataclass(frozen=True)
class DrilledBeside:
    """What was drilled of a bore; ``problem`` says why the path in the ground cannot be told."""

    log: RodLog
    drilled: Drilled | None
    legs: list[Leg]
    problem: str = ""

    @property
    def is_any(self) -> bool:
        """Whether there is anything to tell."""
        return bool(self.log.rods or self.log.withdrawn)

    @property
    def paths(self) -> list[NamedPath]:
        """The paths to draw, abandoned legs first."""
        legs = [path for path in (leg.path for leg in self.legs) if path is not None]
        return legs if self.drilled is None else [*legs, NamedPath("", self.drilled)]

    @property
    def off_plan(self) -> list[OffPlan]:
        """The most off the plan and at the head, then the most of each abandoned leg."""
        found = []
        if self.drilled is not None:
            found = [
                off_plan("Largest", self.drilled.joints),
                off_plan(f"At the head, rod {self.drilled.head.rod.number}", [self.drilled.head]),
            ]
        for leg in self.legs:
            if leg.drilled is not None:
                own = leg.drilled.joints[-leg.count :]
                found.append(off_plan(f"{leg.name}, pulled back", own))
        return found


def drilled_beside(scene: Scene, log: RodLog) -> DrilledBeside:
    """What was drilled of a bore beside its plan.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog

    Returns
    -------
    DrilledBeside
        Readings from which no path can be built are told, never raised: the plan's page stands without them.
    """
    legs = abandoned_legs(scene, log)
    try:
        return DrilledBeside(log, drilled_path(scene, log), legs)
    except EngineError as error:
        return DrilledBeside(log, None, legs, str(error))


def abandoned_legs(scene: Scene, log: RodLog) -> list[Leg]:
    """The legs that were pulled back, in the order in which they were left.

    Parameters
    ----------
    scene : Scene
    log : RodLog
    """
    return [_leg(scene, log, place) for place in range(len(log.legs))]


def _leg(scene: Scene, log: RodLog, place: int) -> Leg:
    left = log.legs[place]
    try:
        drilled = drilled_path(scene, log, (*left.before, *left.rods))
    except EngineError:
        drilled = None
    return Leg(
        name=f"Leg {place + 1}",
        first=left.rods[0].number,
        last=left.rods[-1].number,
        reason=left.withdrawal.reason,
        withdrawn_at=left.withdrawal.withdrawn_at,
        withdrawn_by=left.withdrawal.withdrawn_by,
        drilled=drilled,
    )


def off_plan(name: str, joints: Sequence[DrilledJoint]) -> OffPlan:
    """How far rods are off the plan: of the depths and of the dots that were read, the farthest each.

    Parameters
    ----------
    name : str
    joints : sequence of DrilledJoint
    """
    return OffPlan(
        name,
        _most([one for one in joints if one.rod.depth_m is not None], lambda one: abs(one.deeper_m)),
        _most([one for one in joints if one.rod.dot is not None], lambda one: abs(one.right_m)),
    )


def _most(joints: Sequence[DrilledJoint], off_m: Callable[[DrilledJoint], float]) -> DrilledJoint | None:
    return max(joints, key=off_m, default=None)
