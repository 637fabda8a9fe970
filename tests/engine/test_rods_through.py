"""Rods that follow what was read of a drilled bore and end exactly where its bit is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.engine.errors import PathError
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.rods_through import END_M, Readings, rods_through

ROD_M = 3.0


def read_of(true, off_m=None, end_off_m=(0.0, 0.0), sigma_m=0.1) -> Readings:
    """What is read of rods, their joints off by as much as told."""
    stations, elevations = true.joints_m()
    inner = elevations[1:-1]
    return Readings(
        true.entry_elevation_m,
        true.lengths_m,
        true.angles_rad[1:],
        inner if off_m is None else inner + off_m,
        np.full(len(inner), sigma_m),
        (float(stations[-1]) + end_off_m[0], float(elevations[-1]) + end_off_m[1]),
    )


def test_rods_that_were_read_without_an_error_are_given_back():
    angles = np.array([-0.2, -0.2, -0.15, -0.05, 0.02])
    true = RodProfile(0.0, -0.3, np.full(4, ROD_M), angles)
    found = rods_through(read_of(true))
    np.testing.assert_allclose(found.angles_rad, angles, atol=1e-9)
    np.testing.assert_allclose(found.lengths_m, true.lengths_m, atol=1e-9)


def test_one_rod_ends_where_it_was_located_at_the_pitch_that_was_read():
    found = rods_through(
        Readings(0.0, np.array([3.9]), np.array([-0.1]), np.empty(0), np.empty(0), (3.88, -0.42))
    )
    stations, elevations = found.joints_m()
    assert (stations[-1], elevations[-1]) == pytest.approx((3.88, -0.42), abs=END_M)
    assert found.angles_rad[-1] == -0.1


@settings(max_examples=100, deadline=None)
@given(
    st.integers(2, 40),
    st.floats(-0.3, 0.3),
    st.floats(-0.1, 0.1),
    st.floats(-0.3, 0.3),
    st.floats(-0.3, 0.3),
    st.integers(0, 1000),
)
def test_the_end_is_met_and_no_rod_is_bent_much_more_than_was_read(count, pitch, turn, along_m, up_m, seed):
    chance = np.random.default_rng(seed)
    turns = np.concatenate([[0.0], chance.uniform(-1.0, 1.0, count - 1) * turn])
    angles = np.clip(np.concatenate([[pitch], pitch + np.cumsum(turns)]), -0.6, 0.6)
    true = RodProfile(0.0, -1.0, np.full(count, ROD_M), angles)
    # The longer the bore, the more the place of its end may be off from what pitches and lengths give.
    far = min(1.0, count / 10.0)
    read = read_of(true, chance.normal(0.0, 0.05, count - 1), (along_m * far, up_m * far))
    found = rods_through(read)
    stations, elevations = found.joints_m()
    assert (stations[-1], elevations[-1]) == pytest.approx(read.end_m, abs=END_M)
    assert found.angles_rad[-1] == read.angles_rad[-1]
    assert len(found.lengths_m) == count
    assert np.abs(found.angles_rad - true.angles_rad).max() < 0.06
    assert np.abs(elevations[1:-1] - read.elevations_m).max(initial=0.0) < 0.45


def test_an_end_that_no_rods_come_near_to_is_refused():
    read = read_of(RodProfile(0.0, 0.0, np.full(3, ROD_M), np.full(4, -0.1)), end_off_m=(-30.0, 0.0))
    with pytest.raises(PathError, match="cannot be laid along the planned alignment"):
        rods_through(read)
