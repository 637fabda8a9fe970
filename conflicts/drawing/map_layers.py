"""The map of a job or of a bore as one compact document: tables of rows, coordinates as `map_coordinates`.

Each table has the names of its columns and its rows. A coordinate column holds one list of steps for a point
or line, a list of them for a polygon's rings.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

import numpy as np
import shapely

from conflicts.drawing import map_words
from conflicts.drawing.map_coordinates import MapGrid
from conflicts.drawing.map_cover import uncovered_stretches
from conflicts.drawing.map_input import (
    MapBore,
    MapFeature,
    MapHole,
    MapLinework,
    MapPit,
    MapRecords,
    MapTicket,
)
from conflicts.drawing.map_lines import plan_lines, stretches_away, tolerance_zones
from conflicts.engine.frame import FloatArray, chainages_m, frame_about
from conflicts.surface_check import is_explained
from locates.units import METRES_PER_FOOT, format_station

SCHEMA_VERSION = 1
# Stations are ticked every 50 ft or every 10 m.
TICK_M = {"feet": 50.0 * METRES_PER_FOOT, "metric": 10.0}
# Each tick is sent as the point on the bore and one to the left of it, which gives its direction.
TICK_ARM_M = 1.0
# How far the drawn line of a bore may leave its plan: less than the width of a drawn line at any zoom.
DRAWN_M = 0.005
# Half the side of the square over which metres to a degree are taken: 11 m, where both are linear.
SCALE_STEP_DEG = 1e-4

Table = dict[str, Any]


Placed = TypeVar("Placed", MapHole, MapFeature, MapTicket, MapLinework, MapBore, MapPit)


def map_document(records: MapRecords, at: datetime) -> dict[str, Any]:
    """The map's document.

    Parameters
    ----------
    records : MapRecords
    at : datetime
        The moment at which tickets are in force or not.

    Returns
    -------
    dict
        ``origin`` is None where the job has nothing that could be drawn.
    """
    job = records.job
    head = {
        "schema_version": SCHEMA_VERSION,
        "job": job.name,
        "bore": None if records.bore_id is None else str(records.bore_id),
        "show_units": job.show_units,
        "tolerance": map_words.tolerance_words(job),
        "facilities": records.facilities,
    }
    shapes = records.shapes()
    if not shapes:
        return {**head, "origin": None}
    about = [bore.shape for bore in records.bores] or shapes
    frame = frame_about([shapely.get_coordinates(about)], job.mean_height_m)
    grid = MapGrid(frame)
    return {
        **head,
        "origin": grid.origin,
        "metres_per_degree": _metres_per_degree(grid),
        "marks": _marks(records, grid),
        "test_holes": _test_holes(records, grid),
        "surface_features": _features(records, grid),
        "tickets": _tickets(records, grid, at),
        "linework": _linework(records, grid),
        "bores": _bores(records, grid),
        "pits": _pits(records, grid),
        "crossings": _crossings(records, grid),
        "uncovered": _uncovered(records, grid, at),
        "drilled": _drilled(records, grid),
        "drilled_crossings": _drilled_crossings(records, grid),
    }


def _table(columns: str, rows: Iterable[tuple[Any, ...]]) -> Table:
    return {"columns": columns.split(), "rows": [list(row) for row in rows]}


def _metres_per_degree(grid: MapGrid) -> list[float]:
    """Ground metres to a degree of longitude and of latitude in the middle of the map."""
    step = SCALE_STEP_DEG
    corners_m = grid.frame.to_ground(
        [_turned(grid.frame.longitude_deg - step), _turned(grid.frame.longitude_deg + step)],
        [grid.frame.latitude_deg - step, grid.frame.latitude_deg + step],
    )
    east, north = (corners_m[1] - corners_m[0]) / (2.0 * step)
    return [round(float(east), 3), round(float(north), 3)]


def _turned(longitude_deg: float) -> float:
    return (longitude_deg + 180.0) % 360.0 - 180.0


def _marks(records: MapRecords, grid: MapGrid) -> Table:
    """Each mark as painted, its stretches that test holes found elsewhere, and its zone if it has a width."""
    job, marks = records.job, records.marks
    codes = {value: index for index, (value, _, _) in enumerate(records.facilities)}
    lines = plan_lines(marks, records.holes, job, grid.frame)
    away = stretches_away(lines)
    found = iter(grid.ground_lines([part for parts in away for part in parts]))
    zones: list[Any] = [None] * len(marks)
    if job.tolerance_zone_m is not None:
        zones = grid.ground_polygons(tolerance_zones(lines, job.tolerance_zone_m))
    painted = grid.lines([mark.shape for mark in marks])
    return _table(
        "ref operator facility words depth_known painted found zone",
        (
            (
                mark.ref,
                mark.operator,
                codes[mark.facility_type],
                map_words.mark_words(mark, line, job.show_units),
                bool(line.found_in),
                steps,
                [next(found) for _ in parts],
                zone,
            )
            for mark, line, steps, parts, zone in zip(marks, lines, painted, away, zones, strict=True)
        ),
    )


def _points(records: list[Placed], grid: MapGrid) -> Iterable[tuple[Placed, list[int]]]:
    return zip(records, grid.lines([one.shape for one in records]), strict=True)


def _areas(records: list[Placed], grid: MapGrid) -> Iterable[tuple[Placed, list[list[int]]]]:
    return zip(records, grid.polygons([one.shape for one in records]), strict=True)


def _test_holes(records: MapRecords, grid: MapGrid) -> Table:
    units = records.job.show_units
    return _table(
        "ref found open label words at",
        (
            (
                hole.ref,
                hole.found,
                hole.is_open,
                map_words.hole_label(hole, units),
                map_words.hole_words(hole, units),
                steps,
            )
            for hole, steps in _points(records.holes, grid)
        ),
    )


def _features(records: MapRecords, grid: MapGrid) -> Table:
    codes = {value: index for index, (value, _, _) in enumerate(records.facilities)}
    rows = []
    for one, steps in _points(records.features, grid):
        explained = is_explained(one.facility_type, one.explained_by_type, one.signed_off_reason)
        words = map_words.feature_words(one, explained, records.job.show_units)
        rows.append((one.ref, codes[one.facility_type], explained, words, steps))
    return _table("ref facility explained words at", rows)


def _tickets(records: MapRecords, grid: MapGrid, at: datetime) -> Table:
    zone = records.job.time_zone
    return _table(
        "number in_force words area",
        (
            (one.number, one.is_in_force, map_words.ticket_words(one, at, zone), rings)
            for one, rings in _areas(records.tickets, grid)
        ),
    )


def _linework(records: MapRecords, grid: MapGrid) -> Table:
    """Lines and areas of the base: a line has one part, an area as many as it has rings."""
    areas = [one for one in records.linework if shapely.get_dimensions(one.shape) == 2]
    lines = [one for one in records.linework if shapely.get_dimensions(one.shape) == 1]
    drawn = [(one, False, [steps]) for one, steps in _points(lines, grid)]
    drawn += [(one, True, rings) for one, rings in _areas(areas, grid)]
    return _table(
        "feature_type label is_area parts",
        ((one.feature_type, one.label, is_area, parts) for one, is_area, parts in drawn),
    )


def _bores(records: MapRecords, grid: MapGrid) -> Table:
    units = records.job.show_units
    rows = []
    for bore in records.bores:
        plan_m = _plan_m(bore, grid)
        stations_m = chainages_m(plan_m)
        labels, arms_m = _ticks(plan_m, stations_m, units)
        drawn_m, drawn_stations_m = _drawn(plan_m)
        rows.append(
            (
                str(bore.bore_id),
                bore.name,
                bore.address,
                map_words.bore_words(bore, float(stations_m[-1]), units),
                bore.no_crossings_because,
                [round(station, 3) for station in drawn_stations_m.tolist()],
                *grid.ground_lines([drawn_m]),
                labels,
                grid.ground_lines(arms_m),
            )
        )
    return _table("id name address words no_crossings_because stations_m line tick_labels ticks", rows)


def _plan_m(bore: MapBore, grid: MapGrid) -> FloatArray:
    lon_lat = shapely.get_coordinates(bore.shape)
    return grid.frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])


def _drawn(plan_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The plan without vertices that nobody would see missing, and the station of each that is left."""
    line = shapely.LineString(plan_m)
    drawn_m = shapely.get_coordinates(shapely.simplify(line, DRAWN_M))
    return drawn_m, np.asarray(shapely.line_locate_point(line, shapely.points(drawn_m)))


