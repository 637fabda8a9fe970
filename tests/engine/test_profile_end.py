"""A profile written to the millimetre ends with its alignment, whichever way its last station was rounded."""

import numpy as np
import pytest

from conflicts.engine.drillability import end_pitches_ratio, tightest_kink
from conflicts.engine.path import path_of_profile

ALIGNMENT_M = np.array([[0.0, 0.0], [100.0004, 0.0]])


@pytest.mark.parametrize("last_m", [99.991, 100.0, 100.0004, 100.001, 100.01])
def test_the_last_station_is_taken_as_the_alignments_length(last_m):
    path = path_of_profile(ALIGNMENT_M, [0.0, 20.0, 80.0, last_m], [0.0, -2.0, -2.0, 0.0])
    assert path.stations_m[-1] == pytest.approx(100.0004, abs=1e-9)
    assert len(path.stations_m) == 4
    entry, leaving = end_pitches_ratio(path)
    assert (entry, leaving) == pytest.approx((-0.1, 2.0 / 20.0004), abs=1e-9)
    assert tightest_kink(path).radius_m > 400.0


def test_a_profile_that_stops_farther_off_is_held_level_to_the_end():
    path = path_of_profile(ALIGNMENT_M, [0.0, 20.0, 80.0, 99.0], [0.0, -2.0, -2.0, 0.0])
    assert path.at(99.5)[2] == 0.0
