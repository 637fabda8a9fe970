"""Tables out as a workbook for spreadsheets (Office Open XML, ISO/IEC 29500), a table a sheet."""

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from locates.exchange.csv_tables import FORMULA_STARTS

LONGEST_CELL = 32_767  # of the format
CUT_WORDS = " [cut here: a cell holds no more; the CSV file has all of it]"
WIDEST, NARROWEST = 60, 10  # characters


@dataclass(frozen=True)
class Sheet:
    """A table: the name of its sheet (31 characters at most), its columns and rows."""

    name: str
    columns: Sequence[str]
    rows: Iterable[Sequence[object]]


def write_xlsx(sheets: Sequence[Sheet], *, made_at: datetime) -> bytes:
    """Workbook with a sheet for each table, a header that stays in sight, and a filter over its columns.

    Numbers are numbers, text is text and never a formula: what a spreadsheet would run is marked as quoted,
    so that it stays text when its cell is edited. The caller words moments, since the format has no offset.
    """
    out = io.BytesIO()
    book = Workbook(
        out,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
        },
    )
    book.set_properties({"title": "Crosswatch", "created": made_at})
    bold, quoted = book.add_format({"bold": True}), book.add_format({"quote_prefix": True})
    for sheet in sheets:
        _fill(book.add_worksheet(sheet.name), sheet, bold, quoted)
    book.close()
    return out.getvalue()


def _fill(page: Worksheet, sheet: Sheet, bold: Format, quoted: Format) -> None:
    widths = [len(name) for name in sheet.columns]
    for place, name in enumerate(sheet.columns):
        page.write_string(0, place, name, bold)
    count = 0
    for count, row in enumerate(sheet.rows, start=1):
        for place, value in enumerate(row):
            _write(page, count, place, value, quoted)
            widths[place] = max(widths[place], len(str(value)) if value is not None else 0)
    for place, width in enumerate(widths):
        page.set_column(place, place, min(max(width + 2, NARROWEST), WIDEST))
    page.freeze_panes(1, 0)
    page.autofilter(0, 0, count, max(len(sheet.columns) - 1, 0))


def _write(page: Worksheet, row: int, place: int, value: object, quoted: Format) -> None:
    if value is None:
        return
    if isinstance(value, bool):
        page.write_string(row, place, "yes" if value else "no")
    elif isinstance(value, int | float):
        page.write_number(row, place, value)
    else:
        text = str(value)
        if len(text) > LONGEST_CELL:
            text = text[: LONGEST_CELL - len(CUT_WORDS)] + CUT_WORDS
        page.write_string(row, place, text, quoted if text.startswith(FORMULA_STARTS) else None)
