"""What was drilled, reamed or pulled in while no release stood, and why none did, in words.

Told beside a close-out and in the log of passes; it holds nothing. A release counts as standing until its
shift, its day, a withdrawal or a change of its grounds ended it. What the grounds themselves said at a moment
that is gone, as of a ticket that ran out, is not asked.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import datetime

from conflicts.ground_changes import GroundChange, changes_since
from conflicts.hole_passes import PassLog
from conflicts.models import Bore, Release
from conflicts.release import standing_by_time
from conflicts.rod_log import RodInput
from conflicts.site_records import SiteRecords
from locates.local_time import format_moment
from locates.units import format_length

NONE_SIGNED = "None was signed before."


def unreleased_passes(bore: Bore, log: PassLog) -> dict[str, str]:
    """Why no release stood when a pass began, by the ids of those that count and of which that is so.

    Parameters
    ----------
    bore : Bore
        With its job.
    log : PassLog
    """
    why = _why_unreleased(bore, {one.made_at for one in log.passes})
    return {one.pass_id: why[one.made_at] for one in log.passes if one.made_at in why}


def unreleased_words(bore: Bore, site: SiteRecords) -> list[str]:
    """A sentence or more for each reason for which no release stood, with the rods and passes of then.

    Parameters
    ----------
    bore : Bore
        With its job.
    site : SiteRecords
        Its own.

    Returns
    -------
    list of str
        Rods by when they were logged, also those that were pulled back; passes by when they began. None where
        no release ever stood, for that holds the close-out itself.
    """
    if site.released_from is None:
        return []
    job, log = bore.job, site.log
    rods = [] if log is None else [*log.rods, *(rod for leg in log.legs for rod in leg.rods)]
    passes = site.passes.passes
    why = _why_unreleased(bore, {*(one.logged_at for one in rods), *(one.made_at for one in passes)})
    told: dict[str, list[str]] = defaultdict(list)
    by_reason: dict[str, list[RodInput]] = defaultdict(list)
    for one in sorted(rods, key=lambda rod: rod.logged_at):
        if one.logged_at in why:
            by_reason[why[one.logged_at]].append(one)
    for because, logged in by_reason.items():
        told[because] += _runs_words(logged, job.time_zone)
    for made in passes:
        if made.made_at in why:
            size = format_length(made.diameter_m, job.show_units)
            when = format_moment(made.made_at, job.time_zone)
            told[why[made.made_at]].append(f"the {made.kind} of {size}, begun {when}")
    return [f"No release stood for {'; '.join(what)}. {because}" for because, what in told.items()]


def _runs_words(rods: Sequence[RodInput], time_zone: str) -> list[str]:
    """Rods by when they were logged, those whose numbers follow each other as one run."""
    runs: list[list[RodInput]] = []
    for one in rods:
        if runs and one.number == runs[-1][-1].number + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    return [_run_words(run[0], run[-1], time_zone) for run in runs]


def _run_words(first: RodInput, last: RodInput, time_zone: str) -> str:
    since = format_moment(first.logged_at, time_zone)
    if first is last:
        return f"rod {first.number}, logged {since}"
    until = format_moment(last.logged_at, time_zone)
    return f"rods {first.number} to {last.number}, logged {since} to {until}"


def _why_unreleased(bore: Bore, moments: Collection[datetime]) -> dict[datetime, str]:
    """Those moments at which no release of a bore stood, each with why the last one signed before did not."""
    if not moments:
        return {}
    # The documents are large, and nothing of them is asked.
    signed = Release.objects.filter(bore=bore, signed_at__lte=max(moments)).with_course().defer("document")
    releases = list(signed.newest_first())
    changes = changes_since(bore, min(one.last_event_id for one in releases)) if releases else []
    found = {}
    for at in moments:
        before = [one for one in releases if one.signed_at <= at]
        reasons = [_why_not(one, at, changes) for one in before]
        if all(reasons):
            found[at] = _last_words(before[0], reasons[0]) if before else NONE_SIGNED
    return found


def _why_not(release: Release, at: datetime, changes: Sequence[GroundChange]) -> str:
    """Why a release did not stand at a moment; empty where it did."""
    zone = release.bore.job.time_zone
    until_then = [one for one in changes if one.event_id > release.last_event_id and one.happened_at <= at]
    ended = standing_by_time(release, at, until_then)
    if ended is not None:
        return " ".join(ended.reasons)
    if at < release.shift_from:
        return f"Its shift began {format_moment(release.shift_from, zone)}."
    return ""


def _last_words(release: Release, why: str) -> str:
    signed = format_moment(release.signed_at, release.bore.job.time_zone)
    return f"The last release before was signed {signed}. {why}"
