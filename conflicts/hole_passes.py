"""The passes of one hole after its pilot, as plain values, and how wide they leave it, station by station."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from math import inf, isfinite

from conflicts.pullback.bundle import circle_round

# A planned size in whole millimetres is off by so much at most from the inches that it stands for: a reamer
# that is no wider than that is the planned one.
ROUNDING_M = 0.0005
REAMING = "reaming"
PULLBACK = "pullback"


@dataclass(frozen=True)
class PassInput:
    """One pass as it was logged.

    ``made_at`` is when it began, ``ended_at`` when it was through; None where that was not asked yet.
    ``diameter_m`` is the reamer's, or that of the circle round the conduits. ``conduits`` are how many of
    which outside size, metres. ``from_m`` and ``to_m`` are None where the whole bore was passed.
    """

    pass_id: str
    kind: str
    diameter_m: float
    conduits: tuple[tuple[int, float], ...]
    is_measured: bool
    direction: str
    from_m: float | None
    to_m: float | None
    confirmed: tuple[str, ...]
    remarks: str
    made_at: datetime
    logged_at: datetime
    logged_by: str
    ended_at: datetime | None = None

    @property
    def through_at(self) -> datetime:
        """When it was through, as far as it is known: no later than that it was logged once it was."""
        return self.logged_at if self.ended_at is None else self.ended_at

    @property
    def circle_words(self) -> str:
        """How the circle round the conduits is known: measured, computed, or no more than an upper bound."""
        if not self.conduits:
            return ""
        if self.is_measured:
            return "measured"
        return "computed as an upper bound" if circle_round(self.conduits).is_bound else "computed"

    @property
    def reach_m(self) -> tuple[float, float]:
        """From which station to which it went; without end where it went through the whole bore."""
        return (
            -inf if self.from_m is None else self.from_m,
            inf if self.to_m is None else self.to_m,
        )


@dataclass(frozen=True)
class WithdrawnPass:
    """A pass that was entered wrongly, and who said so."""

    entry: PassInput
    reason: str
    withdrawn_at: datetime
    withdrawn_by: str


@dataclass(frozen=True)
class PassLog:
    """The passes of one hole: ``passes`` count, in the order in which they were logged."""

    passes: tuple[PassInput, ...] = ()
    withdrawn: tuple[WithdrawnPass, ...] = ()

    @property
    def reamings(self) -> tuple[PassInput, ...]:
        """Those of a reamer."""
        return tuple(one for one in self.passes if one.kind == REAMING)

    @property
    def pullback(self) -> PassInput | None:
        """The last pullback."""
        return self.last_over(PULLBACK, -inf, inf)

    @property
    def lacks_pullback(self) -> bool:
        """Whether the hole was reamed and nothing is logged to have been pulled in since."""
        reamed, pulled = self.last_over(REAMING, -inf, inf), self.pullback
        return reamed is not None and (pulled is None or pulled.made_at < reamed.made_at)

    @property
    def is_finished(self) -> bool:
        """Whether the conduits are in: a pullback is logged, and no reamer went in after it."""
        return self.pullback is not None and not self.lacks_pullback

    @property
    def state(self) -> str:
        """In a word or two: "reamed", "pulled back"; empty where no pass is logged."""
        if self.is_finished:
            return "pulled back"
        return "reamed" if self.reamings else ""

    def last_over(self, kind: str, low_m: float, high_m: float) -> PassInput | None:
        """The pass of a kind that was made last anywhere between two stations, whenever it was logged."""
        over = [one for one in reversed(self.passes) if one.kind == kind and _meets(one, low_m, high_m)]
        return max(over, key=lambda one: one.made_at, default=None)

    def reamed_m(self, low_m: float, high_m: float) -> float | None:
        """Diameter of the largest reamer that went anywhere between two stations; None where none did."""
        return max((one.diameter_m for one in self.reamings if _meets(one, low_m, high_m)), default=None)


NO_PASSES = PassLog()


@dataclass(frozen=True)
class HoleSize:
    """How wide a hole is, stretch by stretch.

    ``diameters_m`` are of the stretches in their order, ``edges_m`` the stations between them, metres. The
    first stretch also counts before the entry and the last one past the exit.
    """

    diameters_m: tuple[float, ...]
    edges_m: tuple[float, ...] = ()

    @property
    def widest_m(self) -> float:
        """The largest diameter anywhere."""
        return max(self.diameters_m)

    @property
    def levels_m(self) -> list[float]:
        """Every diameter that it has somewhere, the largest first."""
        return sorted(set(self.diameters_m), reverse=True)

    def widest_between(self, low_m: float, high_m: float) -> float:
        """The largest diameter from one station to another, both included.

        Parameters
        ----------
        low_m, high_m : float
            Stations, the first not after the second.

        Notes
        -----
        At the station where two stretches meet the larger one counts.
        """
        first, last = bisect_left(self.edges_m, low_m), bisect_right(self.edges_m, high_m)
        return max(self.diameters_m[first : last + 1])


def hole_as_planned(planned_m: float, log: PassLog) -> HoleSize:
    """How wide a hole counts along its plan: the planned size, and what was reamed or pulled in wider.

    Parameters
    ----------
    planned_m : float
        Planned final diameter.
    log : PassLog

    Returns
    -------
    HoleSize
        Nowhere less than the planned size, for reaming may still come, and a pass may not have been logged.
    """
    return _hole(planned_m, log, may_be_less=False)


def hole_as_made(planned_m: float, pilot_m: float | None, log: PassLog) -> HoleSize:
    """How wide the finished hole is.

    Parameters
    ----------
    planned_m : float
        Planned final diameter.
    pilot_m : float or None
        Of the pilot; None where it is not recorded.
    log : PassLog

    Returns
    -------
    HoleSize
        Once the conduits are in, and no reamer went in after them, where a reamer went its size counts, also
        where less was planned, and never less than the pilot or than the circle round the conduits. Until
        then, and where no reamer is on record, never less than planned: an unknown is never a yes.
    """
    return _hole(planned_m, log, may_be_less=log.is_finished, least_m=pilot_m or 0.0)


def is_as_planned(diameter_m: float, planned_m: float) -> bool:
    """Whether a reamer is of the planned size, but for rounding; one that is smaller never is."""
    return planned_m <= diameter_m <= planned_m + ROUNDING_M


def _hole(planned_m: float, log: PassLog, *, may_be_less: bool, least_m: float = 0.0) -> HoleSize:
    pulled_m = max((one.diameter_m for one in log.passes if one.kind == PULLBACK), default=0.0)
    ends = sorted({end for one in log.reamings for end in one.reach_m if isfinite(end)})
    edges: list[float] = []
    diameters: list[float] = []
    for low_m, high_m in pairwise([-inf, *ends, inf]):
        over = [
            planned_m if is_as_planned(one.diameter_m, planned_m) else one.diameter_m
            for one in log.reamings
            if one.reach_m[0] <= low_m and one.reach_m[1] >= high_m
        ]
        floor_m = least_m if over and may_be_less else planned_m
        diameter_m = max((floor_m, pulled_m, *over))
        if not diameters or diameters[-1] != diameter_m:
            edges.append(low_m)
            diameters.append(diameter_m)
    return HoleSize(tuple(diameters), tuple(edges[1:]))


def pass_log(passes: Iterable[PassInput], withdrawn: Iterable[WithdrawnPass]) -> PassLog:
    """Sort the passes of a hole into those that count and those withdrawn.

    Parameters
    ----------
    passes : iterable of PassInput
        Every pass ever logged, in order of time.
    withdrawn : iterable of WithdrawnPass
        In order of time.
    """
    left_out = tuple(withdrawn)
    ids = {one.entry.pass_id for one in left_out}
    return PassLog(tuple(one for one in passes if one.pass_id not in ids), left_out)


def _meets(one: PassInput, low_m: float, high_m: float) -> bool:
    from_m, to_m = one.reach_m
    return from_m <= high_m and to_m >= low_m
