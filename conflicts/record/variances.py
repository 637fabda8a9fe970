"""The variances of a bore, for its clearance record."""

from collections.abc import Iterable, Sequence

from conflicts.checks import Assessed
from conflicts.desk.variance_evidence import evidence_of_each, sheet_of
from conflicts.desk.variance_subject import subject_of
from conflicts.evidence import NONE_ATTACHED, Evidence, EvidenceSheet
from conflicts.models import Variance
from conflicts.record.read_photos import Photos
from conflicts.record.sheet import RecordEvidence, RecordVariance
from locates.units import format_station


def variances_of(
    variances: Iterable[Variance], assessed: Assessed, photos: Photos
) -> tuple[RecordVariance, ...]:
    """Each variance with how it stands at the moment of an assessment."""
    listed = list(variances)
    found = evidence_of_each(listed)
    return tuple(_variance(one, assessed, photos, found[one.pk]) for one in listed)


def subject_words(variance: Variance) -> str:
    """What a variance excuses."""
    if variance.mark is None:
        return f"The check: {variance.get_check_code_display()}"
    station = format_station(variance.station_m, variance.bore.job.show_units)
    what = variance.what.capitalize()
    return f"{what}: {variance.mark.ref}, {variance.kind}, at station {station}"


def _variance(
    variance: Variance, assessed: Assessed, photos: Photos, found: Sequence[Evidence]
) -> RecordVariance:
    signature, sheet = getattr(variance, "signature", None), sheet_of(variance, found)
    return RecordVariance(
        subject=subject_words(variance),
        reason=variance.reason,
        evidence=_in_words(variance, sheet),
        requested_by=variance.requested_by_name,
        requested_at=variance.requested_at,
        signed_by="" if signature is None else signature.signed_by_name,
        signed_at=None if signature is None else signature.signed_at,
        valid_from=None if signature is None else signature.valid_from,
        valid_until=None if signature is None else signature.valid_until,
        bound_to="" if signature is None else variance.bound_words(),
        standing=_standing(variance, assessed),
        files=_files(variance, sheet),
        photos=photos.of(variance.pk),
    )


def _in_words(variance: Variance, sheet: EvidenceSheet) -> str:
    """What is said of its evidence by who asked, and that none is attached, with the signer's why."""
    told = [variance.evidence]
    if sheet.is_none_attached:
        why = variance.signature.remarks if hasattr(variance, "signature") else ""
        told.append(": ".join(part for part in (NONE_ATTACHED, why) if part))
    return "; ".join(part.strip() for part in told if part.strip())


def _files(variance: Variance, sheet: EvidenceSheet) -> tuple[RecordEvidence, ...]:
    is_signed = hasattr(variance, "signature")
    return tuple(
        RecordEvidence(
            what=one.what or one.kind,
            file_name=one.file_name,
            sha256=one.sha256,
            kept_at=one.kept_at,
            kept_by=one.kept_by,
            standing=words if is_signed else "not signed for",
        )
        for words, part in sheet.groups()
        for one in part
    )


def _standing(variance: Variance, assessed: Assessed) -> str:
    at = assessed.at
    signature, end = getattr(variance, "signature", None), getattr(variance, "end", None)
    if signature is None or signature.signed_at > at:
        return "Not signed: it excuses nothing."
    if end is not None and end.ended_at <= at:
        return f"Ended by {end.ended_by_name}: {end.reason}"
    if at < signature.valid_from:
        return "Not in force yet."
    if signature.valid_until <= at:
        return "Over."
    why_not = subject_of(variance, assessed).why_not
    return f"Excuses nothing as of this record: {why_not}." if why_not else "In force as of this record."
