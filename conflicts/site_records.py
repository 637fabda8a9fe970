"""What was seen, excused and signed at the site of one bore, as plain values read from the records.

No figure rests on them, so the digest of the inputs leaves them out; the checks behind a release do.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isfinite

from conflicts.faults import Fault
from conflicts.found_inputs import CameraInput, DamageInput
from conflicts.hole_passes import NO_PASSES, HoleSize, PassLog
from conflicts.pull_backs import PulledBack
from conflicts.rod_log import RodLog


@dataclass(frozen=True)
class WalkInput:
    """A daily walk along the bore."""

    walked_at: datetime
    walked_by: str
    marks_intact: bool
    device_checked: bool
    holes_open: bool
    time_zone: str = ""
    """The job's zone when it was signed; nothing where that was not kept yet."""


@dataclass(frozen=True)
class VarianceInput:
    """A variance that a safety manager signed.

    ``subject`` is "check", "crossing", "watch", "gone" or "drilled"; a check is told by its code, a crossing
    by the id of its mark, its kind and about where along the bore, a watch by its pass besides.

    The rest is what stood when it was signed: the keys of the check's faults, of the pass's stops the ids of
    their watches, or of the crossing's records with its verdict and figures. None, or an empty verdict, is
    unknown and excuses nothing.
    """

    variance_id: str
    subject: str
    check_code: str
    mark_id: str | None
    kind: str
    station_m: float | None
    reason: str
    signed_by: str
    signed_at: datetime
    valid_from: datetime
    valid_until: datetime
    ended_at: datetime | None
    pass_made: str = ""
    faults: tuple[str, ...] | None = None
    verdict: str = ""
    worst_case_m: float | None = None
    required_m: float | None = None
    is_none_attached: bool = False
    """Whether it was signed on words alone, without a photo or a paper."""

    def is_in_force(self, at: datetime) -> bool:
        """Whether it excuses anything at a moment."""
        return self.valid_from <= at < self.until

    @property
    def until(self) -> datetime:
        """The moment from which it no longer does."""
        return self.valid_until if self.ended_at is None else min(self.valid_until, self.ended_at)


@dataclass(frozen=True)
class WatchInput:
    """One look at one crossing in one pass, with the crossing as it lay then."""

    watch_id: str
    mark_id: str
    mark_ref: str
    kind: str
    station_m: float
    pass_made: str
    seen: bool
    gap_m: float | None
    required_m: float
    head_depth_m: float | None
    hole_bottom_m: float | None
    watched_at: datetime
    watched_by: str
    asked_m: float | None = None
    """What is asked of its crossing besides what was asked then; None where it belongs to none."""
    bottom_now_m: float | None = None
    """How deep the hole at its crossing is recorded to be now; None where it belongs to none, or unknown."""
    is_ahead_of_log: bool = False
    is_before_exit: bool = False
    """Confirmed, though by the log the head was short of its line, or the hole was not through."""

    @property
    def held_bottom_m(self) -> float | None:
        """The bottom that the head is held to: as recorded then, or now where that is less.

        A hole that was dug deeper since settles nothing, and one whose depth was not known then stays so.
        """
        return min((one for one in (self.hole_bottom_m, self.bottom_now_m) if one is not None), default=None)

    @property
    def held_to_m(self) -> float:
        """The gap that it is held to: what was required then, or more where more is asked."""
        return self.required_m if self.asked_m is None else max(self.required_m, self.asked_m)


@dataclass(frozen=True)
class NamedCrossing:
    """A crossing as the last release that names it tells it; an empty ``mark_id`` is of no known mark.

    ``every_type`` are the facility types under which any release of the bore names its line. Where no release
    names it but the entry of a rod that met it, ``rod`` is the number of that, and ``release_id`` empty.
    """

    release_id: str
    named_at: datetime
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
    every_type: Sequence[str] = ()
    rod: int | None = None


