"""What stands in the way of a bore's close-out, in sentences: one for each reason, with its crossings."""

from collections.abc import Iterable, Sequence

from conflicts.camera_faults import camera_faults
from conflicts.checks import Assessed, Check
from conflicts.drilled_faults import drilled_faults
from conflicts.faults import Fault
from conflicts.pass_watched import PassWatched
from conflicts.sentences import station_words
from conflicts.short_of_exit import exit_faults
from conflicts.site_records import variance_for_check
from conflicts.stop_rules import StopRule, since_words
from conflicts.variance_reasons import not_excused_check, not_excused_watch
from conflicts.watch_table import GONE, GONE_MET, LOST_STOP, CrossingWatched, WatchTable, gone_words
from locates.local_time import format_moment
from locates.units import format_length

# A ground of the close-out alone, not one of the checks behind a release.
RELEASED = "release"
NO_RELEASE = (
    "No release ever stood for this bore: nobody signed that it might be drilled. If it was drilled all the "
    "same, a safety manager says so in a signed variance."
)

NO_PULLBACK = "A reaming pass is logged, and no pullback since: log the pullback, for it ends the hole."


def close_out_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sentences on everything without which a bore is not closed out.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    return [
        *_release_faults(assessed),
        *_pass_faults(table.rows, assessed),
        *([NO_PULLBACK] if assessed.site.passes.lacks_pullback else []),
        *exit_faults(assessed),
        *_stop_faults(table, assessed),
        *_not_excused(table.rows, assessed),
        *camera_faults(table, assessed),
        *drilled_faults(assessed),
    ]


