"""Close a bore out once every watch, gap and camera inspection is there."""

from datetime import datetime
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from conflicts.assess import compute
from conflicts.checks import Assessed
from conflicts.errors import ReleaseHeldError
from conflicts.gather import gather
from conflicts.models import Bore, CloseOut
from conflicts.models.signed import name_of
from conflicts.watch_table import WatchTable, close_out_faults, watch_table
from locates.canonical import utc_text
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError

NOTHING_WATCHED = "Nothing was watched on this bore: it was not drilled, or nobody recorded it."


def close_out(closing: CloseOut, *, by: AbstractBaseUser, at: datetime | None = None) -> CloseOut:
    """Sign that a bore is drilled and all of it was watched; one that is closed out already stays so.

    Raises `ReleaseHeldError` with everything that is missing, `EngineError` where the bore cannot be computed
    and `RetiredMeanwhileError` where the job or the bore is retired.
    """
    bore = closing.bore
    with transaction.atomic():
        hold_job(bore.job_id)
        there = CloseOut.objects.filter(bore=bore).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=bore.pk).exists():
            raise RetiredMeanwhileError(named(bore))
        closing.closed_at = at or timezone.now()
        assessed = compute(gather([bore.pk])[bore.pk]).at(closing.closed_at)
        table = watch_table(assessed, bore.pilot_diameter_m)
        faults = what_is_missing(table, assessed)
        if faults:
            raise ReleaseHeldError(faults)
        closing.grounds = _grounds(table, assessed)
        closing.closed_by, closing.closed_by_name = by, name_of(by)
        closing.save(force_insert=True)
        job_changed(bore.job_id)
        enter(closing, by=by)
    return closing


def what_is_missing(table: WatchTable, assessed: Assessed) -> list[str]:
    """Sentences on all without which the bore is not closed out."""
    if not table.crossings and not assessed.site.walks:
        return [NOTHING_WATCHED]
    return close_out_faults(table, assessed)


def _grounds(table: WatchTable, assessed: Assessed) -> dict[str, Any]:
    """What the signature rests on, as JSON."""
    return {
        "inputs_digest": assessed.scene.inputs.digest(),
        "crossings": [
            {
                "mark_ref": row.crossing.mark.ref,
                "kind": row.crossing.clearance.kind,
                "station_m": row.crossing.clearance.station_m,
                "passes": [
                    {
                        "pass": one.pass_made,
                        "seen": one.watch is not None and one.watch.seen,
                        "gap_m": None if one.watch is None else one.watch.gap_m,
                        "watched_at": None if one.watch is None else utc_text(one.watch.watched_at),
                        "variance": None if one.excuse is None else one.excuse.variance_id,
                    }
                    for one in row.passes
                ],
            }
            for row in table.crossings
        ],
        "cameras": [
            [one.mark_id, one.stage, utc_text(one.inspected_at), one.result] for one in assessed.site.cameras
        ],
    }
