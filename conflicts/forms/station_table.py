"""A small table of stations and of depths or elevations, as one field of a form."""

from dataclasses import dataclass
from typing import Any, NamedTuple

from conflicts.alignment import is_at_end
from conflicts.forms.table_boxes import BETWEEN, TableBoxes, with_spare
from locates.errors import LengthError
from locates.forms.shown_back import ShownBackField
from locates.units import format_length, format_station, parse_length_m, parse_station_m

END = "end"


class Stored(NamedTuple):
    """Stations and values as they are stored, with the length of the alignment that the last may end at."""

    stations_m: list[float]
    values_m: list[float]
    length_m: float | None


class Line(NamedTuple):
    """A line of the table as texts, with its number in the names of its boxes."""

    number: int
    station: str
    value: str


@dataclass(frozen=True)
class Vertex:
    """A line of the table as it was read; ``typed_at`` is its place among the typed ones."""

    station_m: float
    value_m: float
    typed_at: int


class TableError(ValueError):
    """A line of the table that cannot be read; its words say which."""


class StationTable(TableBoxes):
    """A station and a value a line."""

    parts = ("station", "value")


class StationTableField(ShownBackField):
    """A table whose lines are read by the form that knows the alignment; see `vertices_of`."""

    widget = StationTable
    refused_as = LengthError

    def __init__(self, *, has_end: bool = False, **kwargs: Any) -> None:
        super().__init__(required=False, strip=False, **kwargs)
        self.has_end = has_end

    def shown(self, value: Stored) -> str:
        """A line for each station; the last one of an alignment that it ends is called the end."""
        return "\n".join(self._lines_of(value))

    def read(self, text: str) -> str:
        """The text as it is."""
        return text

    def lines_of(self, text: str) -> list[Line]:
        """Lines for the page, with some to spare."""
        lines = enumerate(with_spare(text.splitlines()))
        return [Line(number, *line.partition(BETWEEN)[::2]) for number, line in lines]

    def vertices_of(
        self, text: str, stored: Stored, length_m: float | None
    ) -> tuple[list[Vertex], list[str]]:
        """Vertices by station and what is wrong with lines; what is as it was shown stays to the last digit.

        ``length_m`` is that of the alignment as it is typed now, at which a line called the end stands.
        """
        was = self._was(stored, length_m)
        vertices, errors = [], []
        for place, line in enumerate(text.splitlines()):
            station, _, value = line.partition(BETWEEN)
            try:
                station_m, value_m = was.get(line) or (
                    self._station_m(station, was, length_m),
                    parse_length_m(value),
                )
            except (LengthError, TableError) as error:
                errors.append(f"Line {place + 1}: {error}.")
            else:
                vertices.append(Vertex(station_m, value_m, place))
        return sorted(vertices, key=lambda vertex: vertex.station_m), errors

    def _was(self, stored: Stored, length_m: float | None) -> dict[str, tuple[float, float]]:
        """Stored figures by the line that showed them, and by its station where that alone tells it."""
        lines = self._lines_of(stored)
        figures = dict(zip(lines, zip(stored.stations_m, stored.values_m, strict=True), strict=True))
        stations = [line.partition(BETWEEN)[0] for line in lines]
        alone = {
            station: figures[line]
            for station, line in zip(stations, lines, strict=True)
            if stations.count(station) == 1
        }
        has_moved = length_m != stored.length_m
        return {key: was for key, was in (figures | alone).items() if not (has_moved and key.startswith(END))}

    def _station_m(self, station: str, was: dict[str, tuple[float, float]], length_m: float | None) -> float:
        if station in was:
            return was[station][0]
        if self.has_end and station.lower() == END:
            return self._end_m(length_m)
        return parse_station_m(station, self.show_units)

    def _end_m(self, length_m: float | None) -> float:
        if length_m is None:
            raise TableError("where the end is stands once the alignment is given")
        return length_m

    def _lines_of(self, value: Stored) -> list[str]:
        last = len(value.stations_m) - 1
        lines = []
        for place, (station_m, value_m) in enumerate(zip(value.stations_m, value.values_m, strict=True)):
            is_end = (
                self.has_end
                and place == last
                and value.length_m is not None
                and is_at_end(station_m, value.length_m)
            )
            station = END if is_end else format_station(station_m, self.show_units)
            lines.append(f"{station}{BETWEEN}{format_length(value_m, self.show_units)}")
        return lines