def bore_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Those of `close_out_faults` that are not of one pass of one crossing: of the bore, stops and lines.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
    """
    return [
        *_release_faults(assessed),
        *([NO_PULLBACK] if assessed.site.passes.lacks_pullback else []),
        *exit_faults(assessed),
        *_stop_faults(table, assessed),
        *camera_faults(table, assessed),
        *drilled_faults(assessed),
    ]


def stood_check(assessed: Assessed) -> Check:
    """Whether a release ever stood for the bore, as a variance for that is held against it.

    Parameters
    ----------
    assessed : Assessed
    """
    stood_from = assessed.site.released_from
    if stood_from is not None and stood_from <= assessed.at:
        return Check(RELEASED, holds=False, sentence="A release stood for this bore.")
    return Check(RELEASED, holds=True, sentence=NO_RELEASE, faults=(Fault("no_release", NO_RELEASE),))


def _release_faults(assessed: Assessed) -> list[str]:
    check = stood_check(assessed)
    keys = [fault.key for fault in check.faults]
    if not check.holds or variance_for_check(assessed.site, RELEASED, keys, assessed.at) is not None:
        return []
    zone = assessed.scene.inputs.job.time_zone
    why = not_excused_check(assessed.site, RELEASED, check.faults, assessed.at, zone)
    return [" ".join(one for one in (check.sentence, why) if one)]


def _pass_faults(rows: Sequence[CrossingWatched], assessed: Assessed) -> list[str]:
    """For each pass the crossings at which nobody watched it, it was not seen, or not in its order."""
    job = assessed.scene.inputs.job
    faults = []
    for name in dict.fromkeys(one.pass_made for row in rows for one in row.passes):
        left = [(row, one) for row in rows for one in row.passes if one.pass_made == name]
        left = [(row, one) for row, one in left if not one.is_settled]
        unwatched = [row for row, one in left if one.watch is None]
        left = [(row, one) for row, one in left if one.watch is not None]
        unseen = [row for row, one in left if one.watch is not None and not one.watch.seen]
        if unwatched:
            faults.append(f"No watch of the {name} at: {_places(unwatched, job.show_units)}.")
        if unseen:
            faults.append(f"The {name} was not seen to pass: {_places(unseen, job.show_units)}.")
        overtaken = [_overtaken(row, one, assessed) for row, one in left if one.overtaken_by is not None]
        if overtaken:
            faults.append(
                f"The {name} was last seen before the pass that goes before it: {'; '.join(overtaken)}. The "
                "passes are watched in their order: see it pass again, or have it excused."
            )
        unreleased = [
            _unreleased(row, one, assessed) for row, one in left if one.unreleased_until is not None
        ]
        if unreleased:
            faults.append(
                f"The {name} was last seen before anybody might drill: {'; '.join(unreleased)}. See it pass "
                "under a release, or have it excused."
            )
        early = [_early(row, one, assessed) for row, one in left if one.is_before_exit]
        if early:
            faults.append(
                f"The {name} was last seen before the hole was through by the log of rods: "
                f"{'; '.join(early)}. See it pass again once they are logged to the exit, or have it excused."
            )
        anew = [_anew(row, one, assessed) for row, one in left if one.made_anew is not None]
        if anew:
            faults.append(
                f"A {name} is logged that was made after the last watch of one: {'; '.join(anew)}. See it "
                "pass there, or have it excused. If it is the one that was watched, withdraw it and log it "
                "with the moment at which it began."
            )
        faults += _pulled_faults(name, left, assessed)
        bottomless = [row for row, one in left if one.bottomless is not None]
        if bottomless:
            faults.append(
                f"A depth was read as the {name} passed, and nobody had recorded how deep the test hole is: "
                f"{_places(bottomless, job.show_units)}. So nothing says that it was not below the hole: "
                "record how deep the hole is and see it pass again, or have it excused."
            )
    return faults


def _overtaken(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> str:
    """A crossing with the moments of both passes."""
    job, seen = assessed.scene.inputs.job, passed.last_seen
    told = [
        f"the {one.pass_made} {format_moment(one.watched_at, job.time_zone)}"
        for one in (seen, passed.overtaken_by)
        if one is not None
    ]
    return f"{_place(row, job.show_units)} ({', '.join(told)})"


def _unreleased(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> str:
    """A crossing with when it was watched, and when a release first stood."""
    job = assessed.scene.inputs.job
    told = [
        f"{what} {format_moment(at, job.time_zone)}"
        for what, at in (
            ("watched", None if passed.last_seen is None else passed.last_seen.watched_at),
            ("first released from", passed.unreleased_until),
        )
        if at is not None
    ]
    return f"{_place(row, job.show_units)} ({', '.join(told)})"


def _early(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> str:
    """A crossing with when the pass was last seen."""
    job, seen = assessed.scene.inputs.job, passed.last_seen
    place = _place(row, job.show_units)
    return place if seen is None else f"{place} (watched {format_moment(seen.watched_at, job.time_zone)})"


def _anew(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> str:
    """A crossing with the pass that was made, and when the last of its kind was watched."""
    job, made, watch = assessed.scene.inputs.job, passed.made_anew, passed.watch
    told = []
    if made is not None and watch is not None:
        told = [
            f"{format_length(made.diameter_m, job.show_units)} {format_moment(made.made_at, job.time_zone)}",
            f"watched {format_moment(watch.watched_at, job.time_zone)}",
        ]
    return f"{_place(row, job.show_units)} ({', '.join(told)})"


def _pulled_faults(
    name: str, left: Sequence[tuple[CrossingWatched, PassWatched]], assessed: Assessed
) -> list[str]:
    """Where rods were pulled back and a pass was not watched since one was logged in place of those."""
    pulled = [(row, one) for row, one in left if one.pulled_back is not None]
    why = {
        False: f"Rods were pulled back after the last watch of the {name}, so the hole was drilled anew",
        True: f"The {name} was last watched after rods were pulled back and before one was logged in their "
        "place, so nothing says that it went by",
    }
    faults = []
    for is_before_anew, words in why.items():
        places = [_pulled(row, one, assessed) for row, one in pulled if one.is_before_anew is is_before_anew]
        if places:
            faults.append(
                f"{words}: {'; '.join(places)}. Log the rods that were drilled in their place, then see it "
                "pass there again, or have it excused."
            )
    return faults


def _pulled(row: CrossingWatched, passed: PassWatched, assessed: Assessed) -> str:
    """A crossing with the rods that were pulled back, and when the pass was last watched."""
    job, pulled, watch = assessed.scene.inputs.job, passed.pulled_back, passed.watch
    told = []
    if pulled is not None and watch is not None:
        told = [
            f"from rod {pulled.number} on {format_moment(pulled.withdrawn_at, job.time_zone)}",
            f"watched {format_moment(watch.watched_at, job.time_zone)}",
        ]
    return f"{_place(row, job.show_units)} ({', '.join(told)})"


def _stop_faults(table: WatchTable, assessed: Assessed) -> list[str]:
    """Each stop rule that stands, with the passes of the crossings at which it does."""
    units = assessed.scene.inputs.job.show_units
    found: dict[tuple[StopRule, bool], list[str]] = {}
    for stop in table.stopped:
        where = f"{stop.mark_ref} at {station_words(stop.station_m, units)}, {stop.passed.pass_made}"
        for rule, watch in stop.passed.stops:
            since = since_words(watch, units)
            told = f"{where} ({since[0].lower()}{since[1:].rstrip('.')})" if since else where
            found.setdefault((rule, stop.is_lost), []).append(told)
    return [
        f"{rule.when} {rule.then} It stands at: {'; '.join(told)}.{f' {LOST_STOP}' if is_lost else ''}"
        for (rule, is_lost), told in found.items()
    ]


def _not_excused(rows: Sequence[CrossingWatched], assessed: Assessed) -> list[str]:
    """Why the last variance that was signed for a pass that is not settled does not excuse it."""
    job = assessed.scene.inputs.job
    found: dict[str, list[str]] = {}
    for row in rows:
        for one in row.passes:
            if one.is_settled:
                continue
            faults = (*row.lies.rests_on, *one.faults(job.show_units, job.time_zone))
            why = not_excused_watch(
                assessed.site, row.lies, one.pass_made, faults, assessed.at, job.show_units, job.time_zone
            )
            if why:
                found.setdefault(why, []).append(f"{_place(row, job.show_units)}, {one.pass_made}")
    return [f"{'; '.join(told)}: {why}" for why, told in found.items()]


def _places(rows: Iterable[CrossingWatched], units: str) -> str:
    """The crossings after each other, those that are gone marked so at the end."""
    told: dict[str, list[str]] = {"": [], GONE: [], GONE_MET: []}
    for row in rows:
        told[gone_words(row)].append(_place(row, units))
    return "; ".join(", ".join([*refs, why] if why else refs) for why, refs in told.items() if refs)


def _place(row: CrossingWatched, units: str) -> str:
    return f"{row.lies.mark_ref} at {station_words(row.lies.station_m, units)}"
