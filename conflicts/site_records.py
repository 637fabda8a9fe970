"""What was seen, excused and signed at the site of one bore, as plain values read from the records.

No figure rests on them, so the digest of the inputs leaves them out; the checks behind a release do.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class WalkInput:
    """A daily walk along the bore."""

    walked_at: datetime
    walked_by: str
    marks_intact: bool
    device_checked: bool
    holes_open: bool


@dataclass(frozen=True)
class VarianceInput:
    """A variance that a safety manager signed.

    ``subject`` is "check", "crossing" or "watch"; a check is told by its code, a crossing by the id of its
    mark, its kind and about where along the bore.
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

    def is_in_force(self, at: datetime) -> bool:
        """Whether it excuses anything at a moment."""
        return self.valid_from <= at < self.until

    @property
    def until(self) -> datetime:
        """The moment from which it no longer does."""
        return self.valid_until if self.ended_at is None else min(self.valid_until, self.ended_at)


@dataclass(frozen=True)
class CameraInput:
    """A look into a line by camera; ``stage`` is "before" or "after" the bore."""

    mark_id: str
    stage: str
    inspected_at: datetime
    result: str


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


@dataclass(frozen=True)
class SiteRecords:
    """Everything that was recorded at the site of one bore, each in order of time.

    ``damage`` are the ids of the reports of the bore and of its job as a whole. ``never_waived`` are the
    codes of the checks that nobody may excuse in this jurisdiction.
    """

    walks: tuple[WalkInput, ...] = ()
    variances: tuple[VarianceInput, ...] = ()
    cameras: tuple[CameraInput, ...] = ()
    watches: tuple[WatchInput, ...] = ()
    damage: tuple[str, ...] = ()
    never_waived: tuple[str, ...] = ()
    closed_out_at: datetime | None = None


# The check of the crossings is excused crossing by crossing, never as a whole.
CROSSINGS = "crossings"

NO_SITE_RECORDS = SiteRecords()


def variance_for_check(site: SiteRecords, code: str, at: datetime) -> VarianceInput | None:
    """The variance in force that excuses a check as a whole; None for one that nobody may excuse.

    Parameters
    ----------
    site : SiteRecords
    code : str
        Of the check.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    if code in site.never_waived or code == CROSSINGS:
        return None
    return _longest(
        one
        for one in site.variances
        if one.subject == "check" and one.check_code == code and one.is_in_force(at)
    )


def variance_for_crossing(
    site: SiteRecords, subject: str, mark_id: str, kind: str, from_m: float, to_m: float, at: datetime
) -> VarianceInput | None:
    """The variance in force for one crossing: of its mark and kind, signed for a place within its extent.

    Parameters
    ----------
    site : SiteRecords
    subject : str
        "crossing" for its clearance, "watch" for seeing it passed.
    mark_id, kind : str
    from_m, to_m : float
        Extent of the crossing along the bore.
    at : datetime

    Returns
    -------
    VarianceInput or None
        Of several the one that lasts longest.
    """
    return _longest(
        one
        for one in site.variances
        if one.subject == subject
        and (one.mark_id, one.kind) == (mark_id, kind)
        and one.station_m is not None
        and from_m <= one.station_m <= to_m
        and one.is_in_force(at)
    )


def last_camera(site: SiteRecords, mark_id: str, stage: str, at: datetime) -> CameraInput | None:
    """The last look into a line at a stage, as far as a moment knows of it."""
    looks = [
        one for one in site.cameras if (one.mark_id, one.stage) == (mark_id, stage) and one.inspected_at <= at
    ]
    return looks[-1] if looks else None


def _longest(variances: Iterable[VarianceInput]) -> VarianceInput | None:
    return max(variances, key=lambda one: one.until, default=None)
