"""Why a variance that was signed does not excuse what it was signed for, in words."""

from collections.abc import Collection, Iterable, Sequence
from datetime import datetime
from math import isfinite

from conflicts.faults import Fault
from conflicts.site_records import (
    DAY,
    EXCUSABLE,
    CrossingExtent,
    CrossingNow,
    SiteRecords,
    VarianceInput,
    is_day_unwalked,
    is_no_worse,
    is_seen_as_then,
)
from locates.local_time import format_moment
from locates.units import format_length, format_station

NOT_KEPT = "what stood when it was signed is not known"
MOST_FAULTS_TOLD = 3
# A hole that is there is answered for, whatever it meets.
DRILLED_EXCUSABLE = (*EXCUSABLE, "overlap")


def why_not_of_check(
    variance: VarianceInput, site: SiteRecords, faults: Sequence[Fault], at: datetime, time_zone: str
) -> str:
    """Why a variance for a check does not excuse all of its faults.

    Parameters
    ----------
    variance : VarianceInput
    site : SiteRecords
    faults : sequence of Fault
        All for which the check holds now.
    at : datetime
    time_zone : str
        IANA name.

    Returns
    -------
    str
        Without a stop at its end; empty where it excuses them.
    """
    if variance.check_code in site.never_waived:
        return "the rule of the place lets nobody excuse this check"
    if out_of_time := _out_of_time(variance, at, time_zone):
        return out_of_time
    if variance.faults is None:
        return NOT_KEPT
    if not variance.faults:
        return "nothing of this check held when it was signed"
    if variance.check_code == DAY and any(not is_day_unwalked(one.key) for one in faults):
        return "only a walk that nobody made is excused, never one that answers no"
    return _unsigned(faults, variance.faults)


def _unsigned(faults: Sequence[Fault], signed: Sequence[str]) -> str:
    """What stands now and was not signed for; empty where all was."""
    new = [one.words for one in faults if one.key not in signed]
    if not new:
        return ""
    more = len(new) - MOST_FAULTS_TOLD
    told = " ".join(new[:MOST_FAULTS_TOLD]).rstrip(". ")
    return f"it was not signed for this: {told}" + (f", and {more} more" if more > 0 else "")


def why_not_of_clearance(
    variance: VarianceInput,
    now: CrossingNow,
    at: datetime,
    units: str,
    time_zone: str,
    excusable: Collection[str] = EXCUSABLE,
) -> str:
    """Why a variance for the clearance of a crossing, or for a drilled hole, does not excuse it as it is now.

    Parameters
    ----------
    variance : VarianceInput
    now : CrossingNow
        Of the variance's line and kind.
    at : datetime
    units : {"feet", "metric"}
    time_zone : str
        IANA name.
    excusable : collection of str
        The verdicts that may be excused.

    Returns
    -------
    str
        Without a stop at its end; empty where it excuses it.
    """
    if out_of_time := _out_of_time(variance, at, time_zone):
        return out_of_time
    if not lies_within(variance, now):
        return _elsewhere(variance, units)
    if not variance.verdict or variance.required_m is None or variance.faults is None:
        return NOT_KEPT
    if variance.verdict not in excusable:
        return f"the crossing was {variance.verdict} when it was signed"
    if variance.verdict != now.verdict:
        return f"the verdict was {variance.verdict} when it was signed, now it is {now.verdict}"
    if is_no_worse(now, variance):
        return _unsigned(now.rests_on, variance.faults)
    return _lesser_margin(variance, now, variance.required_m, units)


def why_not_of_watch(
    variance: VarianceInput,
    now: CrossingNow,
    faults: Sequence[Fault],
    at: datetime,
    units: str,
    time_zone: str,
) -> str:
    """Why a variance for the watch of one pass does not excuse it as its crossing stands now.

    Parameters
    ----------
    variance : VarianceInput
    now : CrossingNow
        Of the variance's line and kind.
    faults : sequence of Fault
        The records behind it, and what stands in the way of the pass but that it was not seen.
    at, units, time_zone
        As for `why_not_of_clearance`.

    Returns
    -------
    str
        Without a stop at its end; empty where it excuses it.
    """
    if out_of_time := _out_of_time(variance, at, time_zone):
        return out_of_time
    if not lies_within(variance, now):
        return _elsewhere(variance, units)
    if not variance.pass_made:
        return "it names no pass"
    if not variance.verdict or variance.required_m is None or variance.faults is None:
        return NOT_KEPT
    if is_seen_as_then(now, variance):
        return _unsigned(faults, variance.faults)
    if not is_no_worse(now, variance):
        return _lesser_margin(variance, now, variance.required_m, units)
    return f"the verdict was {variance.verdict} when it was signed, now it is {now.verdict}"


def why_not_of_gone(
    variance: VarianceInput,
    gone: CrossingExtent,
    faults: Sequence[Fault],
    at: datetime,
    units: str,
    time_zone: str,
) -> str:
    """Why a variance for a crossing that is not there any more does not excuse it as a whole.

    Parameters as for `why_not_of_watch`.
    """
    if out_of_time := _out_of_time(variance, at, time_zone):
        return out_of_time
    if not lies_within(variance, gone):
        return _elsewhere(variance, units)
    return NOT_KEPT if variance.faults is None else _unsigned(faults, variance.faults)


