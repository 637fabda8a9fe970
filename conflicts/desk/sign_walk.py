"""Sign a walk along a bore on the day of drilling."""

from datetime import datetime
from typing import Protocol

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.db.models import Max

from conflicts.clocks import dated_after, moments_now
from conflicts.models import Bore, DailyWalk
from conflicts.models.signed import name_of
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job, named
from locates.errors import RetiredMeanwhileError
from locates.models import Job


class KeepPhotos(Protocol):
    """What stores the photos whose digests a walk names."""

    def __call__(self, subject: DailyWalk, *, by: AbstractBaseUser) -> object:
        """Store them with the stored walk."""


def sign_walk(
    walk: DailyWalk,
    *,
    by: AbstractBaseUser,
    at: datetime | None = None,
    keep_photos: KeepPhotos | None = None,
) -> DailyWalk:
    """Store a walk with its photos and its entry in the ledger; the same walk sent twice is stored once.

    It is of this moment, which no form asks for; who tells of an earlier one gives it as ``at``, and the
    entry says when that was told. Gives the walk as it is stored.

    Raises `RetiredMeanwhileError` where the job or the bore is retired, and what ``keep_photos`` raises;
    nothing is stored then.
    """
    with transaction.atomic():
        hold_job(walk.bore.job_id)
        there = DailyWalk.objects.filter(pk=walk.pk, bore=walk.bore_id).first()
        if there is not None:
            return there
        if not Bore.objects.filter(pk=walk.bore_id).exists():
            raise RetiredMeanwhileError(named(walk.bore))
        last = DailyWalk.objects.filter(bore=walk.bore_id).aggregate(at=Max("walked_at"))
        walk.walked_at = at or dated_after(moments_now(), last["at"])
        walk.time_zone = Job.objects.values_list("time_zone", flat=True).get(pk=walk.bore.job_id)
        walk.walked_by = by
        walk.walked_by_name = name_of(by)
        walk.save(force_insert=True)
        if keep_photos is not None:
            keep_photos(walk, by=by)
        job_changed(walk.bore.job_id)
        enter(walk, by=by)
    return walk
