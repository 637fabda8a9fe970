"""The data of the maps: where things lie, to the millimetre, what is said of them, and to whom."""

import json
from itertools import pairwise

import numpy as np
import pyproj
import pytest
import shapely
from django.contrib.gis.geos import LineString, MultiPolygon
from django.urls import reverse

from conflicts.assess import compute_bores, store_assessment
from conflicts.drawing.map_layers import map_document
from conflicts.map_records import BESIDE_BORE_M, read_bore_map, read_job_map
from conflicts.models import Bore
from locates.models import Job
from tests.factories import (
    CALLED_AT,
    EXPIRES_AT,
    LEGAL_START_AT,
    PLANNED_START_AT,
    BoreFactory,
    JobFactory,
    JurisdictionRuleFactory,
    LineworkFactory,
    MarkFactory,
    RodBoreFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    TicketFactory,
    box,
    line,
    point,
    small_job,
)

pytestmark = pytest.mark.django_db

GEOD = pyproj.Geod(ellps="WGS84")
UNIT_DEG = 1e-8
MILLIMETRE = 1e-3
DRAWING_M = 0.006  # what a zone's corners cut, 5 mm, and a millimetre of rounding


def job_map(job, at=PLANNED_START_AT) -> dict:
    """The job's map as a browser gets it."""
    fresh = Job.objects.with_grounds().get(pk=job.pk)
    return json.loads(json.dumps(map_document(read_job_map(fresh, at), at)))


def bore_map(bore, at=PLANNED_START_AT) -> dict:
    fresh = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    return json.loads(json.dumps(map_document(read_bore_map(fresh, at), at)))


def rows(document, table) -> list[dict]:
    return [dict(zip(document[table]["columns"], row, strict=True)) for row in document[table]["rows"]]


def row(document, table, **wanted) -> dict:
    (found,) = [one for one in rows(document, table) if wanted.items() <= one.items()]
    return found


def places(document, steps) -> np.ndarray:
    """Longitudes and latitudes that steps lead to."""
    return (np.array(document["origin"]) + np.cumsum(np.reshape(steps, (-1, 2)), axis=0)) * UNIT_DEG


def apart_m(one, other) -> float:
    """The greatest distance between points in turn, on the ellipsoid."""
    one, other = np.array(one), np.array(other)
    return float(np.max(GEOD.inv(one[:, 0], one[:, 1], other[:, 0], other[:, 1])[2]))


def in_metres(lon_lat, about) -> np.ndarray:
    """Points about a place in another projection than the program's."""
    around = pyproj.Proj(proj="aeqd", lon_0=about[0], lat_0=about[1], ellps="WGS84")
    return np.column_stack(around(np.array(lon_lat)[:, 0], np.array(lon_lat)[:, 1]))


def test_every_record_lies_within_a_millimetre_of_where_it_was_logged():
    job = small_job()
    document = job_map(job)
    logged = {
        ("marks", "painted"): job.marks.get().geometry.coords,
        ("test_holes", "at"): [job.test_holes.get().position.coords],
        ("surface_features", "at"): [job.surface_features.get().position.coords],
        ("bores", "line"): job.bores.get().alignment.coords,
    }
    for (table, column), coordinates in logged.items():
        assert apart_m(places(document, rows(document, table)[0][column]), coordinates) < MILLIMETRE, table
    (ring,) = rows(document, "tickets")[0]["area"]
    assert apart_m(places(document, ring), job.tickets.get().area[0][0].coords) < MILLIMETRE
    (curb,) = rows(document, "linework")[0]["parts"]
    assert apart_m(places(document, curb), job.linework.get().geometry.coords) < MILLIMETRE


def test_rounding_does_not_add_up_along_a_line_of_many_corners():
    job = JobFactory()
    east_m = np.linspace(0.0, 300.0, 2001)
    mark = MarkFactory(job=job, geometry=line(*((one, 3.0 * np.sin(one)) for one in east_m.tolist())))
    document = job_map(job)
    assert apart_m(places(document, rows(document, "marks")[0]["painted"]), mark.geometry.coords) < MILLIMETRE


