"""The as-drilled log of one bore as plain values: which rods are in the ground, and which were before.

Every rod names the rod that it was joined to, and a withdrawal the first rod that it takes out. A rod is in
the ground while neither it nor any rod before it was withdrawn.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

UNDO = "undo"
PULL_BACK = "pull_back"
# The code of the question about one more rod without a depth: whoever confirms it read nothing wrong.
NO_DEPTH = "no_depth"


@dataclass(frozen=True)
class MetLine:
    """A line in whose tolerance zone a rod came, as it was recorded when that was logged.

    Metres, by stations of the plan. ``extent_key`` is of all but the readings on which rests where the hole
    meets it: while that is the same, its crossing as it is computed now is the one that counts.
    """

    mark_id: str
    mark_ref: str
    operator: str
    facility_type: str
    kind: str
    station_m: float
    from_m: float
    to_m: float
    verdict: str
    worst_case_m: float | None
    required_m: float
    extent_key: str


@dataclass(frozen=True)
class RodInput:
    """One rod as it was logged; None where nothing was read. ``dot`` is a longitude and a latitude.

    ``confirmed`` are the questions that were answered with "it reads so", ``confirmed_codes`` what each was
    about. ``met`` are the lines that it came to; None where that was not kept with its entry.
    """

    rod_id: str
    after_id: str | None
    number: int
    length_m: float
    pitch_ratio: float
    depth_m: float | None
    roll_rad: float | None
    heading_rad: float | None
    dot: tuple[float, float] | None
    dot_error_m: float | None
    confirmed: tuple[str, ...]
    remarks: str
    logged_at: datetime
    logged_by: str
    confirmed_codes: tuple[str, ...] = ()
    met: tuple[MetLine, ...] | None = None

    @property
    def is_in_doubt(self) -> bool:
        """Whether a reading was kept that does not fit; a rod without a depth reads nothing wrong."""
        return bool(self.confirmed) and set(self.confirmed_codes) != {NO_DEPTH}


@dataclass(frozen=True)
class WithdrawalInput:
    """Rods taken out of the path from one on; ``kind`` is "undo" or "pull_back"."""

    rod_id: str
    kind: str
    reason: str
    withdrawn_at: datetime
    withdrawn_by: str


@dataclass(frozen=True)
class LocatorCheckInput:
    """The device held against a measured depth, metres."""

    hole_ref: str
    device: str
    read_depth_m: float
    measured_depth_m: float
    checked_at: datetime
    checked_by: str


@dataclass(frozen=True)
class LocatingError:
    """What the job states of a located head: the greater of a fixed error (m) and a share of its depth."""

    fixed_m: float
    depth_ratio: float

    def at(self, depth_m: float) -> float:
        """The stated error at a depth, metres."""
        return max(self.fixed_m, self.depth_ratio * max(0.0, depth_m))


@dataclass(frozen=True)
class WithdrawnRods:
    """Rods that one withdrawal took out, in order from the entry; what was out before is not among them.

    ``before`` are the rods that they were joined to, from the entry: they hold the place of this leg.
    """

    withdrawal: WithdrawalInput
    before: tuple[RodInput, ...]
    rods: tuple[RodInput, ...]

    @property
    def is_abandoned_leg(self) -> bool:
        """Whether they were in the ground: a mistaken entry never was."""
        return self.withdrawal.kind == PULL_BACK


@dataclass(frozen=True)
class RodLog:
    """The log of one bore: ``rods`` are in the ground, from the entry; ``withdrawn`` in order of time."""

    stated: LocatingError
    rods: tuple[RodInput, ...] = ()
    withdrawn: tuple[WithdrawnRods, ...] = ()
    checks: tuple[LocatorCheckInput, ...] = ()

    @property
    def legs(self) -> tuple[WithdrawnRods, ...]:
        """Abandoned legs, in the order in which they were left."""
        return tuple(one for one in self.withdrawn if one.is_abandoned_leg)

    @property
    def last(self) -> RodInput | None:
        """The rod at the head."""
        return self.rods[-1] if self.rods else None


def rod_log(
    stated: LocatingError,
    rods: Iterable[RodInput],
    withdrawals: Iterable[WithdrawalInput],
    checks: Iterable[LocatorCheckInput] = (),
) -> RodLog:
    """Sort the rods of a bore into those in the ground and those withdrawn.

    Parameters
    ----------
    stated : LocatingError
    rods : iterable of RodInput
        Every rod ever logged for the bore.
    withdrawals : iterable of WithdrawalInput
        In order of time.
    checks : iterable of LocatorCheckInput

    Returns
    -------
    RodLog

    Notes
    -----
    Rods that are joined to one and the same rod without a withdrawal between cannot be stored; were there
    two, the later would count, and the other be in no list.
    """
    by_id = {one.rod_id: one for one in sorted(rods, key=lambda one: one.logged_at)}
    next_of: dict[str | None, list[RodInput]] = {}
    for one in by_id.values():
        next_of.setdefault(one.after_id, []).append(one)
    taken: set[str] = set()
    withdrawn = []
    for withdrawal in withdrawals:
        first = by_id[withdrawal.rod_id]
        leg = _chain(first, next_of, taken)
        taken |= {one.rod_id for one in leg}
        withdrawn.append(WithdrawnRods(withdrawal, _before(first, by_id), leg))
    in_ground = [one for one in next_of.get(None, []) if one.rod_id not in taken]
    current = _chain(in_ground[-1], next_of, taken) if in_ground else ()
    return RodLog(stated, current, tuple(withdrawn), tuple(checks))


def _chain(
    first: RodInput, next_of: Mapping[str | None, list[RodInput]], taken: set[str]
) -> tuple[RodInput, ...]:
    """A rod and the rods joined to it that are not withdrawn yet."""
    chain = [first]
    while following := [one for one in next_of.get(chain[-1].rod_id, []) if one.rod_id not in taken]:
        chain.append(following[-1])
    return tuple(chain)


def _before(rod: RodInput, by_id: Mapping[str, RodInput]) -> tuple[RodInput, ...]:
    """The rods that a rod was joined to, from the entry."""
    before: list[RodInput] = []
    after_id = rod.after_id
    while after_id is not None:
        before.append(by_id[after_id])
        after_id = by_id[after_id].after_id
    return tuple(reversed(before))
