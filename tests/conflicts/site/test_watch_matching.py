"""A watch stays with its crossing when the crossings are computed anew, or says that it lost it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.watch_matching import CrossingPlace, crossing_of_watch, passes_to_watch

places = st.builds(
    CrossingPlace,
    st.sampled_from(["gas", "water"]),
    st.sampled_from(["crossing", "alongside"]),
    st.integers(0, 12).map(lambda quarters: quarters / 4),
)


@given(places, st.lists(places, max_size=8))
def test_it_is_the_only_nearest_of_its_line_and_kind(watched, present):
    """Held to a reading of the definition that asks every crossing about every other."""

    def off(one):
        return abs(one.station_m - watched.station_m)

    like = [n for n, one in enumerate(present) if one[:2] == watched[:2]]
    nearest = [n for n in like if all(off(present[n]) < off(present[m]) for m in like if m != n)]
    assert crossing_of_watch(watched, present) == (nearest[0] if nearest else None)


@given(
    places, st.lists(places, max_size=8).flatmap(lambda some: st.tuples(st.just(some), st.permutations(some)))
)
def test_the_order_of_the_crossings_changes_nothing(watched, both):
    one, other = both
    first, second = crossing_of_watch(watched, one), crossing_of_watch(watched, other)
    assert (first is None) == (second is None)
    assert first is None or one[first] == other[second]


def test_it_follows_a_line_that_was_surveyed_anew():
    present = [CrossingPlace("gas", "crossing", 10.4), CrossingPlace("gas", "crossing", 48.0)]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 12.0), present) == 0


def test_between_two_equally_near_it_proves_neither():
    present = [CrossingPlace("gas", "crossing", 10.0), CrossingPlace("gas", "crossing", 20.0)]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 15.0), present) is None


@pytest.mark.parametrize(
    "present", [[], [CrossingPlace("water", "crossing", 12.0)], [CrossingPlace("gas", "alongside", 12.0)]]
)
def test_without_a_crossing_of_its_line_and_kind_it_is_lost(present):
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 12.0), present) is None


@pytest.mark.parametrize(
    ("pilot_m", "passes"),
    [
        (0.1, ("pilot", "reaming", "pullback")),
        (None, ("pilot", "reaming", "pullback")),
        (0.25, ("pilot", "pullback")),
    ],
)
def test_reaming_is_watched_unless_the_pilot_is_the_finished_hole(pilot_m, passes):
    assert passes_to_watch(pilot_m, 0.25) == passes
