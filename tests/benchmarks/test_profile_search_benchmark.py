"""The benchmark of the profile search runs, small, and its peer comes to about the same margins."""

import numpy as np

from tests.benchmarks.profile_search import compare


def test_search_and_grid_come_to_about_the_same_margins():
    found = compare(300.0, 8, streets=3)
    assert np.isfinite(found.margins_m).all()
    # The grid's cells, and its bends in slope where the rods' are in angle, cost it a decimetre or two.
    assert (np.array(found.margins_m) >= np.array(found.peer_margins_m) - 0.05).all()
    assert (np.array(found.margins_m) <= np.array(found.peer_margins_m) + 0.40).all()
    assert (np.array(found.margins_m) >= np.array(found.finer_margins_m) - 0.005).all()
    assert all(
        bound is None or bound > own for bound, own in zip(found.bounds_m, found.margins_m, strict=True)
    )
    assert found.ratio > 0.0
