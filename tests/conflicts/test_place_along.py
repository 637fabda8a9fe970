"""Stations and offsets along a stored bore, as longitude and latitude."""

import numpy as np
import pytest

from conflicts.desk.place_along import place_along
from locates.errors import PositionError
from locates.stationing import places_along, stationed_lines
from tests.factories import PLACE, BoreFactory, JobFactory, line, stand_aside

pytestmark = pytest.mark.django_db


def metres(places):
    longitudes, latitudes = zip(*places, strict=True)
    return PLACE.to_ground(longitudes, latitudes)


def test_places_lie_where_a_tape_along_the_ground_finds_them():
    bore = BoreFactory()
    places = place_along(bore.pk, [(1, (30.48, 0.9144)), (2, (100.0, -2.0))])
    assert metres(places) == pytest.approx(np.array([[30.48, -0.9144], [100.0, 2.0]]), abs=1e-4)


def test_a_site_high_up_is_measured_on_its_own_ground():
    high = BoreFactory(job=JobFactory(mean_height_m=1600.0))
    low = BoreFactory(alignment=high.alignment)
    ((high_longitude, _),) = place_along(high.pk, [(1, (90.0, 0.0))])
    ((low_longitude, _),) = place_along(low.pk, [(1, (90.0, 0.0))])
    ratio = (low_longitude + 78.5) / (high_longitude + 78.5)
    # h/R at 1,600 m: DESIGN's 251 ppm.
    assert ratio == pytest.approx(1 + 1600 / 6371008.77, abs=1e-6)


@pytest.mark.parametrize(
    ("place", "words"),
    [
        ((110.0, 0.0), r"line 3: found station 3\+60.9; accepted: 0\+00.0 to 3\+28.1, the end of"),
        ((-1.0, 0.0), "found station \N{MINUS SIGN}0\\+03.3"),
        ((50.0, 200.0), "found an offset of 656 ft 2"),
    ],
)
def test_a_place_that_is_not_beside_the_bore_is_refused_by_its_line(place, words):
    with pytest.raises(PositionError, match=words):
        place_along(BoreFactory().pk, [(3, place)])


def test_only_live_bores_of_the_job_have_stations():
    bore = BoreFactory(name="B", alignment=line((0, 0), (100, 0)))
    stand_aside(BoreFactory(job=bore.job, name="A"))
    BoreFactory()
    assert [one.name for one in stationed_lines(bore.job)] == ["B"]
    assert len(places_along(bore.job, bore.pk, "0+00\n1+00 L 2 ft")) == 2
