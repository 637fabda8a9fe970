"""Finding any record by what people call it: ticket number, street, operator, reference or name."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_
from typing import Any

from django.contrib.auth.models import AbstractUser
from django.db.models import Case, IntegerField, Model, Q, Value, When
from django.urls import reverse

from conflicts.models import Bore
from locates.models import (
    FacilityOperator,
    Job,
    Linework,
    Mark,
    SurfaceFeature,
    TestHole,
    Ticket,
    organisation_of,
)

LEAST_LETTERS = 2
MOST_LETTERS = 100
MOST_WORDS = 6
MOST_OF_A_KIND = 8


@dataclass(frozen=True)
class Hit:
    """One record that was found: what it is called, what more there is to say, and where it stands."""

    name: str
    detail: str
    job: Job
    address: str


@dataclass(frozen=True)
class HitList:
    """The records found of one kind, and whether there are more."""

    title: str
    hits: list[Hit]
    has_more: bool


@dataclass(frozen=True)
class _Kind:
    """A kind of record to search: its own fields, the first being what it is called, and how it is shown."""

    model: type[Model]
    title: str
    fields: tuple[str, ...]
    show: Callable[[Any], Hit]
    job: str = "job__"

    @property
    def permission(self) -> str:
        """What somebody needs to be shown these records."""
        return f"{self.model._meta.app_label}.view_{self.model._meta.model_name}"


def search(text: str, viewer: AbstractUser) -> list[HitList]:
    """The records that hold every word of a text, by kind; those called exactly so come first.

    Parameters
    ----------
    text : str
        Words; each stands in the record itself or in the name of its job, and at least one in the record.
    viewer : person
        Who asks, and is shown nothing but what they may view of their own company.
    """
    words = text.split()[:MOST_WORDS]
    if not words:
        return []
    kinds = [kind for kind in KINDS if viewer.has_perm(kind.permission)]
    lists = [_found(kind, " ".join(words), words, viewer.pk) for kind in kinds]
    return [one for one in lists if one.hits]


def _found(kind: _Kind, text: str, words: list[str], viewer_id: int | None) -> HitList:
    own = {word: _any_of(kind.fields, "icontains", word) for word in words}
    everywhere = [own[word] | Q(**{f"{kind.job}name__icontains": word}) for word in words]
    name = kind.fields[0]
    nearness = Case(
        When(**{f"{name}__iexact": text}, then=0),
        When(**{f"{name}__istartswith": text}, then=1),
        default=Value(2),
        output_field=IntegerField(),
    )
    records = (
        kind.model.objects.filter(
            reduce(and_, everywhere),
            reduce(or_, own.values()),
            **{f"{kind.job}organisation": organisation_of(viewer_id)},
        )
        .order_by(nearness, name, f"{kind.job}name", "pk")
        .select_related(*(["job"] if kind.job else ["organisation", "jurisdiction"]))
    )
    hits = [kind.show(record) for record in records[: MOST_OF_A_KIND + 1]]
    return HitList(kind.title, hits[:MOST_OF_A_KIND], len(hits) > MOST_OF_A_KIND)


def _any_of(fields: Iterable[str], lookup: str, value: str) -> Q:
    return reduce(or_, (Q(**{f"{field}__{lookup}": value}) for field in fields))


def _on_job(job: Job, section: str) -> str:
    return f"{reverse('conflicts:job', args=[job.pk])}#{section}"


def _job(job: Job) -> Hit:
    detail = f"{job.organisation.name}, {job.jurisdiction.code}"
    return Hit(job.name, detail, job, reverse("conflicts:job", args=[job.pk]))


def _bore(bore: Bore) -> Hit:
    return Hit(bore.name, bore.product, bore.job, reverse("conflicts:bore", args=[bore.pk]))


def _ticket(ticket: Ticket) -> Hit:
    earlier = f", after {ticket.previous_number}" if ticket.previous_number else ""
    detail = f"{ticket.get_ticket_kind_display()}{earlier}"
    return Hit(ticket.number, detail, ticket.job, _on_job(ticket.job, "tickets"))


def _operator(operator: FacilityOperator) -> Hit:
    return Hit(operator.name, operator.emergency_phone, operator.job, _on_job(operator.job, "operators"))


def _mark(mark: Mark) -> Hit:
    return Hit(mark.ref, mark.get_facility_type_display(), mark.job, _on_job(mark.job, "marks"))


def _test_hole(hole: TestHole) -> Hit:
    detail = "found a line" if hole.found else "found none"
    return Hit(hole.ref, detail, hole.job, _on_job(hole.job, "test-holes"))


def _surface_feature(feature: SurfaceFeature) -> Hit:
    detail = f"{feature.get_feature_type_display()}, {feature.get_facility_type_display()}"
    return Hit(feature.ref, detail, feature.job, _on_job(feature.job, "surface-features"))


def _linework(piece: Linework) -> Hit:
    return Hit(piece.label, piece.get_feature_type_display(), piece.job, _on_job(piece.job, "map"))


KINDS = (
    _Kind(Job, "Jobs", ("name", "organisation__name"), _job, job=""),
    _Kind(Ticket, "Tickets", ("number", "previous_number"), _ticket),
    _Kind(Bore, "Bores", ("name", "product"), _bore),
    _Kind(FacilityOperator, "Operators", ("name", "emergency_phone"), _operator),
    _Kind(Mark, "Marks", ("ref",), _mark),
    _Kind(TestHole, "Test holes", ("ref",), _test_hole),
    _Kind(SurfaceFeature, "Surface features", ("ref",), _surface_feature),
    _Kind(Linework, "Named on the map", ("label",), _linework),
)
