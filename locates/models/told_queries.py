"""All that anybody was told, narrowed to what a person looks for."""

from dataclasses import dataclass
from datetime import date

from django.db.models import DateField, F, Func, QuerySet
from django.db.models.functions import Cast

from locates.models.membership import organisation_of
from locates.models.notice import Notice

TOLD_ORDER = ("-made_at", "-id")

# All that a row shows; areas and shapes are left where they are.
_SHOWN = (
    "made_at",
    "subject",
    "words",
    "read_at",
    "person__username",
    "job__name",
    "job__time_zone",
    "ticket__number",
    "mark__ref",
    "mail__notice",
    "mail__state",
    "mail__sent_at",
)


@dataclass(frozen=True)
class ToldFilters:
    """Who looks, which is shown their own company's alone, and for what; empty is everything.

    Days are those of each job's own zone.
    """

    viewer_id: int | None
    person_id: int | None = None
    job: str = ""
    ticket: str = ""
    day_from: date | None = None
    day_to: date | None = None


def told(filters: ToldFilters) -> QuerySet[Notice]:
    """The notices of everybody in a company that fit, each with its person, job, ticket or mark, and mail."""
    found = Notice.objects.exclude(words="").select_related("person", "job", "ticket", "mark", "mail")
    found = found.only(*_SHOWN).filter(job__organisation_id=organisation_of(filters.viewer_id))
    if filters.person_id is not None:
        found = found.filter(person_id=filters.person_id)
    if filters.job:
        found = found.filter(job__name__icontains=filters.job)
    if filters.ticket:
        found = found.filter(ticket__number__icontains=filters.ticket)
    if filters.day_from or filters.day_to:
        local = Func(F("job__time_zone"), F("made_at"), function="timezone")
        found = found.alias(told_on=Cast(local, DateField()))
    if filters.day_from:
        found = found.filter(told_on__gte=filters.day_from)
    if filters.day_to:
        found = found.filter(told_on__lte=filters.day_to)
    return found
