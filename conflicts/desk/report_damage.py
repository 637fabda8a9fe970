"""Store what somebody tells of a line that was damaged, or nearly."""

from collections.abc import Callable, Sequence

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.models import DamageReport
from conflicts.models.signed import name_of
from locates.changes import job_changed
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job
from locates.models import Photo

KeepPhotos = Callable[[DamageReport], Sequence[Photo]]


def report_damage(
    report: DamageReport, *, by: AbstractBaseUser, photo_sha256s: Sequence[str], keep_photos: KeepPhotos
) -> DamageReport:
    """Store a report with its photos and its entry in the ledger; the same one sent twice is stored once.

    ``keep_photos`` keeps the photos of those digests with the stored report: all is stored or nothing. The
    report's entry comes last and names the digests, so that no photo can be taken from it or put to it.

    Raises `RetiredMeanwhileError` where the job is retired, and `PhotoError` where a photo cannot be kept.
    """
    with transaction.atomic():
        hold_job(report.job_id)
        there = DamageReport.objects.filter(pk=report.pk, job=report.job_id).first()
        if there is not None:
            return there
        report.reported_by, report.reported_by_name = by, name_of(by)
        report.photo_sha256s = list(photo_sha256s)
        report.save(force_insert=True)
        keep_photos(report)
        job_changed(report.job_id)
        enter(report, by=by)
    return report