@pytest.mark.parametrize("width_m", [0.1, 1.2])
def test_a_tolerance_zone_is_the_tolerance_and_half_of_the_line_either_side_of_it(width_m):
    """Held against shapely's distances in an azimuthal projection of PROJ's, on the ellipsoid."""
    job = JobFactory(tolerance_zone_m=0.61)
    mark = MarkFactory(job=job, stated_width_m=width_m, geometry=line((0, 0), (20, 1), (22, 15)))
    document = job_map(job)
    (ring,) = rows(document, "marks")[0]["zone"]
    about = mark.geometry.coords[1]
    painted = shapely.LineString(in_metres(mark.geometry.coords, about))
    zone = shapely.Polygon(in_metres(places(document, ring), about))
    away = shapely.distance(shapely.points(shapely.get_coordinates(zone)), painted)
    assert away == pytest.approx(0.61 + width_m / 2, abs=MILLIMETRE)
    whole = shapely.buffer(painted, 0.61 + width_m / 2, quad_segs=64)
    assert shapely.hausdorff_distance(zone, whole, densify=0.1) < DRAWING_M


def test_at_a_height_a_zone_is_as_wide_on_the_ground_as_it_says():
    job = JobFactory(tolerance_zone_m=10.0, mean_height_m=3000.0)
    mark = MarkFactory(job=job, stated_width_m=0.1, geometry=line((0, 0), (0, 40)))
    document = job_map(job)
    (ring,) = rows(document, "marks")[0]["zone"]
    about = mark.geometry.coords[0]
    painted = shapely.LineString(in_metres(mark.geometry.coords, about))
    widest = shapely.distance(shapely.points(in_metres(places(document, ring), about)), painted).max()
    # On the ellipsoid, 3 km below, the same strip is narrower by 3,000 / 6,371,000: 4.7 mm in 10 m.
    assert widest * (1.0 + 3000.0 / 6371008.7714) == pytest.approx(10.05, abs=MILLIMETRE)


def test_the_zone_lies_about_the_line_where_its_test_holes_found_it():
    job = small_job()
    job.test_holes.update(position=point(50.4, 0))
    document = job_map(job)
    mark = row(document, "marks")
    scene = compute_bores([job.bores.get().pk])[job.bores.get().pk].scene
    (assessed,) = scene.lines
    found = shapely.LineString(assessed.line.points_m[:, :2])
    about = job.marks.get().geometry.coords[0]
    moved = in_metres(scene.frame.to_geographic(shapely.get_coordinates(found)), about)
    zone = shapely.Polygon(in_metres(places(document, mark["zone"][0]), about))
    whole = shapely.buffer(
        shapely.LineString(moved), job.tolerance_width_m + assessed.line.size.plan_radius_m, quad_segs=64
    )
    assert shapely.hausdorff_distance(zone, whole, densify=0.1) < DRAWING_M
    (away,) = mark["found"]
    # The paint is left for one reach before and after the hole, less what lies within the paint's own width.
    assert apart_m([places(document, away)[1]], [point(50.4, 0).coords]) < MILLIMETRE


def test_a_line_found_where_it_is_painted_is_drawn_once():
    assert row(job_map(small_job()), "marks")["found"] == []


def test_a_single_painted_point_has_a_round_zone():
    job = JobFactory(tolerance_zone_m=0.61)
    MarkFactory(job=job, stated_width_m=0.2, geometry=point(5, 5))
    document = job_map(job)
    (ring,) = row(document, "marks")["zone"]
    about = point(5, 5).coords
    assert np.hypot(*in_metres(places(document, ring), about).T) == pytest.approx(0.71, abs=MILLIMETRE)


def test_a_zone_of_unknown_width_is_not_drawn_and_said_to_be_unknown():
    job = small_job(jurisdiction=JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False))
    document = job_map(job)
    assert row(document, "marks")["zone"] is None
    assert document["tolerance"].startswith("Width of the tolerance zone unknown")
    assert "no tolerance zone" in row(document, "bores")["no_crossings_because"]
    assert rows(document, "crossings") == []


def test_an_unknown_depth_is_said_to_be_unknown():
    job = small_job()
    MarkFactory(job=job, ref="Unseen", geometry=line((70, -5), (70, 5)), stated_depth_m=1.0)
    document = job_map(job)
    unseen = row(document, "marks", ref="Unseen")
    assert unseen["depth_known"] is False
    assert "depth unknown: no test hole has found it" in unseen["words"]
    known = row(document, "marks", ref=job.marks.exclude(ref="Unseen").get().ref)
    assert known["depth_known"] is True
    assert job.test_holes.get().ref in known["words"]


