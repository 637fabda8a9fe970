"""DESIGN.md's "A line underground" and "The clearance of a crossing" by brute force.

Written from those two sections alone: dense samples of the bore's station, broadcast over the line's pieces,
refined by scipy's scalar minimiser. Nothing of conflicts.engine is imported.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from scipy.optimize import brentq, minimize_scalar
from shapely.ops import substring

from tests.engine.cases import Case

# Nearer than this the centre lines touch: rounding leaves no direction between their nearest points.
TOUCHES_M = 1e-6
COARSE_M = 0.01
FINE_M = 0.001


@dataclass(frozen=True)
class Underground:
    """The line's centre, its distance along itself in plan, and that of each found hole with its error."""

    points_m: np.ndarray
    along_m: np.ndarray
    hole_along_m: np.ndarray
    hole_errors_m: np.ndarray


def underground(case: Case) -> Underground:
    """The mark as its found holes move it, with elevations where there are any."""
    mark = shapely.LineString(case.mark_m) if len(set(case.mark_m)) > 1 else None
    along_mark = [
        0.0 if mark is None else mark.project(shapely.Point(h.east_m, h.north_m)) for h in case.holes
    ]
    order = sorted(range(len(case.holes)), key=along_mark.__getitem__)
    rows: list[tuple[float, float, float, int]] = []

    def keep_mark(low_m: float, high_m: float) -> None:
        part = shapely.get_coordinates(substring(mark, low_m, high_m))
        steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(part, axis=0), axis=1))])
        rows.extend((east, north, low_m + step, -1) for (east, north), step in zip(part, steps, strict=True))

    if mark is None and not case.holes:
        rows.append((*case.mark_m[0], 0.0, -1))
    elif not case.holes:
        keep_mark(0.0, mark.length)
    for place, number in enumerate(order):
        at = along_mark[number]
        if mark is not None:
            before = along_mark[order[place - 1]] if place else None
            if before is None:
                keep_mark(0.0, max(0.0, at - case.reach_m))
            elif at - before >= 2.0 * case.reach_m:
                keep_mark(before + case.reach_m, at - case.reach_m)
        rows.append((case.holes[number].east_m, case.holes[number].north_m, at, number))
    if mark is not None and order:
        keep_mark(min(mark.length, along_mark[order[-1]] + case.reach_m), mark.length)
    # A vertex of the mark on which a hole beside it lies is that hole.
    near = [{other[:2] for other in rows[max(0, k - 1) : k + 2] if other[3] >= 0} for k in range(len(rows))]
    rows = [row for row, holes in zip(rows, near, strict=True) if row[3] >= 0 or row[:2] not in holes]
    plan = np.array([row[:2] for row in rows])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(plan, axis=0), axis=1))])
    is_hole = np.array([row[3] >= 0 for row in rows])
    half_height_m = (case.width_m if case.height_m is None else case.height_m) / 2
    centres = np.full(len(rows), np.nan)
    if order:
        tops = [case.holes[number].top_m for number in order]
        centres = np.interp([row[2] for row in rows], [along_mark[number] for number in order], tops)
        centres[is_hole] = tops
        centres = centres - half_height_m
    errors = np.array([case.holes[number].error_m for number in order])
    return Underground(np.column_stack([plan, centres]), along, along[is_hole], errors)


@dataclass(frozen=True)
class Bore:
    """The bore's centre line, straight between its plan and its profile vertices."""

    stations_m: np.ndarray
    points_m: np.ndarray

    def at(self, stations_m: np.ndarray) -> np.ndarray:
        return np.column_stack(
            [np.interp(stations_m, self.stations_m, self.points_m[:, k]) for k in range(3)]
        )


def bore_of(case: Case) -> Bore:
    plan = np.array(case.bore_plan_m)
    corners = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(plan, axis=0), axis=1))])
    stations, elevations = np.array(case.profile_m).T
    inner = stations[(stations > 0.0) & (stations < corners[-1])]
    both = np.unique(np.concatenate([corners, inner]))
    at = [np.interp(both, corners, plan[:, k]) for k in range(2)]
    return Bore(both, np.column_stack([*at, np.interp(both, stations, elevations)]))


