"""The profile search on instances with answers proven by hand, in feet: flat ground, surface to surface.

Instances A to C, I1 and I3 and their proofs: the project's list of check values, solved there in two ways.
There the first ten feet of station are straight; here the first rod of ten feet, so the level depth behind a
15 degree entry is 10 sin 15 + 100 (1 - cos 15) = 5.99561 ft (Najafi, Trenchless Technology Piping, eq. 5.7).
"""

import numpy as np
import pytest

from conflicts.engine.profile_conflict import smallest_conflict
from conflicts.engine.profile_limits import Range
from conflicts.engine.profile_proof import Demand
from conflicts.engine.profile_search import search_profile
from tests.engine.profile_cases import FOOT_M, band_in_feet, in_feet

LEVEL_DEPTH_FT = 10.0 * np.sin(np.radians(15.0)) + 100.0 * (1.0 - np.cos(np.radians(15.0)))


def grade(degrees):
    return float(np.tan(np.radians(degrees)))


def from_entry(degrees, **changes):
    """Entry at one angle, exit at 5 to 15 degrees, radius 100 ft, length 200 ft."""
    return in_feet(
        200.0,
        100.0,
        entry_pitch_ratio=Range(-grade(degrees), -grade(degrees)),
        exit_pitch_ratio=Range(grade(5.0), grade(15.0)),
        steepest_pitch_ratio=grade(15.0),
        **changes,
    )


def between(steepest, **changes):
    """Any pitch up to a steepest one at both ends."""
    return in_feet(
        200.0,
        changes.pop("radius_ft", 100.0),
        entry_pitch_ratio=Range(-steepest, steepest),
        exit_pitch_ratio=Range(-steepest, steepest),
        steepest_pitch_ratio=steepest,
        **changes,
    )


def lines_of_c():
    return [band_in_feet(40.0, -0.1, 6.0), band_in_feet(50.0, 3.0, 7.0)]


def limits_of_c(deepest_ft):
    return in_feet(
        200.0,
        100.0,
        depths_ft=(deepest_ft,),
        entry_pitch_ratio=Range(-grade(20.0), -grade(10.0)),
        exit_pitch_ratio=Range(grade(5.0), grade(20.0)),
        steepest_pitch_ratio=grade(20.0),
    )


def deepest_ft(found):
    stations = np.linspace(0.0, 200.0 * FOOT_M, 4001)
    return float(-found.rods.at(stations).elevations_m.min() / FOOT_M)


def test_a_feasible():
    limits = from_entry(15.0, depths_ft=(6.5,), cover_ft=(4.0, 36.0, 164.0))
    found = search_profile(limits, []).found
    assert found is not None
    assert LEVEL_DEPTH_FT - 1e-4 <= deepest_ft(found) <= 6.5 + 1e-3
    middle = found.rods.at(np.linspace(36.0, 164.0, 300) * FOOT_M).elevations_m
    assert middle.max() <= -4.0 * FOOT_M + 1e-4


def test_b_infeasible_by_bend_radius_and_proven_so():
    limits = from_entry(15.0, depths_ft=(5.0,))
    found = search_profile(limits, [])
    assert found.found is None
    assert found.is_proven
    conflict = smallest_conflict(limits, [])
    assert conflict is not None
    assert conflict.lines == ()
    assert {Demand.ENTRY_PITCH, Demand.BEND_RADIUS, Demand.GREATEST_DEPTH} <= set(conflict.demands)
    assert Demand.EXIT_PITCH not in conflict.demands
    assert Demand.COVER not in conflict.demands


def test_b_with_ten_degrees_at_entry_is_feasible():
    found = search_profile(from_entry(10.0, depths_ft=(5.0,)), []).found
    assert found is not None
    # 10 sin 10 + 100 (1 - cos 10).
    assert deepest_ft(found) >= 3.2557 - 1e-3


@pytest.mark.parametrize(
    ("deepest", "is_feasible"), [(5.97, False), (5.99, False), (6.0, True), (6.05, True)]
)
def test_b_turns_feasible_at_the_level_depth_of_the_closed_form(deepest, is_feasible):
    found = search_profile(from_entry(15.0, depths_ft=(deepest,)), []).found
    assert (found is not None) == is_feasible
    assert 5.99 < LEVEL_DEPTH_FT < 6.0


def test_c_must_go_under():
    limits, lines = limits_of_c(15.0), lines_of_c()
    found = search_profile(limits, lines).found
    assert found is not None
    depths = -found.rods.at(np.array([40.0, 50.0]) * FOOT_M).elevations_m / FOOT_M
    assert (depths >= [6.0, 7.0]).all()
    # The list's witness has 9.94 and 10.84 ft there, with 3.84 ft of margin: the best is no worse.
    assert found.margin_m >= 3.84 * FOOT_M


def test_c_with_a_cap_above_the_lower_line_is_proven_infeasible_because_of_that_line():
    limits, lines = limits_of_c(6.9), lines_of_c()
    found = search_profile(limits, lines)
    assert found.found is None
    assert found.is_proven
    conflict = smallest_conflict(limits, lines)
    assert conflict is not None
    assert Demand.GREATEST_DEPTH in conflict.demands
    assert 1 in conflict.lines


def test_i1_a_cover_of_six_feet_over_the_middle_is_reached():
    found = search_profile(between(0.30, cover_ft=(6.0, 60.0, 140.0)), []).found
    assert found is not None
    middle = found.rods.at(np.linspace(60.0, 140.0, 200) * FOOT_M).elevations_m / FOOT_M
    assert middle.max() <= -6.0 + 4e-4
    # Of profiles that have the cover the shortest is taken, which goes little deeper.
    assert deepest_ft(found) <= 7.5


@pytest.mark.parametrize(("cover_ft", "can_go_over"), [(3.0, False), (2.0, True)])
def test_i3_goes_over_only_where_the_cover_lets_it(cover_ft, can_go_over):
    # Under a band that goes down without end there is no way: over at 2.5 ft, or not at all.
    limits = between(0.25, cover_ft=(cover_ft, 30.0, 170.0))
    found = search_profile(limits, [band_in_feet(100.0, 2.5, 300.0)])
    assert (found.found is not None) == can_go_over
    assert found.is_proven != can_go_over
    under = search_profile(limits, [band_in_feet(100.0, 2.5, 6.5)]).found
    assert under is not None
    assert deepest_ft(under) >= 6.5


def test_a_line_that_blocks_every_depth_is_the_whole_conflict():
    limits = between(0.25)
    lines = [band_in_feet(60.0, 2.0, 3.0), band_in_feet(100.0, -10.0, 1000.0)]
    assert search_profile(limits, lines).is_proven
    conflict = smallest_conflict(limits, lines)
    assert conflict is not None
    assert (conflict.demands, conflict.lines) == ((), (1,))
