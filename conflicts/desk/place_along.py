"""Places beside a bore, from station and offset to longitude and latitude, and back."""

from collections.abc import Sequence
from uuid import UUID

import numpy as np

from conflicts.engine.beside import beside_of, points_beside
from conflicts.engine.frame import frame_about
from conflicts.engine.path import END_STATION_M
from conflicts.models import Bore
from locates.errors import PositionError
from locates.exchange.typed_positions import Position
from locates.exchange.typed_stations import StationAndOffset
from locates.stationing import StationedLine, Stationing
from locates.units import format_length, format_station

FARTHEST_OFFSET_M = 100.0  # a street's width about a bore; more is a slip of the unit


def place_along(bore_id: UUID, stations: Sequence[tuple[int, StationAndOffset]]) -> list[Position]:
    """Places by station and offset, computed in the ground frame about the bore's alignment.

    Raises `PositionError`, with the number of the line, for a station that the bore does not have.
    """
    bore = Bore.objects.select_related("job").get(pk=bore_id)
    for number, (station_m, offset_m) in stations:
        _refuse_outside(bore, number, station_m, offset_m)
    positions = np.array(bore.alignment.coords)
    frame = frame_about([positions], bore.job.mean_height_m)
    stations_m, offsets_m = np.array([place for _, place in stations], dtype=float).reshape(-1, 2).T
    alignment_m = frame.to_ground(positions[:, 0], positions[:, 1])
    places_m = points_beside(alignment_m, stations_m, offsets_m)
    return [(float(longitude), float(latitude)) for longitude, latitude in frame.to_geographic(places_m)]


def station_and_offset(bore: Bore, position: Position) -> StationAndOffset:
    """Station and offset of a longitude and a latitude, along the alignment of a bore read with its job."""
    positions = np.array(bore.alignment.coords)
    frame = frame_about([positions], bore.job.mean_height_m)
    [point_m] = frame.to_ground(*np.array([position]).T)
    return beside_of(frame.to_ground(positions[:, 0], positions[:, 1]), point_m)


def bores_with_stations(job_id: UUID) -> list[StationedLine]:
    """The bores of a job, by name."""
    return [
        StationedLine(*row)
        for row in Bore.objects.filter(job_id=job_id).order_by("name").values_list("pk", "name")
    ]


BORE_STATIONING = Stationing(bores_with_stations, place_along)


def _refuse_outside(bore: Bore, number: int, station_m: float, offset_m: float) -> None:
    units = bore.job.show_units
    if station_m > bore.alignment_length_m + END_STATION_M or station_m < 0:
        first, last = format_station(0.0, units), format_station(bore.alignment_length_m, units)
        raise PositionError(
            number, f"station {format_station(station_m, units)}", f"{first} to {last}, the end of {bore}"
        )
    if abs(offset_m) > FARTHEST_OFFSET_M:
        most = format_length(FARTHEST_OFFSET_M, units)
        raise PositionError(number, f"an offset of {format_length(abs(offset_m), units)}", f"{most} at most")
