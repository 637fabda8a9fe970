"""Ask for a variance, sign it, end it."""

from collections.abc import Callable
from datetime import datetime, timedelta

from django.contrib.auth.models import AbstractBaseUser
from django.db import models, transaction
from django.db.models import Max

from conflicts.clocks import dated_after, moments_now
from conflicts.desk.variance_evidence import evidence_of
from conflicts.desk.variance_subject import subject_now
from conflicts.errors import VarianceError
from conflicts.evidence import evidence_digest
from conflicts.models import Bore, CrossingWatch, Variance, VarianceEnd, VarianceSignature, VarianceSubject
from conflicts.models.signed import name_of
from conflicts.site_records import CROSSINGS
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError

WHY_NONE = (
    "No evidence is attached. Add a photo or a paper that shows it, or write in the remarks why there is "
    "none and sign again: it is then signed on words alone, and says so wherever it counts."
)

LONGEST_VARIANCE = timedelta(days=90)
"""Common practice, no source: longer than a bore is planned ahead, shorter than what people forget."""


def request_variance(
    variance: Variance,
    *,
    by: AbstractBaseUser,
    at: datetime | None = None,
    keep_evidence: Callable[[Variance], object] | None = None,
) -> Variance:
    """Store what somebody asks to be excused, its evidence and entry; one sent twice is stored once.

    Raises `VarianceError` for a check that nobody may excuse in the jurisdiction, `RetiredMeanwhileError`
    where the job or the bore is retired, and what ``keep_evidence`` raises.
    """
    bore = variance.bore
    rule = bore.job.jurisdiction
    if variance.subject == VarianceSubject.CHECK and variance.check_code in rule.checks_never_waived:
        raise VarianceError(rule.never_waived_because or f"{rule.code} lets nobody waive this check.")
    if variance.subject == VarianceSubject.WATCH and not variance.pass_made:
        raise VarianceError("A watch is excused pass by pass: name the pilot, the reaming or the pullback.")
    if variance.check_code == CROSSINGS:
        raise VarianceError("Crossings are excused one by one: name the crossing.")
    with transaction.atomic():
        hold_job(bore.job_id)
        there = Variance.objects.filter(pk=variance.pk, bore=bore).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=bore.pk).exists():
            raise RetiredMeanwhileError(named(bore))
        variance.requested_by, variance.requested_by_name = by, name_of(by)
        variance.requested_at = at or moments_now()[0]
        variance.save(force_insert=True)
        if keep_evidence is not None:
            keep_evidence(variance)
        job_changed(bore.job_id)
        enter(variance, by=by)
    return variance


def sign_variance(
    signature: VarianceSignature,
    *,
    by: AbstractBaseUser,
    at: datetime | None = None,
    shown: str | None = None,
    shown_evidence: str | None = None,
) -> VarianceSignature:
    """Sign a variance that somebody else asked for; it excuses from ``valid_from`` to ``valid_until``.

    It is bound to what stands at its signing, and covers the photos and papers that stand then. ``shown`` and
    ``shown_evidence`` are the digests of what the signer was shown of both. Who was shown that there is no
    evidence writes in the remarks why.

    Raises `VarianceError` where the signer asked for it, where it is signed or ended, where its time is past
    or too long, where what was shown has changed, or where there is no evidence and nobody says why; and
    `RetiredMeanwhileError` where the job or the bore is retired.
    """
    variance = signature.variance
    with transaction.atomic():
        hold_job(variance.bore.job_id)
        there = VarianceSignature.objects.filter(variance=variance).first()
        if there is not None and there.pk == signature.pk:
            return there
        if there is not None:
            raise VarianceError(f"It is signed already, by {there.signed_by_name}.")
        if not Bore.objects.filter(pk=variance.bore_id).exists():
            raise RetiredMeanwhileError(named(variance.bore))
        if VarianceEnd.objects.filter(variance=variance).exists():
            raise VarianceError("It was refused or ended: who still needs it asks anew.")
        if _is_same_person(variance.requested_by, by):
            raise VarianceError("Who asks for a variance never signs it: another safety manager does.")
        signature.signed_by, signature.signed_by_name = by, name_of(by)
        watched = CrossingWatch.objects.filter(bore=variance.bore_id).aggregate(at=Max("watched_at"))
        signature.signed_at = at or dated_after(moments_now(), variance.requested_at, watched["at"])
        signature.valid_from = max(signature.valid_from or signature.signed_at, signature.signed_at)
        if signature.valid_until <= signature.valid_from:
            raise VarianceError("Its end is past: accepted is a moment to come.")
        if signature.valid_from - signature.signed_at > LONGEST_VARIANCE:
            raise VarianceError(
                f"It would begin too late: accepted are {LONGEST_VARIANCE.days} days ahead at most."
            )
        if signature.valid_until - signature.valid_from > LONGEST_VARIANCE:
            raise VarianceError(f"It would last too long: accepted are {LONGEST_VARIANCE.days} days at most.")
        now = subject_now(variance, signature.signed_at)
        if shown is not None and shown != now.facts.digest:
            raise VarianceError(
                "What it is for has changed since this page was shown: read how it is now, and sign again."
            )
        evidence = evidence_of(variance)
        if shown_evidence is not None and shown_evidence != evidence_digest(evidence):
            raise VarianceError(
                "Its evidence has changed since this page was shown: look at what stands below now, and sign "
                "again."
            )
        if shown_evidence is not None and not evidence and not signature.remarks.strip():
            raise VarianceError(WHY_NONE)
        signature.bind(now.facts)
        signature.covered = sorted(one.named for one in evidence)
        _store(signature, by)
    return signature


def end_variance(end: VarianceEnd, *, by: AbstractBaseUser, at: datetime | None = None) -> VarianceEnd:
    """End a variance before its day, or refuse a request; what is ended already stays as it is.

    Raises `VarianceError` where somebody else ended it.
    """
    with transaction.atomic():
        hold_job(end.variance.bore.job_id)
        there = VarianceEnd.objects.filter(variance=end.variance).first()
        if there is not None and there.pk == end.pk:
            return there
        if there is not None:
            raise VarianceError(f"It is ended already, by {there.ended_by_name}.")
        end.ended_by, end.ended_by_name = by, name_of(by)
        signature = VarianceSignature.objects.filter(variance=end.variance).first()
        signed_at = None if signature is None else signature.signed_at
        end.ended_at = at or dated_after(moments_now(), end.variance.requested_at, signed_at)
        _store(end, by)
    return end


def _is_same_person(asked: AbstractBaseUser, signs: AbstractBaseUser) -> bool:
    """Whether two accounts are one, or have the same e-mail address."""
    addresses = {one.email.strip().casefold() for one in (asked, signs)}
    return asked.pk == signs.pk or (len(addresses) == 1 and addresses != {""})


def _store(record: models.Model, by: AbstractBaseUser) -> None:
    record.save(force_insert=True)
    job_changed(record.home_job_id)
    enter(record, by=by)
