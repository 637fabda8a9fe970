"""What the page of the rods shows: the head beside the plan, the lines passed and ahead, the log."""

from collections.abc import Sequence
from dataclasses import dataclass

from conflicts.bit_ahead import Bit, bit_ahead
from conflicts.checks import Assessed, crossing_now
from conflicts.crossings import FoundCrossing
from conflicts.drilled import Drilled, DrilledCrossing, DrilledJoint
from conflicts.drilled_beside import DrilledBeside, Leg, abandoned_legs
from conflicts.engine.errors import PathError
from conflicts.head_errors import checks_of_day
from conflicts.rod_log import LocatorCheckInput, RodLog, WithdrawnRods
from conflicts.same_place import is_same_place
from conflicts.to_watch import same_place_m
from conflicts.walk_days import local_day

# So many rods of the log are shown without being asked for.
ROWS_OPEN = 3


@dataclass(frozen=True)
class RodsSheet:
    """Everything on the page.

    ``passed`` are crossings of the drilled path, ``ahead`` the plan's that the head has not come to.
    ``joints`` are those of the log, the last rod first. ``missed`` are the plan's crossings behind the head
    whose tolerance zone the drilled path stayed out of. ``checks_at_head`` are those of the day on which the
    head's rod was logged.
    """

    log: RodLog
    drilled: Drilled | None
    joints: Sequence[DrilledJoint]
    passed: list[DrilledCrossing]
    ahead: list[FoundCrossing]
    missed: list[FoundCrossing]
    legs: list[Leg]
    checks_today: tuple[LocatorCheckInput, ...]
    checks_at_head: tuple[LocatorCheckInput, ...]
    bit: Bit | None

    @property
    def beside(self) -> DrilledBeside:
        """The same beside the plan, as other pages show it."""
        return DrilledBeside(self.log, self.drilled, self.legs)

    @property
    def stops(self) -> list[DrilledCrossing]:
        """Lines that the hole is not clear of."""
        return [one for one in self.passed if one.stops]

    @property
    def undone(self) -> list[WithdrawnRods]:
        """Entries that were taken back."""
        return [one for one in self.log.withdrawn if not one.is_abandoned_leg]

    @property
    def last_joints(self) -> Sequence[DrilledJoint]:
        """The rods that are looked at while drilling, the last first."""
        return self.joints[:ROWS_OPEN]

    @property
    def earlier_joints(self) -> Sequence[DrilledJoint]:
        """Those before them, folded: on a phone each takes a third of the screen."""
        return self.joints[ROWS_OPEN:]

    @property
    def next_number(self) -> int:
        """Of the rod to be logged."""
        return 1 if self.log.last is None else self.log.last.number + 1


def rods_sheet(assessed: Assessed, log: RodLog) -> RodsSheet:
    """The page of a bore's rods at the moment of its assessment.

    Parameters
    ----------
    assessed : Assessed
        The plan.
    log : RodLog

    Raises
    ------
    PathError
        Readings that give no path.
    """
    scene, at, made = assessed.scene, assessed.at, assessed.drilled_by(log)
    if made.problem:
        raise PathError(made.problem)
    drilled, passed = made.path, list(made.crossings)
    head_m = 0.0 if drilled is None else drilled.head.station_m
    ahead = [one for one in assessed.crossings if one.clearance.to_m > head_m]
    behind = [one for one in assessed.crossings if one.clearance.to_m <= head_m]
    near_m = same_place_m(assessed)
    zone = scene.inputs.job.time_zone
    return RodsSheet(
        log=log,
        drilled=drilled,
        joints=() if drilled is None else drilled.joints[::-1],
        passed=passed,
        ahead=[one for one in ahead if not _is_met(assessed, one, passed, 0.0)],
        missed=[one for one in behind if not _is_met(assessed, one, passed, near_m)],
        legs=abandoned_legs(scene, log),
        checks_today=checks_of_day(log.checks, local_day(at, zone), zone),
        checks_at_head=()
        if drilled is None
        else checks_of_day(log.checks, local_day(drilled.head.rod.logged_at, zone), zone),
        bit=None if drilled is None else bit_ahead(scene, drilled.head),
    )


def _is_met(
    assessed: Assessed, planned: FoundCrossing, passed: Sequence[DrilledCrossing], near_m: float
) -> bool:
    """Whether a crossing of the drilled path is this one of the plan: a line may be met more than once."""
    lies = crossing_now(assessed, planned)
    return any(is_same_place(one.lies, lies, near_m) for one in passed)
