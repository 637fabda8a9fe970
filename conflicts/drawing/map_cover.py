"""The stretches of the bores on a map that no ticket in force covers until the planned finish."""

from datetime import datetime

import shapely
from shapely.ops import substring

from conflicts.drawing import map_words
from conflicts.drawing.map_coordinates import MapGrid
from conflicts.drawing.map_input import MapBore, MapRecords
from conflicts.engine.coverage import uncovered_stations, united_area
from conflicts.engine.frame import FloatArray
from conflicts.ticket_check import lasts


def uncovered_stretches(
    records: MapRecords, plans_m: list[FloatArray], grid: MapGrid, at: datetime
) -> list[tuple[int, str, FloatArray]]:
    """Each stretch with the place of its bore in the list, its words, and its line.

    Parameters
    ----------
    records : MapRecords
    plans_m : list of (n, 2) float arrays
        Each bore in plan, in metres of the grid's frame.
    grid : MapGrid
    at : datetime
        The moment from which tickets have to be in force.

    Returns
    -------
    list of (int, str, (n, 2) float array)
        Only of the map's own bore, where it is the map of one.
    """
    areas = [_in_frame(ticket.shape, grid) for ticket in records.tickets]
    found = []
    for index, (bore, plan_m) in enumerate(zip(records.bores, plans_m, strict=True)):
        if records.bore_id not in (None, bore.bore_id):
            continue
        line = shapely.LineString(plan_m)
        for low, high in _gaps(records, bore, areas, plan_m, at):
            stretch = substring(line, low, high)
            words = map_words.uncovered_words(low, high, bore, records.job, at)
            found.append((index, words, shapely.get_coordinates(stretch)))
    return found


def _gaps(
    records: MapRecords, bore: MapBore, areas: list[shapely.Geometry], plan_m: FloatArray, at: datetime
) -> list[tuple[float, float]]:
    lasting = [
        area for ticket, area in zip(records.tickets, areas, strict=True) if lasts(ticket, at, bore.finish_at)
    ]
    return uncovered_stations(plan_m, united_area(lasting))


def _in_frame(area: shapely.Geometry, grid: MapGrid) -> shapely.Geometry:
    return shapely.transform(area, lambda lon_lat: grid.frame.to_ground(lon_lat[:, 0], lon_lat[:, 1]))
