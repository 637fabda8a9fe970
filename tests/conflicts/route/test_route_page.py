"""The route on a page of its own and as a file: one line from end to end, with the chainage of each bore."""

import csv
import io
import json
import re
import sqlite3

import pytest
import shapely
from django.urls import reverse

from conflicts.models import Pit
from tests.conflicts.route.test_route_on_job_page import bore_of, foreman  # noqa: F401 - a fixture
from tests.factories import OrganisationFactory, PitFactory, box, person_in_role, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    """Two bores that one pit joins, the second planned towards it, and one that nothing joins."""
    job = small_job()
    first = job.bores.get()
    after = bore_of(job, "After it", (162, 0), (130, 5), (102, 0))
    bore_of(job, "A side bore", (50, 40), (50, 90))
    Pit.objects.filter(bore=first, end="exit").update(area=box(99.5, -1, 102.5, 1))
    PitFactory(bore=after, end="exit", area=box(99.5, -1, 102.5, 1))
    return job


def words_of(response) -> str:
    return " ".join(response.content.decode().split())


def get_file(client, job, name):
    return client.get(reverse("conflicts:route-file", args=[job.pk]), {"format": name})


def test_the_page_has_each_bore_with_its_chainage_joints_gaps_and_totals_in_both_units(foreman, job):  # noqa: F811
    page = words_of(foreman.get(reverse("conflicts:route", args=[job.pk])))
    assert "0+00.0 to 3+28.1" in page
    assert "3+34.6 to" in page
    assert "from exit to entry" in page
    assert "One pit serves both" in page
    assert "A gap of" in page
    assert "Not one line: 2 pieces that nothing joins." in page
    assert re.search(r"328 ft 1 in<small>\d+\.\d{3} m</small>", page)
    assert '?format=gpkg" download>GeoPackage</a>' in page


def test_the_file_has_one_line_for_each_piece_that_goes_through_every_corner(foreman, job):  # noqa: F811
    response = get_file(foreman, job, "geojson")
    assert response["Content-Type"] == "application/geo+json"
    assert response["Content-Disposition"] == 'attachment; filename="conduit_route.geojson"'
    features = json.loads(response.content)["features"]
    assert [one["properties"]["piece"] for one in features] == [1, 2]
    first, after, side = (job.bores.get(name=name) for name in (names_of(job)[0], "After it", "A side bore"))
    wanted = [*first.alignment.coords, *reversed(after.alignment.coords)]
    # To the last digit of the file, a tenth of a millimetre.
    assert features[0]["geometry"]["coordinates"] == [pytest.approx(place, abs=2e-9) for place in wanted]
    assert features[1]["geometry"]["coordinates"] == [
        pytest.approx(place, abs=2e-9) for place in side.alignment.coords
    ]
    told = features[0]["properties"]
    assert told["bores"] == f"{first.name}, After it"
    assert told["length_m"] == pytest.approx(told["bored_m"] + told["between_m"], abs=2e-4)
    assert told["between_m"] == pytest.approx(2.0, abs=1e-3)
    assert (told["is_ring"], told["is_sure"]) == (False, True)
    assert get_file(foreman, job, "geojson").content == response.content


def names_of(job):
    others = ("After it", "A side bore")
    return [one.name for one in job.bores.exclude(name__in=others)]


def test_the_table_counts_the_chainage_along_the_piece_and_the_station_along_the_bore(foreman, job):  # noqa: F811
    rows = list(csv.DictReader(io.StringIO(get_file(foreman, job, "csv").content.decode())))
    first = job.bores.get(name=names_of(job)[0])
    after = job.bores.get(name="After it")
    along = [one for one in rows if one["piece"] == "1"]
    assert [one["what"] for one in along] == ["entry", "exit", "exit", "bend", "entry"]
    length_m = after.alignment_length_m
    begins_m = first.alignment_length_m + 2.0
    assert float(along[2]["chainage_m"]) == pytest.approx(begins_m, abs=1e-3)
    assert float(along[2]["station_m"]) == pytest.approx(length_m, abs=1e-3)
    assert float(along[4]["chainage_m"]) == pytest.approx(begins_m + length_m, abs=1e-3)
    assert float(along[4]["station_m"]) == 0.0
    assert float(along[3]["chainage_m"]) + float(along[3]["station_m"]) == pytest.approx(
        begins_m + length_m, abs=1e-3
    )
    assert [one["what"] for one in rows if one["piece"] == "2"] == ["entry", "exit"]


def test_the_geopackage_holds_the_same_lines(foreman, job, tmp_path):  # noqa: F811
    path = tmp_path / "route.gpkg"
    path.write_bytes(get_file(foreman, job, "gpkg").content)
    features = json.loads(get_file(foreman, job, "geojson").content)["features"]
    with sqlite3.connect(path) as database:
        stored = database.execute(
            "SELECT geom, bores, length_m, is_sure FROM conduit_route ORDER BY piece"
        ).fetchall()
        [code] = database.execute("SELECT srs_id FROM gpkg_geometry_columns").fetchone()
    assert code == 4326
    assert len(stored) == 2
    for (blob, bores, length_m, is_sure), feature in zip(stored, features, strict=True):
        # GeoPackage 1.3, 2.1.3: eight bytes of header and an envelope of four doubles before the WKB.
        line = shapely.from_wkb(blob[8 + 32 :])
        assert list(line.coords) == [tuple(place) for place in feature["geometry"]["coordinates"]]
        assert (bores, length_m) == (feature["properties"]["bores"], feature["properties"]["length_m"])
        assert bool(is_sure) is feature["properties"]["is_sure"]


@pytest.mark.parametrize("name", ["", "shapefile", "<b>"])
def test_a_format_that_is_not_written_is_refused_with_those_that_are(foreman, job, name):  # noqa: F811
    response = get_file(foreman, job, name)
    assert response.status_code == 400
    assert "geojson, gpkg, csv" in words_of(response)
    assert "<b>" not in response.content.decode().split("<h1>")[1].split("</h3>")[0]


def test_a_job_without_a_bore_has_no_route_and_no_file(foreman):  # noqa: F811
    job = small_job()
    job.bores.all().delete()
    assert "so it has no route" in words_of(foreman.get(reverse("conflicts:route", args=[job.pk])))
    response = get_file(foreman, job, "csv")
    assert response.status_code == 400
    assert "Found no bore on this job" in words_of(response)


def test_nobody_reads_another_companys_route(client):
    job = small_job()
    client.force_login(person_in_role("Foreman", organisation=OrganisationFactory()))
    for name in ("route", "route-file"):
        assert client.get(reverse(f"conflicts:{name}", args=[job.pk])).status_code == 404
