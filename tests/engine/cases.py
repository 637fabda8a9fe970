"""One bore and one line as plain figures, random ones of them, and what the engine answers."""

from dataclasses import dataclass, replace

import numpy as np
import shapely
from hypothesis import strategies as st

from conflicts.engine.clearance import Allowances, Clearance, clearances
from conflicts.engine.exposure import Exposure, exposure
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import BuriedLine, FoundHoles, LineSize, buried_line
from conflicts.engine.path import BorePath, path_of_profile


@dataclass(frozen=True)
class Hole:
    """A test hole that found the line."""

    east_m: float
    north_m: float
    top_m: float
    error_m: float = 0.03


@dataclass(frozen=True)
class Case:
    """A bore 0.25 m wide under a street, and one line."""

    bore_plan_m: tuple[tuple[float, float], ...] = ((0.0, 0.0), (40.0, 0.0))
    profile_m: tuple[tuple[float, float], ...] = ((0.0, -3.0), (40.0, -3.0))
    bore_radius_m: float = 0.125
    mark_m: tuple[tuple[float, float], ...] = ((20.0, -10.0), (20.0, 10.0))
    holes: tuple[Hole, ...] = ()
    width_m: float = 0.2
    height_m: float | None = None
    tolerance_m: float = 0.6
    reach_m: float = 0.6
    spacing_m: float = 30.48
    accuracy_m: float | None = None
    bore_horizontal_m: float = 0.30
    bore_vertical_m: float = 0.15
    slope_ratio: float = 0.01

    def but(self, **changes) -> "Case":
        """The same with some figures changed."""
        return replace(self, **changes)


@dataclass(frozen=True)
class Answer:
    """What the engine makes of a case."""

    path: BorePath
    line: BuriedLine
    found: list[Clearance]
    exposures: list[Exposure]


def hole_positions_m(case: Case) -> FloatArray:
    return np.array([(hole.east_m, hole.north_m) for hole in case.holes]).reshape(-1, 2)


def line_of(case: Case) -> BuriedLine:
    holes = FoundHoles(
        hole_positions_m(case),
        np.array([hole.top_m for hole in case.holes]),
        np.array([hole.error_m for hole in case.holes]),
    )
    height_m = case.width_m if case.height_m is None else case.height_m
    size = LineSize(case.width_m, height_m, is_duct_bank=case.height_m is not None, is_assumed=False)
    return buried_line(np.array(case.mark_m), holes, size, case.reach_m)


def ask(case: Case) -> Answer:
    stations, elevations = np.array(case.profile_m).T
    path = path_of_profile(np.array(case.bore_plan_m), stations, elevations)
    line = line_of(case)
    allowances = Allowances(
        tolerance_zone_m=case.tolerance_m,
        reach_m=case.reach_m,
        bore_horizontal_m=case.bore_horizontal_m,
        bore_vertical_m=case.bore_vertical_m,
        slope_ratio=case.slope_ratio,
    )
    found = clearances(path, case.bore_radius_m, line, allowances, case.accuracy_m)
    holes = hole_positions_m(case)
    exposures = [exposure(one, line, holes, case.reach_m, case.spacing_m) for one in found]
    return Answer(path, line, found, exposures)


def between(low: float, high: float) -> st.SearchStrategy[float]:
    """Whole millimetres: they shrink well, and now and then repeat and line up."""
    return st.integers(round(low * 1000), round(high * 1000)).map(lambda value: value / 1000)


def holes_belong_to_one_place(case: Case) -> bool:
    """Whether no hole is as near, by a centimetre, to another part of the mark: a rounding would choose."""
    mark = shapely.LineString(np.repeat(case.mark_m, 1 + (len(case.mark_m) == 1), axis=0))
    places = [shapely.Point(hole.east_m, hole.north_m) for hole in case.holes]
    for place in places if mark.length > 0.0 else []:
        along = np.linspace(0.0, mark.length, int(mark.length / 0.01) + 2)
        away = shapely.distance(shapely.line_interpolate_point(mark, along), place)
        beside = np.concatenate([[np.inf], away, [np.inf]])
        dips = away[(away <= beside[:-2]) & (away < beside[2:])]
        if (dips <= away.min() + 0.01).sum() > 1:
            return False
    return True


def cases() -> st.SearchStrategy[Case]:
    """Random cases in which every hole has one place on its mark."""
    return _drawn().filter(holes_belong_to_one_place)


@st.composite
def _drawn(draw: st.DrawFn) -> Case:
    """Bores of 20 to 60 m with bends and slopes; lines of any course, of one point, with holes or without."""
    steps = draw(st.lists(st.tuples(between(10, 20), between(-8, 8)), min_size=2, max_size=3))
    plan = np.concatenate([[(0.0, 0.0)], np.cumsum(steps, axis=0)])
    length_m = float(np.linalg.norm(steps, axis=1).sum())
    inner = sorted(draw(st.sets(st.sampled_from([0.2, 0.35, 0.5, 0.65, 0.8]), max_size=2)))
    stations = [0.0, *(share * length_m for share in inner), length_m]
    profile = tuple((station, draw(between(-5, -1))) for station in stations)
    if draw(st.booleans()):
        nudges = draw(st.lists(between(-1, 1), min_size=len(plan), max_size=len(plan)))
        mark = plan + np.column_stack([np.zeros(len(plan)), nudges])
    else:
        # Whole decimetres, so that no leg of a mark is shorter than what a sample can tell.
        corner = st.tuples(st.integers(-30, 500), st.integers(-120, 120))
        mark = np.array(draw(st.lists(corner, min_size=1, max_size=5, unique=True))) / 10
    if draw(st.booleans()):
        mark = np.repeat(mark, 2, axis=0)
    holes = []
    for _ in range(draw(st.integers(0, 3))):
        piece = draw(st.integers(0, max(0, len(mark) - 2)))
        share, aside = draw(between(0, 1)), draw(st.tuples(between(-0.5, 0.5), between(-0.5, 0.5)))
        on_mark = mark[piece] + share * (mark[min(piece + 1, len(mark) - 1)] - mark[piece])
        east, north = np.round(on_mark + aside, 3)
        holes.append(Hole(float(east), float(north), draw(between(-4, -0.5)), draw(between(0, 0.1))))
    return Case(
        bore_plan_m=tuple(map(tuple, plan.tolist())),
        profile_m=profile,
        bore_radius_m=draw(between(0.05, 0.4)),
        mark_m=tuple(map(tuple, mark.tolist())),
        holes=tuple(holes),
        width_m=draw(between(0.02, 0.8)),
        height_m=draw(st.none() | between(0.02, 0.8)),
        tolerance_m=draw(st.sampled_from([0.0, 0.4572, 0.6096, 0.9])),
        reach_m=draw(st.sampled_from([0.0, 0.4572, 0.6096, 1.5])),
        spacing_m=draw(st.sampled_from([2.0, 6.0, 30.48])),
        accuracy_m=draw(st.none() | between(0, 0.5)),
        bore_horizontal_m=draw(between(0, 0.5)),
        bore_vertical_m=draw(between(0, 0.5)),
        slope_ratio=draw(between(0, 0.05)),
    )
