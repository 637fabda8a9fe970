"""Tickets of the rows of a table: as they would be stored, and all that is wrong with them."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

import numpy as np
from django.contrib.gis.db.models import Extent

from locates.desk.settle_dates import days_in_use, rule_in_use, settle_dates, work_out
from locates.exchange.bulk_cells import Line, Reading, operators_by_name, read_lines
from locates.exchange.bulk_kinds import BULK_KINDS, REASON, column_named
from locates.exchange.vector_errors import RowError
from locates.exchange.vector_mapping import Mapping
from locates.exchange.vector_table import Table
from locates.exchange.vector_whereabouts import Whereabouts, whereabouts
from locates.local_time import format_moment
from locates.models import FacilityOperator, ImportKind, Job, JurisdictionRule, Ticket
from locates.models.bounds import orders_of
from locates.one_call.calendar_terms import CentreDay
from locates.one_call.call_time import call_accepted_instead
from locates.one_call.clock import Call
from locates.ticket_dates import DATES

KIND = BULK_KINDS[ImportKind.TICKET]


@dataclass
class DraftTickets:
    """What a table would add.

    Attributes
    ----------
    records : list of Ticket
        Unsaved, in the order of the file; complete only where there are no errors.
    told : dict of UUID to list of FacilityOperator
        By ticket, whom the centre told.
    places : list of str
        The row of each.
    errors : list of RowError
        In the order of the file.
    whereabouts : Whereabouts or None
        How far the work areas lie from the job; None where there are none.
    """

    records: list[Ticket] = field(default_factory=list)
    told: dict[UUID, list[FacilityOperator]] = field(default_factory=dict)
    places: list[str] = field(default_factory=list)
    errors: list[RowError] = field(default_factory=list)
    whereabouts: Whereabouts | None = None

    @property
    def undated(self) -> int:
        """How many would have no legal start or no expiry, so that they are not in force."""
        return sum(1 for one in self.records if one.legal_start_at is None or one.expires_at is None)


def draft_tickets(job: Job, table: Table, mapping: Mapping, *, at: datetime) -> DraftTickets:
    """The tickets that the rows of a table would add to a job at a moment, dated by the rule of today."""
    operators = operators_by_name(list(job.operators.order_by("name")))
    lines, errors = read_lines(table, Reading(KIND, mapping, job.time_zone, operators))
    draft = DraftTickets(errors=errors)
    taken = set(
        Ticket.objects.filter(job=job, number__in=[line.values["number"] for line in lines]).values_list(
            "number", flat=True
        )
    )
    rule, own_days = rule_in_use(job), days_in_use(job)
    first_rows: dict[str, str] = {}
    for line in lines:
        errors += _false_number(line, taken, first_rows, mapping)
        errors += _call_to_come(line, job, mapping, at)
        ticket, faults = _dated(job, rule, own_days, line, mapping)
        errors += faults
        draft.records.append(ticket)
        draft.told[ticket.pk] = line.values.get("operators", [])
        draft.places.append(line.place)
    if draft.records:
        draft.whereabouts = _whereabouts(job, draft, mapping)
    order = {f"{table.row_word} {row.number}": row.number for row in table.rows}
    errors.sort(key=lambda error: order[error.place])
    return draft


def _false_number(
    line: Line, taken: set[str], first_rows: dict[str, str], mapping: Mapping
) -> Iterable[RowError]:
    number = line.values["number"]
    if number in taken:
        yield _error(
            line, "number", mapping, f"{number}, which is logged already", "a ticket that the job lacks"
        )
    elif number in first_rows:
        found = f"{number}, as in {first_rows[number]}"
        yield _error(line, "number", mapping, found, "each number once")
    first_rows.setdefault(number, line.place)
    if line.values.get("previous_number") == number:
        yield _error(line, "previous_number", mapping, "the ticket's own number", "that of an earlier ticket")


def _call_to_come(line: Line, job: Job, mapping: Mapping, at: datetime) -> Iterable[RowError]:
    called_at = line.values["called_at"]
    accepted = call_accepted_instead(called_at, at, job.time_zone)
    if accepted:
        yield _error(line, "called_at", mapping, f"{_moment(called_at, job)}, which is to come", accepted)


def _dated(
    job: Job, rule: JurisdictionRule, own_days: tuple[CentreDay, ...], line: Line, mapping: Mapping
) -> tuple[Ticket, list[RowError]]:
    """A ticket with the dates that count, as its form would settle them."""
    own = {name: value for name, value in line.values.items() if name not in (*DATES, "operators")}
    ticket = Ticket(job=job, **own)
    call = Call(
        kind=ticket.ticket_kind,
        called_at=ticket.called_at,
        time_zone=job.time_zone,
        start_at=ticket.wanted_start_at,
    )
    worked = work_out(rule, call, own_days=own_days)
    settled = settle_dates(worked, {name: line.values.get(name) for name in DATES})
    ticket.dates_rule, ticket.computed_dates = rule, worked
    for name, at in settled.moments.items():
        setattr(ticket, name, at)
    errors = []
    if not ticket.override_reason:
        for name in settled.by_hand:
            found = _moment(getattr(ticket, name), job)
            computed = datetime.fromisoformat(worked[name]["at"])
            accepted = (
                f"{_moment(computed, job)}, which the rule gives, or nothing, or the reason for another "
                f"in {KIND.label(REASON)}"
            )
            errors.append(_error(line, name, mapping, found, accepted))
    return ticket, errors + _disordered(ticket, line, mapping)


def _disordered(ticket: Ticket, line: Line, mapping: Mapping) -> list[RowError]:
    """Dates that the database would refuse in their order, told at one that the file gives."""
    errors = []
    for earlier, later, may_equal in orders_of(Ticket):
        first, second = getattr(ticket, earlier), getattr(ticket, later)
        if first is None or second is None or first < second or (may_equal and first == second):
            continue
        at_fault, other, words = (
            (later, earlier, "not before" if may_equal else "after")
            if later in line.values
            else (earlier, later, "not after" if may_equal else "before")
        )
        found = _moment(getattr(ticket, at_fault), ticket.job)
        accepted = f"a time {words} the {KIND.label(other)}, {_moment(getattr(ticket, other), ticket.job)}"
        errors.append(_error(line, at_fault, mapping, found, accepted))
    return errors


def _whereabouts(job: Job, draft: DraftTickets, mapping: Mapping) -> Whereabouts:
    """How far the areas lie from the job; too far for one job is an error, at the row farthest off."""
    areas = [{"type": "MultiPolygon", "coordinates": ticket.area.coords} for ticket in draft.records]
    found = whereabouts(job, areas, _standing(job))
    if found.is_impossible:
        middles = np.array([ticket.area.centroid.coords for ticket in draft.records])
        farthest = int(np.argmax(np.abs(middles - _middle(job, middles)).sum(axis=1)))
        column = column_named(mapping, KIND, "area")
        accepted = "corners near the job, latitude first"
        words = f"an area far away ({found.words})"
        draft.errors.append(RowError(draft.places[farthest], column, words, accepted))
    return found


def _standing(job: Job) -> list[dict[str, Any]]:
    """The stretch that the job's tickets cover, as one area; nothing where there is none."""
    extent = Ticket.objects.filter(job=job).aggregate(extent=Extent("area"))["extent"]
    if extent is None:
        return []
    west, south, east, north = extent
    ring = [(west, south), (east, south), (east, north), (west, north), (west, south)]
    return [{"type": "Polygon", "coordinates": [ring]}]


def _middle(job: Job, middles: np.ndarray) -> np.ndarray:
    standing = _standing(job)
    if standing:
        return np.mean(standing[0]["coordinates"][0][:4], axis=0)
    return np.median(middles, axis=0)


def _error(line: Line, name: str, mapping: Mapping, found: str, accepted: str) -> RowError:
    return RowError(line.place, column_named(mapping, KIND, name), found, accepted)


def _moment(moment: datetime, job: Job) -> str:
    return format_moment(moment, job.time_zone)
