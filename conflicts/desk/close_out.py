"""Close a bore out once every watch, gap and camera inspection is there."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.assess import compute
from conflicts.clocks import dated_after, moments_now
from conflicts.closing_faults import close_out_faults
from conflicts.closing_grounds import closing_grounds
from conflicts.errors import ReleaseHeldError
from conflicts.gather import gather
from conflicts.models import Bore, CloseOut
from conflicts.models.signed import name_of
from conflicts.site_records import SiteRecords
from conflicts.watch_table import watch_table
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError


def close_out(closing: CloseOut, *, by: AbstractBaseUser, at: datetime | None = None) -> CloseOut:
    """Sign that a bore is drilled and all of it was watched; one that is closed out already stays so.

    Nothing may be missing by the database's clock nor by this machine's.

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
        computed = compute(gather([bore.pk])[bore.pk])
        moments = [at] if at is not None else _after_the_watches(computed.scene.inputs.site)
        for moment in moments:
            assessed = computed.at(moment)
            table = watch_table(assessed, bore.pilot_diameter_m)
            faults = close_out_faults(table, assessed)
            if faults:
                raise ReleaseHeldError(faults)
        closing.closed_at = moments[0]
        closing.grounds = closing_grounds(table, assessed)
        closing.closed_by, closing.closed_by_name = by, name_of(by)
        closing.save(force_insert=True)
        job_changed(bore.job_id)
        enter(closing, by=by)
    return closing


def _after_the_watches(site: SiteRecords) -> list[datetime]:
    """Tell this moment by both clocks, the earlier first, each after the watches that are signed."""
    moments = moments_now()
    watched = [one.watched_at for one in site.watches]
    return [dated_after((one, moments[-1]), *watched) for one in moments]
