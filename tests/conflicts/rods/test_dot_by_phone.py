"""The phone's position as the dot: where it lies along the plan, how sure it is, what is asked about it."""

import json

import numpy as np
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from conflicts.engine.beside import beside_of, points_beside
from conflicts.models import DrilledRod
from locates.exchange.dot_fix import PlaceFix, read_place_fix
from tests import factories
from tests.factories import person_in_role, point

BENT = [(0.0, 0.0), (40.0, 0.0), (70.0, 20.0)]


@given(
    station_m=st.floats(0.0, 40.0 + float(np.hypot(30.0, 20.0))),
    offset_m=st.floats(-100.0, 100.0),
)
def test_station_and_offset_lead_back_to_the_place_or_to_a_nearer_stretch(station_m, offset_m):
    [place] = points_beside(BENT, [station_m], [offset_m])
    found_m, away_m = beside_of(BENT, place)
    # The nearest stretch may be another than the one that the offset was set off from, never a farther one.
    assert abs(away_m) <= abs(offset_m) + 1e-9
    if abs(found_m - 40.0) > 1e-6:
        [again] = points_beside(BENT, [found_m], [away_m])
        at_an_end = min(found_m, 40.0 + np.hypot(30.0, 20.0) - found_m) < 1e-6
        assert at_an_end or again == pytest.approx(place, abs=1e-6)


@pytest.mark.parametrize(
    ("place", "expected"),
    [((10.0, -2.0), (10.0, 2.0)), ((10.0, 3.0), (10.0, -3.0)), ((-4.0, 3.0), (0.0, -5.0))],
)
def test_right_is_positive_and_past_an_end_the_distance_from_it_counts(place, expected):
    assert beside_of(BENT, place) == pytest.approx(expected)


def test_a_fix_is_read_and_an_accuracy_that_is_none_stays_unknown():
    assert read_place_fix("[-78.5, 38.0, 4.5]") == PlaceFix(-78.5, 38.0, 4.5)
    for unknown in ("null", "-1", '"4"', "true"):
        assert read_place_fix(f"[-78.5, 38.0, {unknown}]") == PlaceFix(-78.5, 38.0, None)


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[1, 2]", "[1, 2, 3, 4]", "[181, 0, 1]", "[0, 91, 1]", "[null, 0, 1]", "[true, 0, 1]", "x"],
)
def test_what_is_no_place_is_none(text):
    assert read_place_fix(text) is None


@pytest.fixture
def bore(db):
    return factories.small_job().bores.get()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def fix(east_m, north_m, error_m=0.03):
    return json.dumps([*point(east_m, north_m).coords, error_m])


def log(client, bore, **values):
    plain = {"depth": "12", "depth_unit": "in", "pitch": "10", "going": "down", "length": "10 ft"}
    return client.post(reverse("conflicts:rods", args=[bore.pk]), plain | values)


def test_a_fix_is_stored_with_its_error_and_with_station_and_offset_along_the_plan(foreman, bore):
    answer = log(foreman, bore, dot_fix=fix(3.0, -0.05))
    assert answer.status_code == 302, answer.content.decode()
    rod = DrilledRod.objects.get()
    assert (rod.dot_longitude_deg, rod.dot_latitude_deg) == point(3.0, -0.05).coords
    assert rod.dot_error_m == 0.03
    assert (rod.dot_station_m, rod.dot_offset_m) == pytest.approx((3.0, 0.05), abs=0.002)


def test_a_fix_that_is_less_sure_than_no_dot_is_asked_about_and_kept_where_it_is_confirmed(foreman, bore):
    rough = fix(3.0, 0.0, 4.5)
    page = log(foreman, bore, dot_fix=rough).content.decode()
    assert "The dot may be 14 ft 9 1/4 in off." in page
    assert "measure station and offset, or leave the dot out" in page
    assert not DrilledRod.objects.exists()
    # What came from the phone is still there.
    assert f'value="{rough.replace(chr(34), "&quot;")}"' in page
    token = page.partition('name="confirmed" value="')[2].partition('"')[0]
    assert token.startswith("rough_dot:")
    assert log(foreman, bore, dot_fix=rough, confirmed=token).status_code == 302
    assert [one["code"] for one in DrilledRod.objects.get().confirmed] == ["rough_dot"]


def test_a_fix_out_of_line_with_the_rod_is_asked_about(foreman, bore):
    page = log(foreman, bore, dot_fix=fix(9.0, 0.0)).content.decode()
    assert "this rod reaches" in page
    assert not DrilledRod.objects.exists()


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"dot_fix": fix(3.0, 0.0, None)}, "does not say how far off"),
        ({"dot_fix": fix(3.0, 900.0)}, "from this bore; accepted is"),
        ({"dot_fix": "nothing"}, "could not be read"),
        ({"dot_fix": fix(3.0, 0.0), "dot_station": "0+10", "dot_side": "on"}, "accepted is one of both"),
    ],
)
def test_a_fix_that_cannot_be_the_dot_is_refused_in_words_and_nothing_is_stored(foreman, bore, values, told):
    page = log(foreman, bore, **values).content.decode()
    assert told in page
    assert 'value="12"' in page
    assert not DrilledRod.objects.exists()
