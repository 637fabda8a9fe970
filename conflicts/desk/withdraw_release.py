"""Take a release back."""

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.clocks import dated_after, moments_now
from conflicts.models import Bore, ReleaseWithdrawal
from conflicts.models.signed import name_of
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.models import Job


def withdraw_release(
    withdrawal: ReleaseWithdrawal, *, by: AbstractBaseUser, at: datetime | None = None
) -> ReleaseWithdrawal:
    """Store the withdrawal of a release with its entry; one that is withdrawn already stays so.

    It asks for no live job and no live bore: taking back is always allowed.
    """
    with transaction.atomic():
        job_id = withdrawal.release.bore.job_id
        Job.with_retired.select_for_update().get(pk=job_id)
        # The bore in place of its release: whoever serves may add to what is signed, and cannot lock it.
        Bore.with_retired.select_for_update().get(pk=withdrawal.release.bore_id)
        there = ReleaseWithdrawal.objects.filter(release=withdrawal.release_id).first()
        if there is not None:
            return there
        withdrawal.withdrawn_by, withdrawal.withdrawn_by_name = by, name_of(by)
        withdrawal.withdrawn_at = at or dated_after(moments_now(), withdrawal.release.signed_at)
        withdrawal.save(force_insert=True)
        job_changed(job_id)
        enter(withdrawal, by=by)
    return withdrawal
