"""The steps of a profile against the same steps among fewer lines."""

import numpy as np
import pytest

from conflicts.engine import profile_refine
from conflicts.engine.profile_model import slopes_on_sides
from conflicts.engine.profile_refine import rods_along, widest
from conflicts.engine.profile_samples import telling
from conflicts.engine.profile_search import search_profile
from tests.benchmarks.invented_streets import invented_street

# A climb ends where a step gains less than a fifth of a millimetre, the search gives up half of one.
AS_FAR_M = 1e-3


def passes_under(found, obstacles):
    """The side of each line on which a profile passes, where it comes nearest to it."""
    at = found.rods.at(found.nearest_m).elevations_m
    lower = [
        one.edges_m(np.array([station]), 0.0)[0][0]
        for one, station in zip(obstacles, found.nearest_m, strict=True)
    ]
    return at <= np.array(lower)


@pytest.mark.parametrize("seed", [1, 3, 10, 17, 31, 41, 52, 53])
def test_among_the_lines_that_hold_it_alone_a_profile_comes_no_farther(seed):
    limits, obstacles = invented_street(seed, 600.0, 20)
    best = search_profile(limits, obstacles).found
    sides = passes_under(best, obstacles)
    found, holding = widest(limits, obstacles, telling(limits, obstacles), sides, best.rods)
    assert found.keeps_limits
    assert 0 < holding.sum() < len(obstacles) / 2
    few = [one for one, holds in zip(obstacles, holding, strict=True) if holds]
    alone, _holding = widest(limits, few, telling(limits, few), sides[holding], found.rods, is_patient=True)
    assert alone.margin_m <= found.margin_m + AS_FAR_M


@pytest.mark.parametrize("seed", [5, 18, 38, 44, 57])
def test_a_climb_cut_short_is_brought_back_within_the_limits(monkeypatch, seed):
    limits, obstacles = invented_street(seed, 600.0, 20)
    told_at = telling(limits, obstacles)
    sides = passes_under(search_profile(limits, obstacles).found, obstacles)
    begin = slopes_on_sides(limits, obstacles, told_at, sides, 0.0, 0.5)
    monkeypatch.setattr(profile_refine, "MOST_STEPS", 2)
    found, _holding = widest(limits, obstacles, told_at, sides, rods_along(limits, begin))
    assert found.keeps_limits
