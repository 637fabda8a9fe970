"""CSV in and out: text, a header, one thing a row."""

import csv
import io
from collections.abc import Iterable, Sequence

from locates.exchange.upload_guard import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_table import Row, Table

HEADER_ROW = 1  # spreadsheets count it so
_DELIMITERS = (",", ";", "\t", "|")
# What a spreadsheet takes for a formula, where it is no number.
FORMULA_STARTS = ("=", "@", "+", "-", "\t", "\r")


def read_csv(raw: bytes) -> Table:
    """Table of a CSV file in UTF-8 or, as older field programs write it, Windows' Latin."""
    text = _text(raw)
    if "\x00" in text:
        raise VectorFileError("NUL characters", "a CSV file of text")
    lines = io.StringIO(text, newline="")
    header_line = lines.readline()
    delimiter = max(_DELIMITERS, key=header_line.count)
    lines.seek(0)
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    try:
        columns = _header(next(reader, []))
        rows = tuple(_rows(reader, len(columns)))
    except csv.Error as error:
        raise VectorFileError(
            f"CSV that breaks off at line {reader.line_num} ({error})", "sound CSV"
        ) from error
    if not rows:
        raise VectorFileError("a header without rows", "at least one row below the header")
    return Table(name="", columns=columns, rows=rows, row_word="row", has_shapes=False)


def write_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """CSV in UTF-8 with a header; text that a spreadsheet would run as a formula is disarmed."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return out.getvalue().encode()


def _text(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")


def _header(cells: list[str]) -> tuple[str, ...]:
    names = tuple(cell.strip() for cell in cells)
    if not any(names):
        raise VectorFileError("no header", "a first row with the names of the columns")
    if len(names) > MOST_COLUMNS:
        raise VectorFileError(f"{len(names)} columns", f"at most {MOST_COLUMNS}")
    named = tuple(name or f"column {place}" for place, name in enumerate(names, start=1))
    doubled = sorted({name for name in named if named.count(name) > 1})
    if doubled:
        raise VectorFileError(f"two columns named {doubled[0][:60]}", "each name once in the header")
    return named


def _rows(reader: Iterable[list[str]], width: int) -> Iterable[Row]:
    kept = 0
    for number, cells in enumerate(reader, start=HEADER_ROW + 1):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            raise VectorFileError(f"{len(cells)} values in row {number}", f"{width}, as the header has names")
        longest = max(map(len, cells))
        if longest > LONGEST_CELL:
            raise VectorFileError(
                f"{longest} characters in a cell of row {number}", f"at most {LONGEST_CELL}"
            )
        kept += 1
        if kept > MOST_ROWS:
            raise VectorFileError("too many rows", f"at most {MOST_ROWS:,}")
        padded = [*cells, *[""] * (width - len(cells))][:width]
        yield Row(number, tuple(_value(cell) for cell in padded))


def _value(cell: str) -> str | None:
    text = cell.strip()
    # What `write_csv` disarmed.
    return (text[1:] if text[:1] == "'" and text[1:2] in FORMULA_STARTS else text) or None


def _cell(value: object) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    return value
