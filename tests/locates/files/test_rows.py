"""What the rows of a file become, and what is said of those that become nothing."""

from dataclasses import replace

import pytest

from conflicts.models import Reassessment
from locates.exchange.vector_errors import RowsRefused
from locates.exchange.vector_files import read_tables
from locates.exchange.vector_import import check_import, store_import
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_mapping import FIXED, Source
from locates.exchange.vector_preview import MOST_DRAWN_POSITIONS, drawn_geometries
from locates.models import FacilityOperator, Mark, TestHole
from tests import factories
from tests.surveyed_files import confirmed

pytestmark = pytest.mark.django_db

HEADER = "Hole,lon,lat,Found,DEPTH,Dug,Date,Mark"


@pytest.fixture
def job():
    return factories.small_job()


def at(east_m, north_m):
    place = factories.point(east_m, north_m)
    return f"{place.x!r},{place.y!r}"


def holes(job, *rows, **chosen):
    """Table and mapping of test holes in rows below `HEADER`."""
    (table,) = read_tables("holes.csv", "\n".join([HEADER, *rows]).encode())
    chosen = {"epsg": "4326", "unit": "degree", "date_order": "mdy", **chosen}
    return table, confirmed(table, "test_hole", job=job, **chosen)


def errors_of(job, *rows, **chosen):
    table, mapping = holes(job, *rows, **chosen)
    return [str(error) for error in check_import(job, table, KINDS["test_hole"], mapping).errors]


def test_rows_are_stored_with_lengths_as_people_write_them(job):
    mark = job.marks.get()
    table, mapping = holes(
        job,
        f'H8,{at(50, 1)},Y,"3\' 6""",,11/06/2026 2:30 PM,{mark.ref}',
        f"H9,{at(50, 2)},no,,1.40 m,11/06/2026,",
    )
    assert store_import(job, table, KINDS["test_hole"], mapping, by=None) == 2
    found, dug = TestHole.objects.filter(job=job, ref__in=["H8", "H9"]).order_by("ref")
    assert (found.found, found.depth_to_top_m, found.mark) == (True, 42 * 0.0254, mark)
    assert found.measured_at.isoformat() == "2026-11-06T19:30:00+00:00"
    assert (dug.found, dug.dug_depth_m, dug.depth_to_top_m, dug.mark) == (False, 1.4, None, None)
    assert dug.measured_at.isoformat() == "2026-11-06T05:00:00+00:00"
    assert set(Reassessment.objects.values_list("bore_id", flat=True)) == {job.bores.get().pk}


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("H8,PLACE,Y,4.5,,11/06/2026,", 'row 2, column DEPTH: found "4.5"; accepted: a length with its unit'),
        ("H8,PLACE,Y,4 foo,,11/06/2026,", 'row 2, column DEPTH: found "4 foo"; accepted: write it as'),
        ("H8,PLACE,Y,,,11/06/2026,", "row 2, column DEPTH: found nothing; accepted: a number of metres"),
        ("H8,PLACE,maybe,3 ft,,11/06/2026,", 'row 2, column Found: found "maybe"; accepted: yes, no'),
        ("H8,PLACE,,3 ft,,11/06/2026,", "row 2, column Found: found nothing; accepted: true or false"),
        ("H8,PLACE,Y,55 ft,,11/06/2026,", "feet or inches?"),
        (
            "H8,PLACE,Y,-1 ft,,11/06/2026,",
            "row 2, column DEPTH: found -0.3048; accepted: a number of metres, 0 or more",
        ),
        (
            "H8,PLACE,Y,3 ft,,13/06/2026,",
            'row 2, column Date: found "13/06/2026"; accepted: a day that there is',
        ),
        ("H8,PLACE,Y,3 ft,,11/06/26,", "accepted: a year of four digits"),
        ("H8,PLACE,Y,3 ft,,11/01/2026 1:30 AM,", "do not pass twice"),
        ("H8,PLACE,Y,3 ft,,03/08/2026 2:30 AM,", "do not skip"),
        (
            "H8,PLACE,Y,3 ft,,11/06/2026,no such",
            'column Mark: found "no such" (text), which no mark of the job',
        ),
        ("H0,x1,38,Y,3 ft,,11/06/2026,", 'row 2, column lon: found "x1"; accepted: a number'),
        ("H8,38.0,-78.5,Y,3 ft,,11/06/2026,", "km"),
        ("H8,-97.7,30.2,Y,3 ft,,11/06/2026,", "wrong coordinate system or unit?"),
        (",PLACE,Y,3 ft,,11/06/2026,", "row 2, column Hole: found nothing; accepted: text"),
    ],
)
def test_an_error_names_the_row_the_column_what_was_found_and_what_is_accepted(job, row, told):
    (line,) = errors_of(job, row.replace("PLACE", at(50, 1)))
    assert told in line


