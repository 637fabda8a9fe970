"""Evidence of a variance as pages show it: what the signature covers, what came later, with photos."""

from typing import Any

from conflicts.desk.variance_evidence import evidence_of, sheet_of
from conflicts.models import Variance
from locates.models import Photo


def evidence_shown(variance: Variance) -> dict[str, Any]:
    """The sheet, and its groups with the photos that belong to each."""
    sheet = sheet_of(variance, evidence_of(variance))
    photos = {str(one.pk): one for one in Photo.objects.of(variance)}
    groups = [
        (words, part, [photos[one.record_id] for one in part if one.record_id in photos])
        for words, part in sheet.groups()
    ]
    return {"evidence": sheet, "evidence_groups": groups}