def _ticks(plan_m: FloatArray, stations_m: FloatArray, show_units: str) -> tuple[list[str], list[FloatArray]]:
    """The label of each station that is ticked, and the tick: a point of the bore and one to its left."""
    places = np.arange(0.0, stations_m[-1], TICK_M[show_units])
    piece = np.clip(np.searchsorted(stations_m, places, side="right") - 1, 0, len(stations_m) - 2)
    ahead = np.diff(plan_m, axis=0)[piece]
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]]) / np.linalg.norm(ahead, axis=1)[:, None]
    at = np.column_stack([np.interp(places, stations_m, plan_m[:, axis]) for axis in range(2)])
    arms = [np.stack([point, point + TICK_ARM_M * side]) for point, side in zip(at, left, strict=True)]
    return [format_station(place, show_units).removesuffix(".0") for place in places.tolist()], arms


def _uncovered(records: MapRecords, grid: MapGrid, at: datetime) -> Table:
    plans_m = [_plan_m(bore, grid) for bore in records.bores]
    stretches = uncovered_stretches(records, plans_m, grid, at)
    lines = grid.ground_lines([line_m for _, _, line_m in stretches])
    return _table(
        "bore words line",
        ((index, words, steps) for (index, words, _), steps in zip(stretches, lines, strict=True)),
    )


