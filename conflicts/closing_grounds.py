"""What a close-out rests on, as JSON: every crossing with all of its watches, and what proves nothing."""

from typing import Any

from conflicts.checks import Assessed
from conflicts.hole_passes import PassLog
from conflicts.pass_watched import PassWatched
from conflicts.site_records import WatchInput
from conflicts.watch_table import CrossingWatched, WatchTable
from locates.canonical import utc_text

REPLACED = "A later watch of the same pass stands in its place."
LOST = "It belongs to none of the crossings as they lie now, or as a release named them."
NOT_ASKED = "The pass is not asked for as the bore is recorded now."
NOT_COME = "It is dated after the close-out."


def closing_grounds(table: WatchTable, assessed: Assessed) -> dict[str, Any]:
    """The grounds of a close-out.

    Parameters
    ----------
    table : WatchTable
        Of the same assessment.
    assessed : Assessed
        At the moment of closing.

    Returns
    -------
    dict
        JSON values: each crossing with its passes, those of the drilled hole alone marked so, and those that
        are gone, with the variance for them as a whole; each pass with every watch of it, ``is_outdated``
        where the pass was made or the hole drilled anew since the last. ``why_not`` says why one does not
        count, and is empty where it does; ``other_watches`` has the rest of the bore's watches, and
        ``excused_stops`` those of them that set off a stop rule, each with the variance signed for it.
        ``drilled`` are the places at which the hole is not clear of a line, with who answers for it.
        ``passes`` are those that were logged, with when each was made and its diameter, and whether it was
        withdrawn as entered wrongly; ``pulled_back`` the first rod of each pull-back, from where, and when.
    """
    return {
        "inputs_digest": assessed.scene.inputs.digest(),
        "crossings": [_crossing(row) for row in table.rows],
        "other_watches": _others(table, assessed),
        "excused_stops": [
            [one.passed.stopping[-1].watch_id, one.passed.excuse.variance_id]
            for one in table.lost_stops
            if one.passed.excuse is not None
        ],
        "drilled": [
            [leg, one.lies.mark_id, one.lies.kind, one.station_m, one.lies.verdict, one.answered_by]
            for leg, one in assessed.drilled.not_clear
        ],
        "cameras": [
            [one.mark_id, one.stage, utc_text(one.inspected_at), one.result] for one in assessed.site.cameras
        ],
        "passes": _logged(assessed.site.passes),
        "pulled_back": [
            [one.rod_id, one.from_m, utc_text(one.withdrawn_at)] for one in assessed.site.pulled_back
        ],
    }


def _logged(log: PassLog) -> list[list[Any]]:
    """Each pass that was logged, those that count first, then those that were withdrawn."""
    every = [(one, False) for one in log.passes] + [(one.entry, True) for one in log.withdrawn]
    return [
        [one.pass_id, one.kind, utc_text(one.made_at), one.diameter_m, is_withdrawn]
        for one, is_withdrawn in every
    ]


def _crossing(row: CrossingWatched) -> dict[str, Any]:
    return {
        "mark_id": row.lies.mark_id,
        "mark_ref": row.lies.mark_ref,
        "kind": row.lies.kind,
        "station_m": row.lies.station_m,
        "required_m": row.lies.required_m,
        "is_gone": row.lies.is_gone,
        "is_drilled_alone": row.lies.is_drilled,
        "variance": None if row.excuse is None else row.excuse.variance_id,
        "passes": [_pass(one) for one in row.passes],
    }


def _pass(one: PassWatched) -> dict[str, Any]:
    last = one.watch
    return {
        "pass": one.pass_made,
        "seen": last is not None and last.seen,
        "is_outdated": one.made_anew is not None or one.pulled_back is not None,
        "gap_m": None if last is None else last.gap_m,
        "watched_at": None if last is None else utc_text(last.watched_at),
        "variance": None if one.excuse is None else one.excuse.variance_id,
        "watches": [
            _watch(watch, "" if watch is last or watch in one.stopping else REPLACED) for watch in one.watches
        ],
    }


def _others(table: WatchTable, assessed: Assessed) -> list[dict[str, Any]]:
    """The watches that no pass of the table has."""
    told = {watch.watch_id for row in table.rows for one in row.passes for watch in one.watches}
    lost = {watch.watch_id for watch in table.lost}
    return [
        _watch(watch, _why_left_out(watch, lost, assessed))
        for watch in assessed.site.watches
        if watch.watch_id not in told
    ]


def _why_left_out(watch: WatchInput, lost: set[str], assessed: Assessed) -> str:
    if watch.watched_at > assessed.at:
        return NOT_COME
    return LOST if watch.watch_id in lost else NOT_ASKED


def _watch(watch: WatchInput, why_not: str) -> dict[str, Any]:
    return {
        "watch": watch.watch_id,
        "pass": watch.pass_made,
        "seen": watch.seen,
        "gap_m": watch.gap_m,
        "required_m": watch.required_m,
        "held_to_m": watch.held_to_m,
        "head_depth_m": watch.head_depth_m,
        "hole_bottom_m": watch.hole_bottom_m,
        "held_bottom_m": watch.held_bottom_m,
        "watched_at": utc_text(watch.watched_at),
        "watched_by": watch.watched_by,
        "why_not": why_not,
    }
