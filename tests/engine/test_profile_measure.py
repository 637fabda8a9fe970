"""The margins that a profile is measured by, held against brute force at every millimetre."""

import numpy as np
import pytest

from conflicts.engine.profile_search import search_profile
from tests.benchmarks.invented_streets import invented_street


@pytest.mark.parametrize("seed", [9, 27, 29, 58])
def test_the_least_margin_is_found_between_the_samples_too(seed):
    """On the first of these a line's margin has a corner 3 cm from a sample, where it is 6 mm less."""
    limits, obstacles = invented_street(seed, 600.0, 20)
    found = search_profile(limits, obstacles).found
    least_m = np.inf
    for one in obstacles:
        low_m, high_m = max(found.rods.entry_station_m, one.from_m), min(limits.length_m, one.to_m)
        if low_m < high_m:
            stations_m = np.linspace(low_m, high_m, int(np.ceil((high_m - low_m) / 0.001)) + 1)
            least_m = min(least_m, one.margins_m(stations_m, found.rods.at(stations_m).elevations_m).min())
    # Half of 2 mm of station, and no margin changes faster than the bore or the line comes nearer.
    assert least_m == pytest.approx(found.margin_m, abs=0.5e-3)
