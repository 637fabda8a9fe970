"""A page of what was changed of a job's records, the newest first."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import models

from locates.errors import PlaceInListError
from locates.exchange.moments import write_moment
from locates.history_words import Names, keys_of, label_of, name_in, read_names, short, words_of
from locates.kept_records import kept_models
from locates.models import Job, RecordEvent

ROWS_A_PAGE = 40
# They change with every save, and the event itself says who and when.
SAID_BY_THE_EVENT = frozenset({"version", "edited_at", "edited_by_id", "changed_at"})


@dataclass(frozen=True, slots=True)
class HistoryFilters:
    """Which changes are wanted; empty is all."""

    table: str = ""
    record_id: UUID | None = None
    person: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """One column before and after, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class HistoryRow:
    """One event with what it says of the record, and when all that was written with it was done."""

    event: RecordEvent
    settled_at: datetime
    kind: str
    name: str
    differences: list[Difference]

    @property
    def second(self) -> str:
        """Second of the minute, to the millisecond."""
        return f"{self.event.happened_at:%S.%f}"[:-3]

    @property
    def address(self) -> str:
        """That moment as the address of a page names it, to the microsecond."""
        return write_moment(self.settled_at)


@dataclass(frozen=True, slots=True)
class HistoryPage:
    """Rows, and where the next page begins."""

    rows: list[HistoryRow]
    next_place: str


def kinds_of_records() -> list[tuple[str, str]]:
    """Tables whose events a page can be narrowed to, each with what its records are called."""
    named = [(model._meta.db_table, str(model._meta.verbose_name)) for model in kept_models()]
    return sorted(named, key=lambda one: one[1])


def read_history(
    job: Job, filters: HistoryFilters, after: str, hidden: Collection[tuple[str, str]] = ()
) -> HistoryPage:
    """A page of the changes of a job, without columns that are not for whoever reads it.

    ``hidden`` names these by table and column.

    Raises `PlaceInListError` where ``after`` is no place in the list.
    """
    events = RecordEvent.objects.of_job(job.pk)
    if filters.table:
        events = events.filter(table_name=filters.table)
    if filters.record_id:
        events = events.filter(record_id=filters.record_id)
    if filters.person:
        events = events.filter(person_name__icontains=filters.person)
    if after:
        if not after.isdecimal() or len(after) > 18:
            raise PlaceInListError(after)
        events = events.filter(id__lt=int(after))
    found = list(events[: ROWS_A_PAGE + 1])
    shown = found[:ROWS_A_PAGE]
    by_table = {model._meta.db_table: model for model in kept_models()}
    names = _names(shown, by_table)
    settled = _settled(job, shown)
    rows = [
        _row(event, settled[event.transaction_id, event.transaction_began_at], by_table, job, names, hidden)
        for event in shown
    ]
    return HistoryPage(rows, str(shown[-1].id) if len(found) > ROWS_A_PAGE else "")


def _names(events: Iterable[RecordEvent], by_table: dict[str, type[models.Model]]) -> Names:
    keys = set()
    for event in events:
        model = by_table.get(event.table_name)
        for side in (event.before, event.after):
            if model is not None and side is not None:
                keys |= keys_of(model, side)
    return read_names(keys)


def _settled(job: Job, events: Iterable[RecordEvent]) -> dict[tuple[int, datetime], datetime]:
    """When each event's transaction had written all that it wrote of the job."""
    numbers = {event.transaction_id for event in events}
    ends = RecordEvent.objects.filter(job_id=job.pk, transaction_id__in=numbers).order_by()
    ended = ends.values_list("transaction_id", "transaction_began_at").annotate(models.Max("happened_at"))
    return {(number, began_at): at for number, began_at, at in ended}


def _row(
    event: RecordEvent,
    settled_at: datetime,
    by_table: dict[str, type[models.Model]],
    job: Job,
    names: Names,
    hidden: Collection[tuple[str, str]],
) -> HistoryRow:
    before, after = event.before or {}, event.after or {}
    model = by_table.get(event.table_name)
    if model is None:
        return HistoryRow(event, settled_at, event.table_name, short(event.record_id), [])
    differences = [
        Difference(
            label_of(model, column),
            words_of(model, column, before.get(column), job, names),
            words_of(model, column, after.get(column), job, names),
        )
        for column in _columns(before, after)
        if before.get(column) != after.get(column)
        and column not in SAID_BY_THE_EVENT
        and (event.table_name, column) not in hidden
    ]
    told = [one for one in differences if event.action == "update" or one.before != one.after]
    name = name_in(after) or name_in(before) or short(event.record_id)
    return HistoryRow(event, settled_at, str(model._meta.verbose_name), name, told)


def _columns(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    return [name for name in (after or before) if name != "id"] + [
        name for name in before if after and name not in after
    ]