def _lesser_margin(variance: VarianceInput, now: CrossingNow, required_m: float, units: str) -> str:
    then_worst, now_worst = (_gap(one, units) for one in (variance.worst_case_m, now.worst_case_m))
    then_required, now_required = (format_length(one, units, "up") for one in (required_m, now.required_m))
    changed = []
    if then_worst != now_worst:
        changed.append(
            f"the gap in the worst case was {then_worst} when it was signed, now it is {now_worst}"
        )
    if then_required != now_required:
        was = "" if changed else " when it was signed"
        changed.append(f"{then_required} was required{was}, now it is {now_required}")
    return "; ".join(changed) or "the gap is less than when it was signed, by less than is shown"


def _gap(worst_case_m: float | None, units: str) -> str:
    known = worst_case_m is not None and isfinite(worst_case_m)
    return format_length(worst_case_m, units, "down") if known else "unknown"


def not_excused_check(
    site: SiteRecords, code: str, faults: Sequence[Fault], at: datetime, time_zone: str
) -> str:
    """A sentence on why the last variance signed for a check does not excuse it; empty without one.

    Parameters as for `why_not_of_check`.
    """
    signed = [one for one in site.variances if one.subject == "check" and one.check_code == code]
    last = _last(signed, at)
    why = why_not_of_check(last, site, faults, at, time_zone) if last else ""
    return _sentence("The", last, why) if last and why else ""


def not_excused_crossing(
    site: SiteRecords,
    now: CrossingNow,
    present: Sequence[CrossingExtent],
    at: datetime,
    units: str,
    time_zone: str,
) -> str:
    """A sentence on why the last variance signed for a crossing does not excuse it; empty without one.

    Parameters
    ----------
    site : SiteRecords
    now : CrossingNow
    present : sequence of CrossingExtent
        All crossings of the bore: a variance that lies within none of them is told of those of its line.
    at, units, time_zone
        As for `why_not_of_clearance`.
    """
    signed = [
        one
        for one in site.variances
        if one.subject == "crossing"
        and (one.mark_id, one.kind) == (now.mark_id, now.kind)
        and (lies_within(one, now) or not any(lies_within(one, other) for other in present))
    ]
    here = _last((one for one in signed if lies_within(one, now)), at)
    last = here or _last((one for one in signed if one.is_in_force(at)), at)
    why = why_not_of_clearance(last, now, at, units, time_zone) if last else ""
    return _sentence("the", last, why) if last and why else ""


def not_excused_drilled(site: SiteRecords, now: CrossingNow, at: datetime, units: str, time_zone: str) -> str:
    """Why the last variance signed for a drilled hole past a line does not excuse it; empty without one.

    Parameters as for `why_not_of_clearance`.
    """
    last = _last((one for one in site.variances if one.subject == "drilled" and lies_within(one, now)), at)
    why = why_not_of_clearance(last, now, at, units, time_zone, DRILLED_EXCUSABLE) if last else ""
    return _sentence("the", last, why) if last and why else ""


def not_excused_watch(
    site: SiteRecords,
    now: CrossingNow,
    pass_made: str,
    faults: Sequence[Fault],
    at: datetime,
    units: str,
    time_zone: str,
) -> str:
    """A sentence on why the last variance signed for the watch of a pass does not excuse it; else empty.

    Parameters as for `why_not_of_watch`.
    """
    signed = [
        one
        for one in site.variances
        if one.subject == "watch" and one.pass_made == pass_made and lies_within(one, now)
    ]
    last = _last(signed, at)
    why = why_not_of_watch(last, now, faults, at, units, time_zone) if last else ""
    return _sentence("the", last, why) if last and why else ""


def lies_within(variance: VarianceInput, lies: CrossingExtent) -> bool:
    """Whether a variance was signed for a place of a line within the extent of a crossing of it."""
    return (
        (variance.mark_id, variance.kind) == (lies.mark_id, lies.kind)
        and variance.station_m is not None
        and lies.from_m <= variance.station_m <= lies.to_m
    )


def _elsewhere(variance: VarianceInput, units: str) -> str:
    if variance.station_m is None:
        return "it names no place along the bore"
    where = format_station(variance.station_m, units)
    return f"it was signed for a crossing at {where}, and this one does not reach there"


def _out_of_time(variance: VarianceInput, at: datetime, time_zone: str) -> str:
    if variance.until <= at or variance.until <= variance.valid_from:
        return f"it ended {format_moment(variance.until, time_zone)}"
    if at < variance.valid_from:
        return f"it begins {format_moment(variance.valid_from, time_zone)}"
    return ""


def _last(variances: Iterable[VarianceInput], at: datetime) -> VarianceInput | None:
    """Of those in force the one signed last; where none is, the one signed last of all."""
    return max(variances, key=lambda one: (one.is_in_force(at), one.signed_at), default=None)


def _sentence(article: str, variance: VarianceInput, why: str) -> str:
    return f"{article} variance signed by {variance.signed_by} does not excuse it: {why}."
