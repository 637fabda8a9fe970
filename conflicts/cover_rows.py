"""The cover of a bore as rows of a page: now, until the planned finish, and ticket by ticket."""

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.utils.safestring import SafeString, mark_safe

from conflicts.bore_states import BoreState
from conflicts.coverage_sheet import CoverageSheet, TicketSpan, coverage_sheet
from conflicts.desk.draft_ticket import gap_name
from conflicts.drawing.cover_bar import cover_bar
from conflicts.engine.coverage import without_ranges
from locates.models import Ticket


@dataclass(frozen=True)
class TicketRow:
    """One ticket's row: its stations, and the bar that shows them."""

    span: TicketSpan
    ticket_id: UUID | None
    bar: SafeString


@dataclass(frozen=True)
class Gap:
    """Stations that no ticket covers until the finish, as the page lists and an address names them."""

    from_m: float
    to_m: float
    name: str


@dataclass(frozen=True)
class CoverRows:
    """All rows of a bore's cover."""

    sheet: CoverageSheet
    now: SafeString
    to_finish: SafeString
    tickets: list[TicketRow]
    gaps: list[Gap]


def cover_rows(states: list[BoreState]) -> Mapping[UUID, CoverRows]:
    """The rows of each bore that has figures, by its id; the tickets are looked up once for all."""
    sheets = {
        state.bore.pk: coverage_sheet(state.assessed.cover) for state in states if state.assessed is not None
    }
    jobs = {state.bore.pk: state.bore.job_id for state in states}
    numbers = {span.number for sheet in sheets.values() for span in sheet.spans}
    found = Ticket.objects.filter(job__in=set(jobs.values()), number__in=numbers)
    ids = {(job_id, number): key for key, job_id, number in found.values_list("pk", "job", "number")}
    return {bore_id: _rows(sheet, jobs[bore_id], ids) for bore_id, sheet in sheets.items()}


def _rows(sheet: CoverageSheet, job_id: UUID, ids: Mapping[tuple[UUID, str], UUID]) -> CoverRows:
    return CoverRows(
        sheet=sheet,
        now=_bar(sheet, sheet.gaps_now_m),
        to_finish=_bar(sheet, sheet.gaps_to_finish_m),
        tickets=[
            TicketRow(span, ids.get((job_id, span.number)), _drawn(sheet.length_m, span.covered_m, []))
            for span in sheet.spans
        ],
        gaps=[Gap(*one, gap_name(one)) for one in sheet.gaps_to_finish_m],
    )


def _bar(sheet: CoverageSheet, gaps_m: list[tuple[float, float]]) -> SafeString:
    return _drawn(sheet.length_m, without_ranges(sheet.length_m, gaps_m), gaps_m)


def _drawn(
    length_m: float, covered_m: list[tuple[float, float]], gaps_m: list[tuple[float, float]]
) -> SafeString:
    # Markup of ours: figures alone, no text of a record.
    return mark_safe(cover_bar(length_m, covered_m, gaps_m))  # noqa: S308
