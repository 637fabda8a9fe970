"""Log a pass of a reamer or the pullback, and withdraw one that was entered wrongly."""

from collections.abc import Collection
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from conflicts.clocks import dated_after, moments_now
from conflicts.desk.log_rod import scene_of
from conflicts.desk.signed_before import after_what_was_signed
from conflicts.errors import PassAskedError, PassError
from conflicts.gather_passes import pass_input
from conflicts.hole_passes import PassInput
from conflicts.models import Bore, HolePass, HolePassWithdrawal
from conflicts.models.signed import name_of
from conflicts.oddity import Oddity
from conflicts.pass_questions import pass_questions
from conflicts.watched_before import watched_before
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError
from locates.local_time import format_moment


def log_pass(
    hole_pass: HolePass,
    *,
    by: AbstractBaseUser,
    made_at: datetime | None = None,
    ended_at: datetime | None = None,
    confirmed: Collection[str] = (),
) -> HolePass:
    """Store a pass; one sent twice is stored once.

    No release is asked for: what went through the hole is to be on record whatever was allowed. Without
    ``made_at`` it was made now, without ``ended_at`` it is through now. ``confirmed`` are the tokens of the
    questions that were answered with "it is so".

    Raises `PassAskedError` where it does not fit the plan or the passes before and that was not confirmed,
    `PassError` where it lies in the future or was through before it began, `EngineError` where the bore
    cannot be computed, `RetiredMeanwhileError` where the bore is retired; nothing is stored then.
    """
    bore = hole_pass.bore
    with transaction.atomic():
        hold_job(bore.job_id)
        there = HolePass.objects.filter(pk=hole_pass.pk, bore=bore).first()
        if there is not None:
            return there
        _ask_for_bore(bore)
        before = HolePass.objects.filter(bore=bore).aggregate(at=Max("logged_at"))
        hole_pass.logged_by, hole_pass.logged_by_name = by, name_of(by)
        hole_pass.logged_at = after_what_was_signed(bore, before["at"])
        hole_pass.made_at = hole_pass.logged_at if made_at is None else made_at
        hole_pass.ended_at = hole_pass.logged_at if ended_at is None else ended_at
        _ask_for_order(hole_pass, is_begun_told=made_at is not None)
        asked = _asked(bore, pass_input(hole_pass), hole_pass.logged_at)
        if not {one.token for one in asked} <= set(confirmed):
            raise PassAskedError(asked)
        hole_pass.confirmed = [{"code": str(one.code), "sentence": one.sentence} for one in asked]
        hole_pass.save(force_insert=True)
        job_changed(bore.job_id)
        enter(hole_pass, by=by)
    return hole_pass


def _ask_for_order(hole_pass: HolePass, *, is_begun_told: bool) -> None:
    if max(hole_pass.made_at, hole_pass.ended_at) > hole_pass.logged_at:
        now = format_moment(hole_pass.logged_at, hole_pass.bore.job.time_zone)
        raise PassError(f"It is {now} now: a pass that is still to come is not logged.")
    if hole_pass.ended_at < hole_pass.made_at:
        if not is_begun_told:
            raise PassError("It was through before it began. Say when it began too: left empty, that is now.")
        raise PassError("It was through before it began: correct one of the two moments.")


def _asked(bore: Bore, entry: PassInput, at: datetime) -> tuple[Oddity, ...]:
    """What is asked about a pass before it is kept."""
    assessed = scene_of(bore).at(at)
    made, pilot_m = assessed.drilled, bore.pilot_diameter_m
    asked = pass_questions(assessed.scene, assessed.crossings, pilot_m, entry, made.path, made.crossings)
    before = watched_before(assessed, entry)
    return asked if before is None else (*asked, before)


def withdraw_pass(withdrawal: HolePassWithdrawal, *, by: AbstractBaseUser) -> HolePassWithdrawal:
    """Take a pass out of the log that was entered wrongly; the record stays.

    Raises `PassError` where it is withdrawn already, `RetiredMeanwhileError` where the bore is retired.
    """
    hole_pass = withdrawal.hole_pass
    with transaction.atomic():
        hold_job(hole_pass.bore.job_id)
        there = HolePassWithdrawal.objects.filter(hole_pass=hole_pass).first()
        if there is not None and there.pk == withdrawal.pk:
            return there
        if there is not None:
            raise PassError(f"That pass is withdrawn already, by {there.withdrawn_by_name}.")
        _ask_for_bore(hole_pass.bore)
        before = HolePassWithdrawal.objects.filter(hole_pass__bore=hole_pass.bore).aggregate(
            at=Max("withdrawn_at")
        )
        withdrawal.withdrawn_by, withdrawal.withdrawn_by_name = by, name_of(by)
        withdrawal.withdrawn_at = dated_after(moments_now(), before["at"], hole_pass.logged_at)
        withdrawal.save(force_insert=True)
        job_changed(hole_pass.bore.job_id)
        enter(withdrawal, by=by)
    return withdrawal


def _ask_for_bore(bore: Bore) -> None:
    if not Bore.objects.filter(pk=bore.pk).exists():
        raise RetiredMeanwhileError(named(bore))