def _drilled(records: MapRecords, grid: MapGrid) -> Table:
    rows_of_bores = {bore.bore_id: index for index, bore in enumerate(records.bores)}
    bands = iter(grid.polygons([one.band for one in records.drilled if one.band is not None]))
    lines = grid.lines([one.shape for one in records.drilled])
    return _table(
        "bore leg words line band",
        (
            (rows_of_bores[one.bore_id], one.leg, one.words, steps, None if one.band is None else next(bands))
            for one, steps in zip(records.drilled, lines, strict=True)
        ),
    )


def _pits(records: MapRecords, grid: MapGrid) -> Table:
    units = records.job.show_units
    names = {bore.bore_id: bore.name for bore in records.bores}
    return _table(
        "bore words area",
        (
            (names[pit.bore_id], map_words.pit_words(pit.end, pit.depth_m, units), rings)
            for pit, rings in _areas(records.pits, grid)
        ),
    )


def _crossings(records: MapRecords, grid: MapGrid) -> Table:
    """Crossings with a position; the table of a bore's page has them all."""
    rows_of_bores = {bore.bore_id: index for index, bore in enumerate(records.bores)}
    rows_of_marks: dict[UUID | None, int] = {mark.mark_id: index for index, mark in enumerate(records.marks)}
    placed = [
        (one, shapely.Point(one.longitude_deg, one.latitude_deg))
        for one in records.crossings
        if one.longitude_deg is not None and one.latitude_deg is not None
    ]
    return _table(
        "bore sequence verdict words address mark at",
        (
            (
                rows_of_bores[one.bore_id],
                one.sequence,
                one.verdict,
                map_words.crossing_words(one, records.job.show_units),
                one.address,
                rows_of_marks.get(one.mark_id),
                steps,
            )
            for (one, _), steps in zip(placed, grid.lines([point for _, point in placed]), strict=True)
        ),
    )


def _drilled_crossings(records: MapRecords, grid: MapGrid) -> Table:
    rows_of_bores = {bore.bore_id: index for index, bore in enumerate(records.bores)}
    rows_of_marks = {mark.mark_id: index for index, mark in enumerate(records.marks)}
    places = [shapely.Point(one.longitude_deg, one.latitude_deg) for one in records.drilled_crossings]
    return _table(
        "bore verdict alone words address mark at",
        (
            (
                rows_of_bores[one.bore_id],
                one.verdict,
                one.is_alone,
                map_words.drilled_crossing_words(one, records.job.show_units),
                one.address,
                rows_of_marks.get(one.mark_id),
                steps,
            )
            for one, steps in zip(records.drilled_crossings, grid.lines(places), strict=True)
        ),
    )
