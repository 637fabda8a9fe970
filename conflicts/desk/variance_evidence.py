"""The photos and papers that show why a variance is safe: read beside its signature, and added to."""

from collections.abc import Callable, Iterable, Sequence
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from conflicts.clocks import moments_now
from conflicts.errors import VarianceError
from conflicts.evidence import PAPER, PHOTO, Evidence, EvidenceSheet, evidence_sheet
from conflicts.models import Variance, VarianceEnd, VariancePaper
from conflicts.models.signed import name_of
from locates.desk.ledger import enter
from locates.desk.save_record import hold_job
from locates.exchange.paper_guard import CheckedPaper, PaperError
from locates.models import Photo

MOST_PAPERS = 20
"""Of one variance; common practice, no source."""


def evidence_of(variance: Variance) -> list[Evidence]:
    """The photos and papers of a variance, the photos first, each the oldest first."""
    return evidence_of_each([variance])[variance.pk]


def evidence_of_each(variances: Sequence[Variance]) -> dict[UUID, list[Evidence]]:
    """The same of several variances, in two queries."""
    found: dict[UUID, list[Evidence]] = {one.pk: [] for one in variances}
    for photo in Photo.objects.of_each(Variance, found):
        found[photo.subject_id].append(_of_photo(photo))
    for paper in VariancePaper.objects.filter(variance__in=list(found)).listed():
        found[paper.variance_id].append(_of_paper(paper))
    return found


def sheet_of(variance: Variance, found: Sequence[Evidence]) -> EvidenceSheet:
    """Evidence of a variance beside its signature, which was read with it."""
    signature = getattr(variance, "signature", None)
    if signature is None:
        return evidence_sheet(found, None, None)
    return evidence_sheet(found, signature.signed_at, signature.covered)


def _of_photo(photo: Photo) -> Evidence:
    what = f"photo, {photo.get_media_type_display()}"
    return Evidence(
        PHOTO,
        photo.file_name,
        photo.sha256,
        str(photo.pk),
        what,
        photo.size_bytes,
        photo.kept_at,
        photo.kept_by_name,
    )


def _of_paper(paper: VariancePaper) -> Evidence:
    return Evidence(
        PAPER,
        paper.file_name,
        paper.sha256,
        str(paper.pk),
        paper.get_media_type_display(),
        paper.size_bytes,
        paper.added_at,
        paper.added_by_name,
    )


def keep_papers(
    variance: Variance, papers: Iterable[CheckedPaper], *, by: AbstractBaseUser
) -> list[VariancePaper]:
    """Store papers of a variance whose job is held, each with its entry; one that is there stays as it is.

    Raises `PaperError` where they are too many.
    """
    there = {one.sha256: one for one in VariancePaper.objects.filter(variance=variance).defer("content")}
    kept = []
    for one in papers:
        if one.sha256 not in there:
            if len(there) >= MOST_PAPERS:
                raise PaperError(
                    f"{MOST_PAPERS} papers on this variance already", "one variance with fewer papers"
                )
            there[one.sha256] = VariancePaper(
                variance=variance,
                file_name=one.name,
                media_type=one.media_type,
                size_bytes=len(one.raw),
                sha256=one.sha256,
                content=one.raw,
                added_by=by,
                added_by_name=name_of(by),
                added_at=moments_now()[0],
            )
            there[one.sha256].save(force_insert=True)
            enter(there[one.sha256], by=by)
        kept.append(there[one.sha256])
    return kept


def add_evidence(variance: Variance, keep: Callable[[], object]) -> None:
    """Store evidence of a variance by what ``keep`` does, all of it or none.

    Raises `VarianceError` where the variance is ended, `RetiredMeanwhileError` where its job is retired, and
    what ``keep`` raises.
    """
    with transaction.atomic():
        hold_job(variance.bore.job_id)
        ended = VarianceEnd.objects.filter(variance=variance).first()
        if ended is not None:
            raise VarianceError(
                f"It is ended, by {ended.ended_by_name}: evidence goes with a variance asked for anew."
            )
        keep()
