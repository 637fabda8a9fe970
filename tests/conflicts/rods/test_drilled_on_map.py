"""What was drilled on the map: the path in its band, an abandoned leg by itself, for who may see rods."""

import numpy as np
import pytest
import shapely
from django.urls import reverse

from conflicts.assess import compute_bores, store_assessment
from conflicts.drawing.map_drilled import band_m
from conflicts.drilled import drilled_path
from conflicts.engine.frame import frame_about
from conflicts.gather_rods import gather_rods
from conflicts.map_records import read_bore_map, read_job_map
from conflicts.models import Bore
from tests import factories
from tests.factories import DrilledRodFactory, RodWithdrawalFactory, person_in_role, point

pytestmark = pytest.mark.django_db

AT = factories.PLANNED_START_AT


@pytest.fixture
def bore():
    """A bore to the east with two rods 20 cm right of it in the ground, and one that was pulled back."""
    stored = factories.small_job().bores.get()
    last = None
    for number in (1, 2, 3):
        longitude, latitude = point(3.0 * number, -0.2).coords
        last = DrilledRodFactory(
            bore=stored, after=last, depth_m=1.0, dot_longitude_deg=longitude, dot_latitude_deg=latitude
        )
    RodWithdrawalFactory(rod=last, reason="a stone")
    return Bore.objects.select_related("job__jurisdiction").get(pk=stored.pk)


def in_ground_frame(bore, shape):
    frame = frame_about([bore.alignment.coords], bore.job.mean_height_m)
    return shapely.transform(shape, lambda lon_lat: frame.to_ground(lon_lat[:, 0], lon_lat[:, 1]))


def test_the_leg_is_drawn_from_where_it_left_the_rods_that_stayed(bore):
    leg, path = read_job_map(bore.job, AT).drilled
    assert (leg.leg, path.leg, leg.band) == ("Leg 1", "", None)
    assert in_ground_frame(bore, leg.shape).length == pytest.approx(3.0, abs=0.05)
    assert in_ground_frame(bore, path.shape).length == pytest.approx(6.0, abs=0.05)
    assert "pulled back" in leg.words
    assert "drilled to station 0+19.7, rod 2" in path.words


def test_the_band_is_as_wide_as_the_error_of_each_rod(bore):
    scene = compute_bores([bore.pk])[bore.pk].scene
    drilled = drilled_path(scene, gather_rods([bore])[bore.pk])
    path_m = drilled.path.points_m[:, :2]
    ring = band_m(drilled, path_m)
    right, left = ring[: len(path_m)], ring[len(path_m) :][::-1]
    widths = np.linalg.norm(right - left, axis=1)
    assert widths[-1] == pytest.approx(2.0 * drilled.head.horizontal_error_m)
    assert 0.5 * (right + left) == pytest.approx(path_m)
    # To the right of who faces the exit, which is south here.
    assert (right[:, 1] < left[:, 1]).all()


def test_the_document_carries_it_for_who_may_see_rods_and_only_for_them(client, bore):
    store_assessment(bore.pk)
    address = reverse("conflicts:map-data", args=[bore.pk])
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    table = client.get(address).json()["drilled"]
    assert table["columns"] == ["bore", "leg", "words", "line", "band"]
    assert [row[1] for row in table["rows"]] == ["Leg 1", ""]
    assert read_bore_map(bore, AT, shows_rods=False).drilled == []


def test_the_words_of_the_map_say_that_something_was_drilled(client, bore):
    store_assessment(bore.pk)
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert "It shows too what was drilled of it." in page
    page = client.get(reverse("conflicts:job", args=[bore.job_id])).content.decode()
    assert f"It shows too what was drilled of {bore.name}." in page