@dataclass(frozen=True)
class SiteRecords:
    """Everything that was recorded at the site of one bore, each in order of time.

    ``damage`` are the ids of the reports of the bore and of its job as a whole, ``reports`` what they tell,
    the last that happened first. ``never_waived`` are the
    codes of the checks that nobody may excuse in this jurisdiction. ``released_from`` is when the bore might
    first be drilled under a release, None where none ever stood; ``is_reaming_released`` whether it was to be
    reamed by any of those, whatever is recorded of its pilot since; ``named`` are the crossings that those
    releases name, the last named first. ``passes`` are those of reamers and of the pullback, ``made`` is how
    wide they leave the hole as it was drilled, None without one; what is wider than planned is an input
    besides (`BoreInputs.wider`). ``pulled_back`` are the times that rods were pulled back to steer anew.
    ``log`` is of the rods, None where none was ever logged. ``rezoned_at`` is when the job's time zone was
    changed, read where a walk does not keep the zone in which it was signed.
    """

    walks: tuple[WalkInput, ...] = ()
    variances: tuple[VarianceInput, ...] = ()
    cameras: tuple[CameraInput, ...] = ()
    watches: tuple[WatchInput, ...] = ()
    damage: tuple[str, ...] = ()
    reports: tuple[DamageInput, ...] = ()
    never_waived: tuple[str, ...] = ()
    closed_out_at: datetime | None = None
    released_from: datetime | None = None
    is_reaming_released: bool = False
    named: tuple[NamedCrossing, ...] = ()
    passes: PassLog = NO_PASSES
    made: HoleSize | None = None
    pulled_back: tuple[PulledBack, ...] = ()
    log: RodLog | None = None
    rezoned_at: tuple[datetime, ...] = ()


# The check of the crossings is excused crossing by crossing, never as a whole.
CROSSINGS = "crossings"

# Of the day's walk only that nobody made it is excused, on that day: a "no" is settled at the site.
DAY, NOBODY_WALKED = "day", "nobody_walked "

# Verdicts on a crossing that may be excused: never one that is not known, nor a hole that meets a line.
EXCUSABLE = ("unexposed", "stale", "short")
CLEAR = "clear"

# Of two figures that are equal but for this none is less.
MARGIN_SLACK_M = 1e-6

NO_SITE_RECORDS = SiteRecords()


def variance_for_check(
    site: SiteRecords, code: str, faults: Collection[str], at: datetime
) -> VarianceInput | None:
    """The variance in force that excuses all of a check's faults; None for one that nobody may excuse.

    Parameters
    ----------
    site : SiteRecords
    code : str
        Of the check.
    faults : collection of str
        The keys of all for which it holds now; each has to be among those of the signing.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    if code in site.never_waived or code == CROSSINGS or not faults:
        return None
    if code == DAY and not all(is_day_unwalked(key) for key in faults):
        return None
    return _longest(
        one
        for one in site.variances
        if one.subject == "check"
        and one.check_code == code
        and one.faults is not None
        and set(faults) <= set(one.faults)
        and one.is_in_force(at)
    )


def is_day_unwalked(key: str) -> bool:
    """Whether the fault of a key is that nobody walked the bore on a day, which the key names."""
    return key.startswith(NOBODY_WALKED)


@dataclass(frozen=True)
class CrossingExtent:
    """A crossing of a line, or where one was: from station to station along the bore, in metres."""

    mark_id: str
    kind: str
    from_m: float
    to_m: float


@dataclass(frozen=True)
class CrossingNow(CrossingExtent):
    """What a variance is held against: a crossing as it lies and stands now, in metres.

    ``rests_on`` are the records behind it, its mark and the bore's plan.
    """

    verdict: str
    worst_case_m: float | None
    required_m: float
    rests_on: tuple[Fault, ...]


def variance_for_clearance(site: SiteRecords, now: CrossingNow, at: datetime) -> VarianceInput | None:
    """The variance in force for the clearance of a crossing: of its verdict and records, no worse figure.

    Parameters
    ----------
    site : SiteRecords
    now : CrossingNow
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    return _longest(
        one
        for one in _of_crossing(site, "crossing", now, at)
        if one.verdict in EXCUSABLE
        and one.verdict == now.verdict
        and _keeps(one, now, ())
        and is_no_worse(now, one)
    )


