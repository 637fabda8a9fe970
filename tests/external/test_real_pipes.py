"""Real water pipes crossed by invented bores: the engine against shapely in plan and PostGIS in space.

The pipes are the ky4 network of wntr 1.5.0 (Revised BSD licence): 1,156 pipes of a Kentucky system in US
survey feet of EPSG:3089, which the list of check values inferred from place and lengths. It has no burial
depth, so cover is assigned by a rule: the ground is straight between the elevations of a pipe's two ends, and
the top lies 0.90 m under it for pipes to 6 in., 1.20 m for larger ones. The bores are invented.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
import wntr
from django.db import connection
from pyproj import CRS, Transformer

from conflicts.engine.clearance import Allowances, Clearance, clearances
from conflicts.engine.distance import polyline_distances_m
from conflicts.engine.frame import FloatArray, GroundFrame, frame_about, polyline_length_m
from conflicts.engine.line import BuriedLine, FoundHoles, LineSize, buried_line
from conflicts.engine.path import BorePath, path_of_profile

NETWORK = Path(wntr.__file__).parent / "library" / "networks" / "ky4.inp"
SMALL_PIPE_M = 6.5 * 0.0254
# The holes at both ends of a pipe give it its depth and, with no reach, leave its plan alone.
ALLOWANCES = Allowances(
    tolerance_zone_m=0.4572, reach_m=0.0, bore_horizontal_m=0.3, bore_vertical_m=0.15, slope_ratio=0.01
)
BORE_RADIUS_M = 0.15
BORES = 12


@dataclass(frozen=True)
class Pipe:
    """A pipe in longitude and latitude, with the tops of its two ends."""

    lon_lat_deg: FloatArray
    diameter_m: float
    stated_length_m: float
    tops_m: tuple[float, float]


@cache
def pipes() -> list[Pipe]:
    network = wntr.network.WaterNetworkModel(str(NETWORK))
    to_wgs84 = Transformer.from_crs(3089, 4326, always_xy=True)
    found = []
    for _, pipe in network.pipes():
        ends = [pipe.start_node, pipe.end_node]
        plane = np.array([ends[0].coordinates, *pipe.vertices, ends[1].coordinates])
        cover_m = 0.90 if pipe.diameter <= SMALL_PIPE_M else 1.20
        # A tank or reservoir has a head but no elevation of its own here: its pipe lies level.
        heights = [getattr(end, "elevation", None) for end in ends]
        known = [height for height in heights if height is not None]
        tops = tuple((known[0] if height is None else height) - cover_m for height in heights)
        lon_lat = np.column_stack(to_wgs84.transform(plane[:, 0], plane[:, 1]))
        found.append(Pipe(lon_lat, pipe.diameter, pipe.length, tops))
    return found


def line_in(frame: GroundFrame, pipe: Pipe) -> BuriedLine:
    plan = frame.to_ground(pipe.lon_lat_deg[:, 0], pipe.lon_lat_deg[:, 1])
    holes = FoundHoles(plan[[0, -1]], np.array(pipe.tops_m), np.full(2, 0.03))
    size = LineSize(pipe.diameter_m, pipe.diameter_m, is_duct_bank=False, is_assumed=False)
    return buried_line(plan, holes, size, ALLOWANCES.reach_m)


@dataclass(frozen=True)
class Bored:
    """An invented bore, every pipe of the network in its ground frame, and what it meets of each."""

    path: BorePath
    lines: list[BuriedLine]
    met: list[list[Clearance]]


@cache
def bored(number: int) -> Bored:
    random = np.random.default_rng(number)
    pipe = pipes()[int(random.integers(len(pipes())))]
    middle_deg = pipe.lon_lat_deg.mean(axis=0)
    frame = frame_about([middle_deg])
    # 180 to 240 m with a bend in the middle, past the pipe that it is drawn about, at about its depth.
    heading_rad = random.uniform(0.0, 2.0 * np.pi, 2)
    heading_rad[1] = heading_rad[0] + random.uniform(-0.3, 0.3)
    steps = random.uniform(90.0, 120.0, 2)[:, None] * np.column_stack(
        [np.sin(heading_rad), np.cos(heading_rad)]
    )
    plan = np.array([-steps[0], (0.0, 0.0), steps[1]])
    depths_m = random.uniform(-2.0, 1.0, 3)
    stations = np.concatenate([[0.0], np.cumsum(np.linalg.norm(steps, axis=1))])
    path = path_of_profile(plan, stations, np.mean(pipe.tops_m) + depths_m)
    lines = [line_in(frame, one) for one in pipes()]
    return Bored(path, lines, [clearances(path, BORE_RADIUS_M, line, ALLOWANCES) for line in lines])


def test_the_network_lies_where_its_lengths_say():
    system = CRS.from_epsg(3089)
    assert system.name == "NAD83 / Kentucky Single Zone (ftUS)"
    assert system.axis_info[0].unit_name == "US survey foot"
    # The list: 260.24 km, polyline over stated length 0.997 to 1.003, which is so of nine pipes in ten.
    frame = frame_about([pipe.lon_lat_deg for pipe in pipes()])
    drawn_m = np.array([polyline_length_m(frame.to_ground(*pipe.lon_lat_deg.T)) for pipe in pipes()])
    stated_m = np.array([pipe.stated_length_m for pipe in pipes()])
    assert len(drawn_m) == 1156
    assert stated_m.sum() == pytest.approx(260_240.0, abs=5.0)
    assert drawn_m.sum() == pytest.approx(stated_m.sum(), rel=1e-3)
    assert np.percentile(drawn_m / stated_m, [5, 95]) == pytest.approx([0.997, 1.003], abs=5e-4)


@pytest.mark.parametrize("number", range(BORES))
def test_the_pipes_met_are_those_that_shapely_finds(number):
    found = bored(number)
    plan = shapely.LineString(found.path.points_m[:, :2])
    assert any(found.met)
    for line, met in zip(found.lines, found.met, strict=True):
        pipe = shapely.LineString(line.points_m[:, :2])
        zone_m = ALLOWANCES.tolerance_zone_m + BORE_RADIUS_M + line.size.plan_radius_m
        apart_m = shapely.distance(plan, pipe)
        assert bool(met) == (apart_m <= zone_m)
        assert any(one.kind == "crossing" for one in met) == shapely.intersects(plan, pipe)
        if met:
            inside = shapely.intersection(plan, shapely.buffer(pipe, zone_m, quad_segs=256))
            # A buffer's round ends are polygons of 256 sides a quarter: 5e-6 of the zone short at most.
            assert sum(one.to_m - one.from_m for one in met) == pytest.approx(inside.length, abs=1e-4)
            horizontal_m = min(one.horizontal_m for one in met)
            assert horizontal_m == pytest.approx(
                max(0.0, apart_m - zone_m + ALLOWANCES.tolerance_zone_m), abs=1e-9
            )


@pytest.mark.django_db
@pytest.mark.parametrize("number", range(BORES))
def test_the_distance_of_every_pipe_in_space_is_that_of_postgis(number):
    found = bored(number)
    with connection.cursor() as cursor:
        bore, *others = [
            shapely.to_wkb(shapely.LineString(one.points_m), hex=True) for one in (found.path, *found.lines)
        ]
        cursor.execute(
            "SELECT ST_3DDistance(%s::geometry, pipe::geometry)"
            " FROM unnest(%s::text[]) WITH ORDINALITY AS p (pipe, i) ORDER BY i",
            [bore, others],
        )
        expected_m = np.array([row[0] for row in cursor.fetchall()])
    pairs = np.array([(0, index) for index in range(len(found.lines))])
    ours_m = polyline_distances_m([found.path.points_m], [line.points_m for line in found.lines], pairs)
    assert ours_m == pytest.approx(expected_m, abs=1e-8)
    for line, met, apart_m in zip(found.lines, found.met, expected_m, strict=True):
        zone_m = ALLOWANCES.tolerance_zone_m + BORE_RADIUS_M + line.size.plan_radius_m
        separations_m = [one.separation_m for one in met]
        # The least distance in space lies inside an extent where it is within the zone: in plan it is less.
        if apart_m <= zone_m:
            assert min(separations_m) == pytest.approx(apart_m - BORE_RADIUS_M - line.size.radius_m, abs=1e-8)
        assert all(one >= apart_m - BORE_RADIUS_M - line.size.radius_m - 1e-8 for one in separations_m)


def test_the_bores_meet_enough_pipes_to_tell():
    met = [one for number in range(BORES) for crossings in bored(number).met for one in crossings]
    assert sum(one.kind == "crossing" for one in met) >= BORES
    assert any(one.separation_m is not None and one.separation_m < 0.0 for one in met)
    assert {one.passes for one in met} == {"over", "under"}
