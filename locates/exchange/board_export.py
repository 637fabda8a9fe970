"""What the board shows, as a file: every row that fits, in its order."""

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.db.models import QuerySet

from locates.errors import NothingChosenError, TooManyRowsError
from locates.exchange.coordinate_systems import WGS_84_CODE
from locates.exchange.csv_tables import write_csv
from locates.exchange.gdal_process import ask_gdal
from locates.models.board_queries import MATTER_ORDERS, TICKET_ORDERS, BoardFilters, matters_of, standings_of
from locates.models.saved_view import BoardList

MOST_ROWS = 50_000
"""GDAL is given 25 s, and a request 30: as many rows take about a third of that."""

# The name of a column, and where its value stands. Moments are in UTC.
_OF_TICKET = (
    ("job", "job__name"),
    ("number", "ticket__number"),
    ("kind", "ticket__ticket_kind"),
    ("previous_number", "ticket__previous_number"),
    ("called_at", "ticket__called_at"),
    ("response_due_at", "ticket__response_due_at"),
    ("legal_start_at", "ticket__legal_start_at"),
    ("latest_start_at", "ticket__latest_start_at"),
    ("renew_by", "ticket__renew_by"),
    ("expires_at", "ticket__expires_at"),
    ("jurisdiction", "jurisdiction"),
    ("time_zone", "job__time_zone"),
)
_OF_MATTER = (
    ("matter", "matter"),
    ("due_at", "due_at"),
    ("state", "ticket__standing__state"),
    ("named_count", "ticket__standing__named_count"),
    ("awaited_count", "ticket__standing__awaited_count"),
    ("overdue_count", "ticket__standing__overdue_count"),
    *_OF_TICKET,
)
_OF_STANDING = (
    ("state", "state"),
    ("named_count", "named_count"),
    ("awaited_count", "awaited_count"),
    ("overdue_count", "overdue_count"),
    *_OF_TICKET,
)
_COUNTS = {"named_count", "awaited_count", "overdue_count"}


@dataclass(frozen=True)
class BoardFormat:
    """A format: the end of a file's name, its media type, and what writes names and rows, areas last."""

    label: str
    suffix: str
    media_type: str
    has_areas: bool
    write: Callable[[list[str], list[tuple[Any, ...]]], bytes]


def export_board(
    board_list: BoardList, filters: BoardFilters, order: str, chosen: BoardFormat
) -> tuple[str, bytes]:
    """Name and content of a file of all rows that fit, none left out.

    Raises `NothingChosenError` where none does, and `TooManyRowsError`.
    """
    if board_list == BoardList.MATTERS:
        found: QuerySet[Any] = matters_of(filters).order_by(*MATTER_ORDERS[order])
        columns = _OF_MATTER
    else:
        found = standings_of(filters).order_by(*TICKET_ORDERS[order])
        columns = _OF_STANDING
    places = [place for _, place in columns] + (["ticket__area"] if chosen.has_areas else [])
    rows = list(found.select_related(None).values_list(*places)[: MOST_ROWS + 1])
    if not rows:
        raise NothingChosenError
    if len(rows) > MOST_ROWS:
        raise TooManyRowsError(MOST_ROWS)
    content = chosen.write([name for name, _ in columns], rows)
    return f"tickets_{board_list}{chosen.suffix}", content


def _text(value: Any) -> Any:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value


def _csv(names: list[str], rows: list[tuple[Any, ...]]) -> bytes:
    return write_csv(names, ([_text(value) for value in row] for row in rows))


def _geopackage(names: list[str], rows: list[tuple[Any, ...]]) -> bytes:
    """One layer: the work area of every row with its values; a ticket of two matters lies there twice."""
    columns = []
    for place, name in enumerate(names):
        values = [_text(row[place]) for row in rows]
        columns.append(("number", [float(one) for one in values]) if name in _COUNTS else ("text", values))
    request = {
        "driver": "GPKG",
        "file": "tickets.gpkg",
        "layer": "tickets",
        "shapes": [row[-1].wkb.hex() for row in rows],
        "columns": names,
        "values": columns,
        "geometry_type": "MultiPolygon",
        "crs": f"EPSG:{WGS_84_CODE}",
        "dataset_options": {},
        "layer_options": {},
    }
    with tempfile.TemporaryDirectory(prefix="board-") as folder:
        (name,) = ask_gdal("write", request, Path(folder))["files"]
        return (Path(folder) / name).read_bytes()


FORMATS = {
    "csv": BoardFormat("CSV", ".csv", "text/csv; charset=utf-8", has_areas=False, write=_csv),
    "gpkg": BoardFormat(
        "GeoPackage", ".gpkg", "application/geopackage+sqlite3", has_areas=True, write=_geopackage
    ),
}