def variance_for_drilled(site: SiteRecords, now: CrossingNow, at: datetime) -> VarianceInput | None:
    """The variance in force for a drilled hole past a line, no worse than when it was signed.

    Parameters and returns as for `variance_for_clearance`; ``now`` is by stations of the plan. One of a hole
    that meets the line answers for it when the bore is closed out, and lifts no stop.
    """
    return _longest(
        one
        for one in _of_crossing(site, "drilled", now, at)
        if one.verdict == now.verdict and _keeps(one, now, ()) and is_no_worse(now, one)
    )


def variance_for_watch(
    site: SiteRecords, now: CrossingNow, pass_made: str, faults: Collection[str], at: datetime
) -> VarianceInput | None:
    """The variance in force for seeing one pass go by one crossing: of its records, no worse, no other fault.

    Parameters
    ----------
    site : SiteRecords
    now : CrossingNow
        As it has to be watched.
    pass_made : str
        "pilot", "reaming" or "pullback".
    faults : collection of str
        The keys of what stands in the way of the pass but that it was not seen: each has to be among those
        of the signing.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    return _longest(
        one
        for one in _of_crossing(site, "watch", now, at)
        if one.pass_made == pass_made and _keeps(one, now, faults) and is_seen_as_then(now, one)
    )


def variance_for_gone(
    site: SiteRecords, gone: CrossingNow, faults: Collection[str], at: datetime
) -> VarianceInput | None:
    """The variance in force for a crossing that is not there any more as a whole: its passes and its camera.

    Parameters
    ----------
    site : SiteRecords
    gone : CrossingNow
        As the last release that names it tells it.
    faults : collection of str
        The keys of what stands in the way of any pass of it.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    return _longest(one for one in _of_crossing(site, "gone", gone, at) if _keeps(one, gone, faults))


def variance_for_stops(
    site: SiteRecords, place: CrossingExtent, pass_made: str, stops: Collection[str], at: datetime
) -> VarianceInput | None:
    """The variance in force for the stops in one pass at a place where no crossing is known any more.

    Parameters
    ----------
    site : SiteRecords
    place : CrossingExtent
    pass_made : str
        "pilot", "reaming" or "pullback".
    stops : collection of str
        Ids of the watches that set them off; each has to be among those of the signing.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    return _longest(
        one
        for one in _of_crossing(site, "watch", place, at)
        if one.pass_made == pass_made and one.faults is not None and set(stops) <= set(one.faults)
    )


def _keeps(one: VarianceInput, now: CrossingNow, faults: Collection[str]) -> bool:
    """Whether the records of a crossing and all those faults were among those of the signing."""
    return one.faults is not None and {*faults, *(fault.key for fault in now.rests_on)} <= set(one.faults)


def is_seen_as_then(now: CrossingNow, then: VarianceInput) -> bool:
    """Whether a crossing is no worse than when the watch of a pass of it was excused."""
    return then.verdict != "" and now.verdict in (then.verdict, CLEAR) and is_no_worse(now, then)


def _of_crossing(site: SiteRecords, subject: str, lies: CrossingExtent, at: datetime) -> list[VarianceInput]:
    """Those in force of a crossing's mark and kind, signed for a place within its extent."""
    return [
        one
        for one in site.variances
        if one.subject == subject
        and (one.mark_id, one.kind) == (lies.mark_id, lies.kind)
        and one.station_m is not None
        and lies.from_m <= one.station_m <= lies.to_m
        and one.is_in_force(at)
    ]


def is_no_worse(now: CrossingNow, then: VarianceInput) -> bool:
    """Whether worst case and margin are at least those then; one not known then must be so still."""
    if then.required_m is None:
        return False
    if now.worst_case_m is None or not isfinite(now.worst_case_m):
        return then.worst_case_m is None and now.required_m <= then.required_m + MARGIN_SLACK_M
    if then.worst_case_m is None:
        return False
    nearer_m = then.worst_case_m - now.worst_case_m
    return max(nearer_m, nearer_m + now.required_m - then.required_m) <= MARGIN_SLACK_M


def _longest(variances: Iterable[VarianceInput]) -> VarianceInput | None:
    return max(variances, key=lambda one: one.until, default=None)
