"""Which records of a file are records that its job has already, where the file carries no id of theirs."""

from collections import defaultdict
from typing import Any
from uuid import UUID

from django.contrib.gis.geos import GEOSGeometry
from django.db import models

from locates.models import ClearanceRequirement, FacilityOperator, Response
from locates.models.retirable import Retirable

BOOKKEEPING = frozenset({"id", *(field.name for field in Retirable._meta.local_fields)})
"""What a record says of its own keeping, and no file says."""


def same_operators(written: dict[str, FacilityOperator], present: list[FacilityOperator]) -> None:
    """Give operators of a file the ids of the job's live ones of the same name."""
    for operator in present:
        if operator.name in written:
            written[operator.name].pk = operator.pk


def same_requirements(written: list[ClearanceRequirement], present: list[ClearanceRequirement]) -> None:
    """Give requirements of a file the ids of the job's live ones for the same operator and type."""
    ids = {(one.operator_id, one.facility_type): one.pk for one in present}
    for one in written:
        one.pk = ids.get((one.operator_id, one.facility_type), one.pk)


def same_answers(written: list[Response], present: list[Response], places: dict[UUID, int]) -> None:
    """Give answers of a file the ids and places of those that the tickets have, as far as they say the same.

    From the first that differs on, a ticket's answers are new ones, which come after every answer that the
    ticket ever had: a retired one keeps its place. ``places`` gives the first free one of each ticket.
    """
    known, lists = defaultdict(list), defaultdict(list)
    for answer in sorted(present, key=lambda one: one.sequence):
        known[answer.ticket_id].append(answer)
    for answer in written:
        lists[answer.ticket_id].append(answer)
    for ticket_id, answers in lists.items():
        said, place, is_same = known[ticket_id], places.get(ticket_id, 0), True
        for index, answer in enumerate(answers):
            is_same = is_same and index < len(said) and not differs(answer, said[index], besides="sequence")
            if is_same:
                answer.pk, answer.sequence = said[index].pk, said[index].sequence
            else:
                answer.sequence, place = place, place + 1


def differs(one: Retirable, other: Retirable, *, besides: str = "") -> bool:
    """Whether two records of a kind say something else, to the last digit; their own keeping left aside."""
    return any(
        _exact(getattr(one, field.attname)) != _exact(getattr(other, field.attname))
        for field in stated_fields(type(one))
        if field.name != besides
    )


def stated_fields(model: type[Retirable]) -> list[models.Field]:
    """The fields in which a record states something."""
    return [field for field in model._meta.concrete_fields if field.name not in BOOKKEEPING]


def _exact(value: Any) -> Any:
    """A value in which two numbers or shapes are equal only if every bit is."""
    if isinstance(value, float):
        return value.hex()
    if isinstance(value, GEOSGeometry):
        return bytes(value.ewkb)
    return [_exact(one) for one in value] if isinstance(value, list) else value
