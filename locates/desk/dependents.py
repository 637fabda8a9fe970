"""What depends on a record that somebody wants to retire."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import models

from locates.models.retirable import Retirable

Ids = dict[type[Retirable], set[UUID]]

STORED_FIGURES = "crossings"
"""Name under which a record's computed crossings hang on it, whatever package computes them."""


@dataclass(frozen=True)
class Link:
    """Records of one kind that name others in one of their fields."""

    model: type[Retirable]
    field: str
    ids: list[UUID]

    def __str__(self) -> str:
        return counted(self.model, len(self.ids))


@dataclass(frozen=True)
class Dependents:
    """All that hangs on a record.

    ``parts`` make no sense without it and go with it, itself included; ``loose`` ones name it and can stand
    without it; ``blockers`` name it and cannot.
    """

    parts: Ids
    loose: list[Link] = field(default_factory=list)
    blockers: list[Link] = field(default_factory=list)
    computed: int = 0

    def also(self, record: Retirable) -> list[str]:
        """The parts but the record itself, counted."""
        counts = {model: len(ids - {record.pk}) for model, ids in self.parts.items()}
        return [counted(model, count) for model, count in counts.items() if count]


def counted(model: type[models.Model], count: int) -> str:
    """A number of records in words."""
    name = model._meta.verbose_name if count == 1 else model._meta.verbose_name_plural
    return f"{count} {name}"


def read_dependents(record: Retirable, *, with_loose: bool = False) -> Dependents:
    """What hangs on a record, by the rules that its database keeps when it is deleted.

    With ``with_loose`` the records that could stand without it go with it too.
    """
    parts = _closed({type(record): {record.pk}})
    loose, blockers = _named_from_outside(parts)
    if with_loose:
        for link in loose:
            parts.setdefault(link.model, set()).update(link.ids)
        parts = _closed(parts)
        loose, blockers = _named_from_outside(parts)
    figures = getattr(record, STORED_FIGURES, None)
    return Dependents(parts, loose, blockers, 0 if figures is None else figures.count())


def links_to(model: type[models.Model]) -> list[tuple[type[Retirable], Any]]:
    """The kinds of retirable record that name a kind of record, and the column in which they do."""
    return [
        (relation.related_model, relation.field)
        for relation in sorted(model._meta.related_objects, key=lambda one: one.related_model._meta.label)
        if issubclass(relation.related_model, Retirable)
    ]


def _closed(roots: Ids) -> Ids:
    """Records with all their parts, and the parts of those."""
    found: Ids = {model: set(ids) for model, ids in roots.items()}
    waiting = list(found.items())
    while waiting:
        model, ids = waiting.pop()
        for part_model, column in links_to(model):
            if column.remote_field.on_delete is models.CASCADE:
                parts = part_model.objects.filter(**{f"{column.name}__in": ids})
                new = set(parts.values_list("pk", flat=True)) - found.get(part_model, set())
                if new:
                    found.setdefault(part_model, set()).update(new)
                    waiting.append((part_model, new))
    return found


def _named_from_outside(parts: Ids) -> tuple[list[Link], list[Link]]:
    """Live records outside of the parts that name one of them: which may stay, and which may not."""
    loose, blockers = [], []
    for model, ids in parts.items():
        for other, column in links_to(model):
            if column.remote_field.on_delete is models.CASCADE:
                continue
            outside = other.objects.filter(**{f"{column.name}__in": ids}).exclude(pk__in=parts.get(other, ()))
            link = Link(other, column.name, list(outside.values_list("pk", flat=True)))
            if link.ids:
                # A requirement's operator may be empty too, but without it it would speak of every operator.
                is_loose = column.remote_field.on_delete is models.SET_NULL
                (loose if is_loose else blockers).append(link)
    return loose, blockers
