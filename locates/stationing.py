"""Lines of a job along which places are given as station and offset.

The lines that are bored belong to a package which this one does not know: it registers who knows them, as
with `locates.changes`.
"""

from collections.abc import Callable, Sequence
from typing import NamedTuple
from uuid import UUID

from locates.exchange.typed_positions import Position
from locates.exchange.typed_stations import StationAndOffset, read_stations
from locates.models import Job


class StationedLine(NamedTuple):
    """A line of a job that has stations."""

    id: UUID
    name: str


class Stationing(NamedTuple):
    """Who knows such lines: ``lines_of`` a job, and ``places_on`` one of them.

    ``places_on`` takes the line's id and its places, each with the number of the line of text in which it
    stands; it raises `PositionError` for a place that is not beside it.
    """

    lines_of: Callable[[UUID], list[StationedLine]]
    places_on: Callable[[UUID, Sequence[tuple[int, StationAndOffset]]], list[Position]]


_known: list[Stationing] = []


def on_stationing(stationing: Stationing) -> None:
    """Register who knows lines with stations; twice is once."""
    if stationing not in _known:
        _known.append(stationing)


def stationed_lines(job: Job) -> list[StationedLine]:
    """Every line of a job that has stations."""
    return [line for one in _known for line in one.lines_of(job.pk)]


def places_along(job: Job, line_id: UUID, text: str) -> list[Position]:
    """Longitude and latitude of the stations and offsets that a person typed, in their order.

    Raises `PositionError`, also where the line is none of the job.
    """
    stations = read_stations(text, job.show_units)
    for one in _known:
        if any(line.id == line_id for line in one.lines_of(job.pk)):
            return one.places_on(line_id, stations)
    return []