@pytest.mark.parametrize(
    ("values", "label", "words"),
    [
        ({}, "2 ft 11 3/8 in", "top of Gas at 2 ft 11 3/8 in; open"),
        ({"is_open": False}, "2 ft 11 3/8 in", "top of Gas at 2 ft 11 3/8 in; restored"),
        ({"is_open": None}, "2 ft 11 3/8 in", "top of Gas at 2 ft 11 3/8 in; not known whether still open"),
        (
            {"found": False, "depth_to_top_m": None, "dug_depth_m": 1.83},
            "none to 6 ft 0 in",
            "Gas not found, dug to 6 ft 0 in; open",
        ),
    ],
)
def test_a_test_hole_says_what_it_found_how_deep_and_whether_it_is_open(values, label, words):
    job = JobFactory()
    TestHoleFactory(job=job, mark=MarkFactory(job=job, ref="Gas"), **values)
    hole = row(job_map(job), "test_holes")
    assert (hole["label"], hole["words"]) == (label, words)


def test_a_hole_that_found_a_line_which_nobody_marked_says_so():
    job = JobFactory(show_units="metric")
    TestHoleFactory(job=job)
    assert row(job_map(job), "test_holes")["words"] == "top of a line that nobody marked at 0.900 m; open"


@pytest.mark.parametrize(
    ("values", "at", "in_force", "words"),
    [
        ({}, LEGAL_START_AT, True, "in force until Tue Nov 24, 2026, 7:00 am EST"),
        ({}, CALLED_AT, False, "not in force before Thu Nov 5, 2026, 7:00 am EST"),
        ({}, EXPIRES_AT, False, "not in force: expired Tue Nov 24, 2026, 7:00 am EST"),
        ({"expires_at": None}, LEGAL_START_AT, False, "not in force: its expiry is unknown"),
        ({"legal_start_at": None}, LEGAL_START_AT, False, "not in force: its legal start is unknown"),
    ],
)
def test_a_ticket_says_whether_it_is_in_force_now(values, at, in_force, words):
    job = JobFactory()
    TicketFactory(job=job, **values)
    ticket = row(job_map(job, at), "tickets")
    assert (ticket["in_force"], ticket["words"]) == (in_force, words)


def test_a_work_area_of_two_parts_has_both():
    job = JobFactory()
    TicketFactory(job=job, area=MultiPolygon(box(0, 0, 5, 5), box(10, 0, 15, 5), srid=4326))
    assert len(row(job_map(job), "tickets")["area"]) == 2


def test_a_surface_feature_says_whether_a_mark_explains_it():
    job = small_job()
    SurfaceFeatureFactory(job=job, ref="Lone valve")
    SurfaceFeatureFactory(job=job, ref="Old valve", signed_off_reason="abandoned, cut and capped")
    document = job_map(job)
    assert row(document, "surface_features", ref="Lone valve")["explained"] is False
    assert row(document, "surface_features", ref="Old valve")["words"] == (
        "valve; signed off: abandoned, cut and capped; position to within: unknown"
    )


@pytest.mark.parametrize(
    ("show_units", "step_m", "labels"),
    [("feet", 15.24, ["0+00", "0+50", "1+00"]), ("metric", 10.0, ["0+000", "0+010", "0+020"])],
)
def test_stations_are_ticked_every_fifty_feet_or_ten_metres(show_units, step_m, labels):
    bore = BoreFactory(job=JobFactory(show_units=show_units))
    document = job_map(bore.job)
    drawn = row(document, "bores")
    assert drawn["tick_labels"][:3] == labels
    ticks = [places(document, tick) for tick in drawn["ticks"]]
    assert len(ticks) == int(bore.alignment_length_m / step_m) + 1
    for one, other in pairwise(ticks):
        assert apart_m([one[0]], [other[0]]) == pytest.approx(step_m, abs=2 * MILLIMETRE)
        # The bore runs east: left of it is north.
        assert one[1][1] > one[0][1]
        assert apart_m([one[0]], [one[1]]) == pytest.approx(1.0, abs=2 * MILLIMETRE)


