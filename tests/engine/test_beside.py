"""Places beside an alignment by station and offset."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.engine.beside import points_beside
from conflicts.engine.errors import PathError
from conflicts.engine.line import project_on

BENT = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 40.0]])


def test_right_is_right_facing_the_exit_and_the_offset_is_square():
    places = points_beside(BENT, [10.0, 10.0, 50.0, 70.0], [2.0, -2.0, 3.0, 0.0])
    assert places.tolist() == [[10.0, -2.0], [10.0, 2.0], [33.0, 20.0], [30.0, 40.0]]


def test_at_a_bend_the_offset_is_square_to_the_straight_that_begins_there():
    assert points_beside(BENT, [30.0], [1.0]).tolist() == [[31.0, 0.0]]


def test_a_station_within_a_centimetre_of_an_end_is_the_end():
    assert points_beside(BENT, [70.005], [0.0]).tolist() == [[30.0, 40.0]]


@pytest.mark.parametrize("station_m", [-1.0, 70.1, np.nan])
def test_a_station_that_the_alignment_lacks_is_refused(station_m):
    with pytest.raises(PathError, match="before the alignment's entry or past its end"):
        points_beside(BENT, [station_m], [0.0])


def test_an_alignment_without_length_is_refused():
    with pytest.raises(PathError, match="two points that differ"):
        points_beside([[1.0, 1.0], [1.0, 1.0]], [0.0], [0.0])


@given(station_m=st.floats(2.0, 28.0), offset_m=st.floats(-2.0, 2.0))
def test_the_nearest_point_of_the_alignment_is_at_the_station_again(station_m, offset_m):
    place = points_beside(BENT, [station_m], [offset_m])
    assert project_on(place, BENT)[0] == pytest.approx(station_m, abs=1e-9)
