"""The audit as files: a part as CSV, or every part as the sheets of a workbook, all rows that fit."""

from datetime import UTC, datetime
from typing import Any

from conflicts.audit.columns import file_cells
from conflicts.audit.parts import BY_CODE, SECTIONS
from conflicts.audit.sections import Section
from conflicts.models.audit_filters import AuditFilters
from locates.errors import NothingChosenError, PartError, TooManyRowsError
from locates.exchange.csv_tables import write_csv
from locates.exchange.xlsx_sheets import Sheet, write_xlsx

MOST_ROWS = 20_000
"""Of one part in one file: about a third of the 30 s that a request has."""

BOOK_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

CAUTION = (
    "It shows what was written down; it does not prove what happened. "
    "Legal duties are those of the law of the place."
)


def export_section(filters: AuditFilters, code: str, at: datetime) -> tuple[str, bytes]:
    """Name and content of a CSV file of one part; of the first where none is named.

    Raises `PartError` for a part that there is not, `NothingChosenError` where no row fits, and
    `TooManyRowsError`.
    """
    section = BY_CODE.get(code or SECTIONS[0].code)
    if section is None:
        raise PartError(code, list(BY_CODE))
    rows = _rows(section, filters)
    if not rows:
        raise NothingChosenError
    return f"audit_{section.code}_{_stamp(at)}.csv", write_csv(_names(section), rows)


def export_book(filters: AuditFilters, at: datetime) -> tuple[str, bytes]:
    """Name and content of a workbook of every part, and of what was chosen and when.

    Raises `NothingChosenError` where no row of any part fits, and `TooManyRowsError`.
    """
    sheets = [Sheet(one.code, _names(one), _rows(one, filters)) for one in SECTIONS]
    if not any(sheet.rows for sheet in sheets):
        raise NothingChosenError
    return f"audit_{_stamp(at)}.xlsx", write_xlsx([_about(filters, at), *sheets], made_at=at)


def _about(filters: AuditFilters, at: datetime) -> Sheet:
    chosen = {
        "job": filters.job,
        "bore": filters.bore,
        "crossing": filters.mark_ref,
        "person": filters.person,
        "from (day at the job)": filters.day_from,
        "until (day at the job)": filters.day_to,
        "verdict": filters.verdict,
    }
    rows = [("made_at", at.astimezone(UTC).isoformat()), ("caution", CAUTION)]
    rows += [(name, str(value) if value else "all") for name, value in chosen.items()]
    rows += [(f"sheet {one.code}", f"{one.title}. {one.words} {one.days}") for one in SECTIONS]
    return Sheet("about", ("what", "value"), rows)


def _names(section: Section) -> list[str]:
    return [one.name for one in section.columns]


def _rows(section: Section, filters: AuditFilters) -> list[list[Any]]:
    found = section.rows(filters, None, MOST_ROWS + 1)
    if len(found) > MOST_ROWS:
        raise TooManyRowsError(MOST_ROWS)
    return [file_cells(section.columns, row, section.look_of(row)) for row in found]


def _stamp(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y%m%dT%H%M}Z"
