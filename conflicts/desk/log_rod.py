"""Log a rod, take rods out of the path, and note what the locating device read at a test hole."""

from collections.abc import Callable, Collection
from dataclasses import asdict, replace
from typing import Any, TypeVar
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from conflicts.assess import Computed
from conflicts.clocks import dated_after, moments_now
from conflicts.desk.signed_before import after_what_was_signed
from conflicts.drilled import drilled_path
from conflicts.errors import RodAskedError, RodPlaceError
from conflicts.gather import inputs_by_log, inputs_of
from conflicts.gather_rods import gather_rods, rod_input
from conflicts.inputs import BoreInputs
from conflicts.met_lines import lines_met
from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal
from conflicts.models.signed import SignedRecord, name_of
from conflicts.recently_computed import computed
from conflicts.rod_log import RodLog
from conflicts.rod_oddities import oddities
from conflicts.scene import Scene, lay_out
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError

Kept = TypeVar("Kept", DrilledRod, RodWithdrawal, LocatorCheck)


def log_rod(rod: DrilledRod, *, by: AbstractBaseUser, confirmed: Collection[str] = ()) -> DrilledRod:
    """Store a rod at the head; one sent twice is stored once.

    No release is asked for: what was drilled is to be on record whatever was allowed. ``confirmed`` are the
    tokens of the questions that were answered with "it reads so".

    Raises `RodAskedError` where its readings do not fit the rod before and that was not confirmed,
    `RodPlaceError` where the rod that it follows is not at the head, `EngineError` where no path can be
    built, `RetiredMeanwhileError` where the bore is retired; nothing is stored then.
    """

    def fill() -> None:
        computed = scene_of(rod.bore)
        log = log_of(rod.bore, computed)
        head = log.last
        if (None if head is None else UUID(head.rod_id)) != rod.after_id:
            raise RodPlaceError(_gone_on(log))
        rod.number = 1 if head is None else head.number + 1
        before = DrilledRod.objects.filter(bore=rod.bore_id).aggregate(at=Max("logged_at"))
        rod.logged_by, rod.logged_by_name = by, name_of(by)
        rod.logged_at = after_what_was_signed(rod.bore, before["at"])
        asked = _asked(rod, log, computed.scene)
        if not {one.token for one in asked} <= set(confirmed):
            raise RodAskedError(asked)
        rod.confirmed = [one.kept for one in asked]
        rod.met = _met(rod, log, computed.scene.inputs)

    return _stored(rod, rod.bore, by, fill)


def _asked(rod: DrilledRod, log: RodLog, scene: Scene) -> tuple:
    chain = (*log.rods, rod_input(rod))
    after = drilled_path(scene, log, chain)
    return oddities(scene, log, drilled_path(scene, log), after)


def _met(rod: DrilledRod, log: RodLog, inputs: BoreInputs) -> list[dict[str, Any]]:
    """The lines that the rod came to, looked for about the path that it makes."""
    after = replace(log, rods=(*log.rods, rod_input(rod)))
    scene = lay_out(inputs_by_log(rod.bore, inputs, after))
    return [asdict(one) for one in lines_met(scene, after)]


def scene_of(bore: Bore) -> Computed:
    """The plan of a bore as the records are, computed now or of late."""
    return computed(inputs_of([bore])[bore.pk])


def log_of(bore: Bore, computed: Computed) -> RodLog:
    """The log that was read with the records of a bore; where no rod is in it, the checks of its device."""
    return computed.scene.inputs.site.log or gather_rods([bore])[bore.pk]


def _gone_on(log: RodLog) -> str:
    head = log.last
    if head is None:
        return "The rods were withdrawn since this page was shown: rod 1 comes next. Log it again."
    return (
        f"Rod {head.number} is at the head now, logged by {head.logged_by}: the log has gone on since this "
        "page was shown. Look at it, and log your rod again."
    )


def withdraw_rods(withdrawal: RodWithdrawal, *, by: AbstractBaseUser) -> RodWithdrawal:
    """Take a rod and all after it out of the path; the records stay.

    Raises `RodPlaceError` where that rod is no longer in the ground, or where an entry is to be undone
    that is not the last; `RetiredMeanwhileError` where the bore is retired.
    """
    bore = withdrawal.rod.bore

    def fill() -> None:
        log = gather_rods([bore])[bore.pk]
        in_ground = {one.rod_id for one in log.rods}
        if str(withdrawal.rod_id) not in in_ground:
            raise RodPlaceError(f"Rod {withdrawal.rod.number} of that entry is withdrawn already.")
        if withdrawal.kind == "undo" and (log.last is None or log.last.rod_id != str(withdrawal.rod_id)):
            raise RodPlaceError(_gone_on(log))
        before = RodWithdrawal.objects.filter(rod__bore=bore).aggregate(at=Max("withdrawn_at"))
        withdrawal.withdrawn_by, withdrawal.withdrawn_by_name = by, name_of(by)
        withdrawal.withdrawn_at = after_what_was_signed(bore, before["at"])

    return _stored(withdrawal, bore, by, fill)


def check_locator(check: LocatorCheck, *, by: AbstractBaseUser) -> LocatorCheck:
    """Note what the device read at a test hole, of this moment.

    Raises `RetiredMeanwhileError` where the bore is retired.
    """

    def fill() -> None:
        before = LocatorCheck.objects.filter(bore=check.bore_id).aggregate(at=Max("checked_at"))
        check.checked_by, check.checked_by_name = by, name_of(by)
        check.checked_at = dated_after(moments_now(), before["at"])

    return _stored(check, check.bore, by, fill)


def _stored(record: Kept, bore: Bore, by: AbstractBaseUser, fill: Callable[[], None]) -> Kept:
    with transaction.atomic():
        hold_job(bore.job_id)
        there = _of_bore(type(record), bore).filter(pk=record.pk).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=bore.pk).exists():
            raise RetiredMeanwhileError(named(bore))
        fill()
        record.save(force_insert=True)
        job_changed(bore.job_id)
        enter(record, by=by)
    return record


def _of_bore(kind: type[SignedRecord], bore: Bore):
    if kind is RodWithdrawal:
        return RodWithdrawal.objects.filter(rod__bore=bore)
    return kind.objects.filter(bore=bore)
