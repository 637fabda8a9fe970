"""A watch stays with its crossing when the crossings are computed anew, or says that it lost it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.watch_matching import CrossingPlace, CrossingReach, crossing_of_watch, passes_to_watch

quarters = st.integers(0, 12).map(lambda count: count / 4)
places = st.builds(
    CrossingPlace, st.sampled_from(["gas", "water"]), st.sampled_from(["crossing", "alongside"]), quarters
)


def reaching(place, before_m=5.0, after_m=None):
    after_m = before_m if after_m is None else after_m
    return CrossingReach(*place, place.station_m - before_m, place.station_m + after_m)


reaches = st.builds(reaching, places, quarters, quarters)


@given(places, st.lists(reaches, max_size=8))
def test_it_is_the_only_nearest_of_its_line_and_kind_within_whose_reach_it_lies(watched, present):
    """Held to a reading of the definition that asks every crossing about every other."""

    def off(one):
        return abs(one.station_m - watched.station_m)

    like = [
        n
        for n, one in enumerate(present)
        if one[:2] == watched[:2] and not (watched.station_m < one.from_m or watched.station_m > one.until_m)
    ]
    nearest = [n for n in like if all(off(present[n]) < off(present[m]) for m in like if m != n)]
    assert crossing_of_watch(watched, present) == (nearest[0] if nearest else None)


@given(
    places,
    st.lists(reaches, max_size=8).flatmap(lambda some: st.tuples(st.just(some), st.permutations(some))),
)
def test_the_order_of_the_crossings_changes_nothing(watched, both):
    one, other = both
    first, second = crossing_of_watch(watched, one), crossing_of_watch(watched, other)
    assert (first is None) == (second is None)
    assert first is None or one[first] == other[second]


def test_it_follows_a_line_that_was_surveyed_anew():
    present = [reaching(CrossingPlace("gas", "crossing", at)) for at in (10.4, 48.0)]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 12.0), present) == 0


def test_between_two_equally_near_it_proves_neither():
    present = [reaching(CrossingPlace("gas", "crossing", at)) for at in (10.0, 20.0)]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 15.0), present) is None


@pytest.mark.parametrize(
    "present",
    [[], [("water", "crossing", 12.0)], [("gas", "alongside", 12.0)], [("gas", "crossing", 17.1)]],
)
def test_without_a_crossing_of_its_line_and_kind_as_near_it_is_lost(present):
    reaches = [reaching(CrossingPlace(*one)) for one in present]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", 12.0), reaches) is None


@pytest.mark.parametrize(("station_m", "place"), [(8.9, None), (9.0, 0), (10.5, 0), (10.6, None)])
def test_a_reach_counts_to_its_very_ends_and_no_farther(station_m, place):
    present = [CrossingReach("gas", "crossing", 10.0, 9.0, 10.5)]
    assert crossing_of_watch(CrossingPlace("gas", "crossing", station_m), present) == place


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