def test_a_name_that_the_job_or_the_file_has_already_is_refused(job):
    taken = job.test_holes.get().ref
    rows = [f"{ref},{at(50, 1)},Y,3 ft,,11/06/2026," for ref in (taken, "H8", "H8")]
    first, second = errors_of(job, *rows)
    assert f'row 2, column Hole: found "{taken}" (text), which the job has already' in first
    assert 'row 4, column Hole: found "H8" (text), which row 3 has already' in second


def test_one_bad_row_keeps_all_the_others_out(job):
    table, mapping = holes(job, f"H8,{at(50, 1)},Y,3 ft,,11/06/2026,", f"H9,{at(50, 1)},Y,3,,11/06/2026,")
    with pytest.raises(RowsRefused, match="row 3, column DEPTH"):
        store_import(job, table, KINDS["test_hole"], mapping, by=None)
    assert job.test_holes.count() == 1
    assert not Reassessment.objects.exists()


def test_bare_numbers_take_the_unit_of_their_column_and_others_keep_their_own(job):
    rows = [f"H8,{at(50, 1)},Y,36,,11/06/2026,", f"H9,{at(50, 1)},Y,0.9 m,,11/06/2026,"]
    table, mapping = holes(job, *rows, units={"depth_to_top_m": "inch"})
    features = check_import(job, table, KINDS["test_hole"], mapping).features
    assert [one["properties"]["depth_to_top_m"] for one in features] == pytest.approx([36 * 0.0254, 0.9])


def test_a_day_alone_on_which_a_line_was_marked_again_counts_to_its_end(job):
    operator = job.operators.get()
    csv = f"ref,lon,lat,type,painted,remarked,owner\nM9,{at(1, 1)},G,2026-11-04,2026-11-05,{operator.name}\n"
    (table,) = read_tables("marks.csv", csv.encode())
    mapping = confirmed(table, "mark", job=job, epsg="4326", unit="degree")
    (feature,) = check_import(job, table, KINDS["mark"], mapping).features
    assert feature["properties"]["marked_at"] == "2026-11-04T05:00:00Z"
    assert feature["properties"]["re_marked_at"] == "2026-11-06T04:59:59Z"
    assert feature["properties"]["facility_type"] == "gas_oil_steam"


SHOTS = [("M9", 1, 5), ("M9", 20, 6), ("W1", 3, 3), ("M9", 40, 5)]


def shots(job, types=("G", "", "W", "")):
    rows = [f"{ref},{at(east, north)},{kind}" for (ref, east, north), kind in zip(SHOTS, types, strict=True)]
    (table,) = read_tables("shots.csv", "\n".join(["Line,lon,lat,Code", *rows]).encode())
    mapping = confirmed(table, "mark", job=job, epsg="4326", unit="degree", join="Line")
    sources = {
        **mapping.sources,
        "operator": Source(FIXED, "Brindle"),
        "marked_at": Source(FIXED, "2026-11-04 10:00"),
    }
    return table, replace(
        mapping, sources=sources, values={**mapping.values, "operator": {"Brindle": "Brindle"}}
    )


def test_shots_of_one_line_are_joined_in_their_order_and_a_single_one_stays_a_point(job):
    table, mapping = shots(job)
    assert store_import(job, table, KINDS["mark"], mapping, by=None) == 2
    line, point = Mark.objects.filter(job=job, ref__in=["M9", "W1"]).order_by("ref")
    assert [len(line.geometry), line.facility_type] == [3, "gas_oil_steam"]
    assert [point.geometry.geom_type, point.facility_type] == ["Point", "potable_water"]
    assert FacilityOperator.objects.filter(job=job, name="Brindle").count() == 1


def test_shots_of_one_line_that_contradict_each_other_are_refused(job):
    table, mapping = shots(job, types=("G", "W", "W", ""))
    (error,) = check_import(job, table, KINDS["mark"], mapping).errors
    assert (
        str(error) == 'row 3, column Code: found "W"; accepted: "G" as in row 2 of the same line, or nothing'
    )


def test_a_large_file_is_checked_whole_but_drawn_in_part(job):
    rows = [f"H{number},{at(50, 0)},Y,3 ft,,11/06/2026," for number in range(100, MOST_DRAWN_POSITIONS + 200)]
    table, mapping = holes(job, *rows)
    checked = check_import(job, table, KINDS["test_hole"], mapping)
    assert len(checked.features) == len(rows) > MOST_DRAWN_POSITIONS
    assert len(drawn_geometries(checked.features)) == MOST_DRAWN_POSITIONS


def test_the_distance_from_the_bore_is_told_and_a_far_file_is_doubted(job):
    table, mapping = holes(job, f"H8,{at(50, 3)},Y,3 ft,,11/06/2026,")
    near = check_import(job, table, KINDS["test_hole"], mapping).whereabouts
    assert near.words == f"The nearest lies 9 ft 10 1/8 in from bore {job.bores.get().name}."
    assert not near.is_doubtful
    table, mapping = holes(job, f"H8,{at(50, 30_000)},Y,3 ft,,11/06/2026,")
    checked = check_import(job, table, KINDS["test_hole"], mapping)
    assert checked.whereabouts.is_doubtful
    assert "30.0 km" in checked.whereabouts.words
    assert checked.errors == []
