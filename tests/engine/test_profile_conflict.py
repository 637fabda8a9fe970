"""The smallest conflict of a profile's demands against every set of them."""

from itertools import combinations

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from conflicts.engine.profile_conflict import DemandsOfWays, smallest_conflict
from conflicts.engine.profile_limits import ForbiddenBand, Range
from conflicts.engine.profile_proof import Demand, OuterModel, is_impossible
from conflicts.engine.profile_search import search_profile
from tests.benchmarks.invented_streets import invented_street
from tests.engine.profile_cases import limits_of


@st.composite
def hard_bores(draw):
    """Short bores among bands, most of which no profile passes."""
    tenth = st.integers(0, 40).map(lambda value: value / 10)
    bands = []
    for number in range(draw(st.integers(1, 3))):
        middle, top = draw(st.integers(40, 140)) / 10, draw(tenth)
        bands.append(ForbiddenBand(f"band {number}", middle - 0.3, middle + 0.3, -top - 1.5, -top + 0.5))
    limits = limits_of(
        length_m=18.0,
        greatest_depth_m=draw(st.integers(10, 40)) / 10,
        minimum_cover_m=draw(st.sampled_from([0.0, 0.9])),
        covered_m=Range(6.0, 12.0),
        entry_pitch_ratio=Range(-0.30, draw(st.sampled_from([-0.30, -0.15]))),
    )
    return limits, bands


@settings(max_examples=12, deadline=None)
@given(hard_bores())
def test_no_smaller_set_is_impossible_and_the_set_itself_is(bore):
    limits, bands = bore
    conflict = smallest_conflict(limits, bands)
    model = OuterModel(limits, bands)
    count = len(Demand) + len(bands)
    if conflict is None:
        assert not is_impossible(limits, bands)
        return
    broken = model.broken
    if broken(range(count)) is not None:
        broken = DemandsOfWays(limits, bands).broken
    chosen = {list(Demand).index(one) for one in conflict.demands} | {
        len(Demand) + number for number in conflict.lines
    }
    assert broken(chosen) is None
    # A set that can be kept has no impossible part, so the sets one smaller stand for all smaller ones.
    assume(len(chosen) <= 4)
    for smaller in combinations(range(count), len(chosen) - 1):
        assert broken(smaller) is not None


def test_a_street_that_only_all_ways_together_show_to_be_impossible_has_its_conflict_told():
    limits, obstacles = invented_street(60, 600.0, 20)
    ways = DemandsOfWays(limits, obstacles)
    assert OuterModel(limits, obstacles).broken(range(len(Demand) + len(obstacles))) is not None
    conflict = smallest_conflict(limits, obstacles)
    chosen = {list(Demand).index(one) for one in conflict.demands} | {
        len(Demand) + number for number in conflict.lines
    }
    assert not ways.may_hold(chosen)
    assert all(ways.may_hold(chosen - {one}) for one in chosen)
    assert search_profile(limits, [obstacles[number] for number in conflict.lines]).is_proven
