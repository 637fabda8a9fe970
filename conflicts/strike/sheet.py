"""What the strike page shows of a job: its operators with their numbers, and what is to be done."""

from typing import NamedTuple

from conflicts.strike.advice import ADVICE_FILE, Advice, FacilityAdvice, read_advice
from locates.models import FacilityOperator, FacilityType, Job

ADVICE = read_advice(ADVICE_FILE.read_text(encoding="utf-8"), FacilityType.values)


class StrikeSheet(NamedTuple):
    """Advice with the facility types of the job's marks first, and each operator with its types."""

    advice: Advice
    facilities: list[FacilityAdvice]
    marked_types: set[str]
    operators: list[tuple[FacilityOperator, list[str]]]


def strike_sheet(job: Job) -> StrikeSheet:
    """Read the operators of a job and the facility types of their marks."""
    marked = set(job.marks.order_by().values_list("operator", "facility_type").distinct())
    types = {facility_type for _, facility_type in marked}
    # What the marks say comes first; unknown stands before all, as it is what to do when in doubt.
    facilities = sorted(
        ADVICE.facilities,
        key=lambda one: (one.facility_type != FacilityType.UNKNOWN, one.facility_type not in types),
    )
    operators = [
        (one, sorted(kind for owner, kind in marked if owner == one.pk))
        for one in job.operators.order_by("name")
    ]
    return StrikeSheet(ADVICE, facilities, types, operators)