def nearest(points_m: np.ndarray, line_m: np.ndarray, along_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """From each point to the line's point nearest to it, and how far along the line that is."""
    start, end = (line_m, line_m) if len(line_m) == 1 else (line_m[:-1], line_m[1:])
    low, high = (along_m, along_m) if len(line_m) == 1 else (along_m[:-1], along_m[1:])
    step = end - start
    squared = (step**2).sum(axis=1)
    reached = ((points_m[:, None] - start) * step).sum(axis=2)
    share = np.clip(np.divide(reached, squared, out=np.zeros_like(reached), where=squared > 0), 0, 1)
    vectors = start + share[:, :, None] * step - points_m[:, None]
    best = (vectors**2).sum(axis=2).argmin(axis=1)
    rows = np.arange(len(points_m))
    return vectors[rows, best], low[best] + share[rows, best] * (high - low)[best]


@dataclass(frozen=True)
class Oracle:
    """The brute-force answer to a case."""

    case: Case

    @cached_property
    def line(self) -> Underground:
        return underground(self.case)

    @cached_property
    def bore(self) -> Bore:
        return bore_of(self.case)

    @property
    def zone_m(self) -> float:
        return self.case.tolerance_m + self.case.bore_radius_m + self.case.width_m / 2

    @property
    def radii_m(self) -> float:
        case = self.case
        around = case.width_m if case.height_m is None else np.hypot(case.width_m, case.height_m)
        return case.bore_radius_m + around / 2

    def plan_m(self, stations_m: np.ndarray) -> np.ndarray:
        """d(s)."""
        stations_m = np.atleast_1d(stations_m)
        vectors, _ = nearest(self.bore.at(stations_m)[:, :2], self.line.points_m[:, :2], self.line.along_m)
        return np.linalg.norm(vectors, axis=1)

    def space_m(self, stations_m: np.ndarray) -> np.ndarray:
        """Distance in three dimensions from the bore's point to the line."""
        stations_m = np.atleast_1d(stations_m)
        vectors, _ = nearest(self.bore.at(stations_m), self.line.points_m, self.line.along_m)
        return np.linalg.norm(vectors, axis=1)

    def samples(self, low_m: float, high_m: float, step_m: float) -> np.ndarray:
        """Stations no farther apart than a step, with both ends and the bore's vertices."""
        even = np.linspace(low_m, high_m, int(np.ceil((high_m - low_m) / step_m)) + 2)
        inner = self.bore.stations_m[(self.bore.stations_m > low_m) & (self.bore.stations_m < high_m)]
        return np.unique(np.concatenate([even, inner]))

    def is_on_an_edge(self) -> bool:
        """Whether d(s) turns, or the bore ends, so near the zone that samples may miss an extent."""
        off = self.plan_m(self.samples(0.0, self.bore.stations_m[-1], COARSE_M)) - self.zone_m
        turns = np.concatenate([[True], np.diff(off)[:-1] * np.diff(off)[1:] <= 0.0, [True]])
        return bool((np.abs(off[turns]) <= 2 * COARSE_M).any())

    def extents_m(self) -> list[tuple[float, float]]:
        """Intervals with d(s) within the zone: between sampled changes of sign, each solved for."""
        stations = self.samples(0.0, self.bore.stations_m[-1], COARSE_M)
        inside = self.plan_m(stations) <= self.zone_m
        edges = [stations[0]] if inside[0] else []
        for k in np.flatnonzero(inside[1:] != inside[:-1]):
            edges.append(brentq(self._off_edge_m, stations[k], stations[k + 1], xtol=1e-12))
        edges += [stations[-1]] if inside[-1] else []
        return list(zip(edges[::2], edges[1::2], strict=True))

    def _off_edge_m(self, station_m: float) -> float:
        return float(self.plan_m(station_m)[0]) - self.zone_m

    def least_m(self, measure, low_m: float, high_m: float) -> float:
        """Least of a function of station, sampled and then minimised about its lowest samples."""
        stations = self.samples(low_m, high_m, FINE_M)
        values = measure(stations)
        beside = np.concatenate([[np.inf], values, [np.inf]])
        dips = np.flatnonzero((values <= beside[:-2]) & (values <= beside[2:]))
        least = values.min()
        for k in dips[np.argsort(values[dips])][:10]:
            sides = (stations[max(0, k - 1)], stations[min(len(stations) - 1, k + 1)])
            one = minimize_scalar(measure, bounds=sides, method="bounded", options={"xatol": 1e-12})
            least = min(least, float(np.min(one.fun)))
        return float(least)

    def meetings(self, low_m: float, high_m: float) -> list[tuple[float, float]]:
        """Where the centre lines cross in plan within an extent: station, and rise from line to bore."""
        found = []
        bore, line = self.bore, self.line.points_m
        for i in range(len(bore.stations_m) - 1):
            for j in range(len(line) - 1):
                ahead, across = bore.points_m[i + 1] - bore.points_m[i], line[j + 1] - line[j]
                sides = np.column_stack([ahead[:2], -across[:2]])
                if np.linalg.cond(sides) > 1e9:
                    continue
                s, t = np.linalg.solve(sides, line[j, :2] - bore.points_m[i, :2])
                station = bore.stations_m[i] + s * (bore.stations_m[i + 1] - bore.stations_m[i])
                if (
                    -1e-9 <= s <= 1 + 1e-9
                    and -1e-9 <= t <= 1 + 1e-9
                    and low_m - 1e-9 <= station <= high_m + 1e-9
                ):
                    rise = bore.at(np.array([station]))[0, 2] - line[j, 2] - t * (line[j + 1, 2] - line[j, 2])
                    found.append((float(station), float(rise)))
        return found

    def losses(self, stations_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """`worst_case_m` and `likely_m` of each bore point by itself."""
        case, line = self.case, self.line
        vectors, along = nearest(self.bore.at(stations_m), line.points_m, line.along_m)
        away = np.abs(along[:, None] - line.hole_along_m)
        gap = away.min(axis=1)
        # Of two holes equally near the one with the greater error counts.
        error = np.where(away <= gap[:, None] + 1e-9, line.hole_errors_m, 0.0).max(axis=1)
        beyond = case.tolerance_m if case.accuracy_m is None else case.accuracy_m
        line_h = np.where(gap <= case.reach_m + 1e-9, error, beyond)
        line_v = error + case.slope_ratio * gap
        distance = np.linalg.norm(vectors, axis=1)
        level = np.linalg.norm(vectors[:, :2], axis=1) / np.maximum(distance, 1e-300)
        plumb = np.abs(vectors[:, 2]) / np.maximum(distance, 1e-300)
        all_h, all_v = case.bore_horizontal_m + line_h, case.bore_vertical_m + line_v
        loss = np.where(distance > TOUCHES_M, all_h * level + all_v * plumb, np.hypot(all_h, all_v))
        squares = (case.bore_horizontal_m**2 + line_h**2) * level**2
        squares = squares + (case.bore_vertical_m**2 + line_v**2) * plumb**2
        return distance - self.radii_m - loss, distance - self.radii_m - np.sqrt(squares)

    def is_exposed(self, point_m: np.ndarray, low_m: float, high_m: float, kind: str) -> bool:
        """A hole within reach of the crossing point, and holes along the stretch as the rule asks.

        Alongside, a hole that is as near to the bore as that point, to 1.5 mm, is at a nearest point itself.
        """
        case = self.case
        reached = any(np.hypot(*(point_m - (h.east_m, h.north_m))) <= case.reach_m + 1e-9 for h in case.holes)
        stations = self.samples(low_m, high_m, FINE_M)
        if kind == "alongside":
            bore = shapely.LineString(self.bore.at(stations)[:, :2])
            least_m = shapely.distance(bore, shapely.Point(point_m))
            places = shapely.points([(hole.east_m, hole.north_m) for hole in case.holes])
            reached = reached or bool((shapely.distance(bore, places) <= least_m + 0.0015).any())
        _, along = nearest(self.bore.at(stations)[:, :2], self.line.points_m[:, :2], self.line.along_m)
        if not reached or along.max() - along.min() <= case.spacing_m:
            return reached
        every = np.linspace(along.min(), along.max(), 5000)
        return bool(np.abs(every[:, None] - self.line.hole_along_m).min(axis=1).max() <= case.spacing_m / 2)