def test_a_bore_of_rods_is_drawn_where_its_rods_go():
    turned = [np.pi / 2, np.pi / 2 - 0.1, np.pi / 2 - 0.1]
    bore = RodBoreFactory(rod_headings_rad=turned)
    document = job_map(bore.job)
    drawn = row(document, "bores")
    scene = compute_bores([bore.pk])[bore.pk].scene
    end = scene.frame.to_geographic(scene.plan_m[-1:])
    assert apart_m(places(document, drawn["line"])[-1:], end) < 2 * MILLIMETRE
    assert drawn["stations_m"][-1] == pytest.approx(scene.path.length_m, abs=2 * MILLIMETRE)
    assert len(drawn["line"]) < len(scene.plan_m)


def test_crossings_have_their_place_verdict_line_and_figures():
    job = small_job()
    bore = job.bores.get()
    store_assessment(bore.pk)
    document = job_map(job)
    crossing = row(document, "crossings")
    stored = bore.crossings.get()
    assert (crossing["sequence"], crossing["verdict"]) == (stored.sequence, "clear")
    assert (
        apart_m(places(document, crossing["at"]), [(stored.longitude_deg, stored.latitude_deg)]) < MILLIMETRE
    )
    assert rows(document, "marks")[crossing["mark"]]["ref"] == job.marks.get().ref
    assert "at station 1+64.0: worst case" in crossing["words"]


def test_crossings_of_older_records_are_withheld():
    job = small_job()
    store_assessment(job.bores.get().pk)
    job.test_holes.update(depth_to_top_m=1.2)
    document = job_map(job)
    assert rows(document, "crossings") == []
    assert row(document, "bores")["no_crossings_because"] == "its crossings are being recalculated"


def test_the_map_of_a_bore_has_its_own_crossings_and_what_reaches_round_it():
    job = small_job()
    bore = job.bores.get()
    away_m = 100.0 + BESIDE_BORE_M
    MarkFactory(job=job, ref="far", geometry=line((away_m + 5, 0), (away_m + 9, 0)))
    across = MarkFactory(job=job, ref="across", geometry=line((-500, 40), (500, 40)))
    TestHoleFactory(job=job, ref="outside", mark=across, position=point(-480, 40.3))
    TestHoleFactory(job=job, ref="elsewhere", position=point(-480, 41))
    LineworkFactory(job=job, geometry=box(-300, -300, 300, 300))
    other = BoreFactory(job=job, alignment=line((0, 8), (100, 8)))
    for one in (bore, other):
        store_assessment(one.pk)
    document = bore_map(bore)
    assert document["bore"] == str(bore.pk)
    assert {mark["ref"] for mark in rows(document, "marks")} == {"across", job.marks.first().ref}
    holes = {hole["ref"] for hole in rows(document, "test_holes")}
    assert "outside" in holes
    assert "elsewhere" not in holes
    assert len(rows(document, "bores")) == 2
    assert {rows(document, "bores")[one["bore"]]["id"] for one in rows(document, "crossings")} == {
        str(bore.pk)
    }
    assert len(rows(document, "linework")) == 2


def test_a_job_across_the_180th_meridian_is_one_place():
    job = JobFactory()
    MarkFactory(job=job, geometry=LineString((179.9999, -45.0), (-179.9999, -45.0), srid=4326))
    document = job_map(job)
    east = np.cumsum(np.reshape(row(document, "marks")["painted"], (-1, 2)), axis=0)[:, 0]
    assert east.tolist() == [-10000, 10000]


def test_an_empty_job_says_that_there_is_nothing_to_draw():
    assert job_map(JobFactory())["origin"] is None


def test_coordinates_are_whole_numbers_of_the_unit():
    document = job_map(small_job())
    for steps in (row(document, "marks")["painted"], row(document, "marks")["zone"][0], document["origin"]):
        assert all(isinstance(step, int) for step in steps)


def test_the_addresses_of_the_map_data_are_those_of_the_job_and_the_bore():
    bore = BoreFactory()
    assert reverse("conflicts:map-data", kwargs={"job_id": bore.job_id}) == f"/jobs/{bore.job_id}/map.json"
    assert reverse("conflicts:map-data", kwargs={"bore_id": bore.pk}) == f"/bores/{bore.pk}/map.json"
