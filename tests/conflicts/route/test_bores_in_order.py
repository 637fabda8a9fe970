"""The bores of a job in order: chains, their lengths, and the gaps between them."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.route.chains import route_of
from tests.conflicts.route.made_bores import bore, end, order_of, stated

A = bore("A", (0, 0), (100, 0))
B = bore("B", (200, 0), (100, 0))
C = bore("C", (200, 0), (250, 50), (300, 50))


def test_bores_stand_in_the_order_in_which_the_conduit_goes_through_them():
    [chain] = route_of([C, A, B]).chains
    assert order_of(chain) == "A <B C"
    assert [leg.from_m for leg in chain.legs] == [0.0, 100.0, 200.0]
    assert chain.length_m == pytest.approx(shapely.LineString(chain.plan_m).length)


def test_a_chain_runs_the_way_in_which_most_of_it_is_drilled():
    [chain] = route_of([bore("Short", (100, 0), (90, 0)), bore("Long", (100, 0), (200, 0))]).chains
    assert order_of(chain) == "<Short Long"
    [chain] = route_of([B, A]).chains
    assert order_of(chain) == "B <A"


def test_what_lies_between_joined_ends_counts_once_and_apart():
    said = [stated("A exit", "D entry")]
    route = route_of([A, bore("D", (103, 4), (203, 4))], said)
    [chain] = route.chains
    assert (chain.bored_m, chain.between_m, chain.length_m) == (200.0, 5.0, 205.0)
    assert [leg.from_m for leg in chain.legs] == [0.0, 105.0]
    assert shapely.LineString(chain.plan_m).length == pytest.approx(205.0)
    assert route.bored_m == 200.0


def test_ends_that_nothing_joins_are_named_with_their_distance():
    route = route_of([A, bore("Far", (500, 0), (600, 0)), bore("Near", (100, 30), (100, 130))])
    assert [order_of(chain) for chain in route.chains] == ["A", "Near", "Far"]
    first, second = route.gaps
    assert (first.ends, first.apart_m) == ((end("A exit"), end("Near entry")), 30.0)
    assert (second.ends, second.apart_m) == ((end("A exit"), end("Far entry")), 400.0)
    assert not route.is_one_line


def test_a_chain_behind_a_gap_begins_at_the_gap():
    beyond = [bore("E", (120, 0), (150, 0)), bore("N", (150, 60), (150, 0))]
    route = route_of([A, *beyond])
    assert [order_of(chain) for chain in route.chains] == ["A", "E <N"]
    route = route_of([A, *[bore("E", (150, 0), (120, 0)), bore("N", (150, 60), (150, 0))]])
    assert [order_of(chain) for chain in route.chains] == ["A", "<E <N"]
    assert route.chains[1].legs[0].first == route.gaps[0].ends[1] == end("E exit")


def test_a_ring_begins_at_the_first_bore_of_the_list():
    sides = [bore("D", (0, 60), (0, 0)), bore("A", (0, 0), (80, 0)), bore("B", (80, 0), (0, 60))]
    route = route_of(sides)
    [chain] = route.chains
    assert chain.is_ring
    assert order_of(chain) == "D A B"
    assert chain.length_m == pytest.approx(240.0)
    assert (chain.plan_m[0] == chain.plan_m[-1]).all()


def test_the_length_of_the_holes_is_not_known_where_that_of_one_is_not():
    known = bore("K", (100, 0), (200, 0), hole_length_m=101.0)
    assert route_of([A, known]).chains[0].hole_length_m is None
    assert route_of([known]).chains[0].hole_length_m == 101.0


def test_no_bore_is_no_chain():
    route = route_of([])
    assert (route.chains, route.gaps, route.is_one_line) == ((), (), False)


@settings(max_examples=200, deadline=None)
@given(
    st.integers(1, 7),
    st.randoms(use_true_random=False),
    st.lists(st.booleans(), min_size=7, max_size=7),
    st.booleans(),
)
def test_bores_cut_from_one_line_come_back_as_that_line(count, chance, turned, is_closed):
    # The corners of a polygon of as many sides: no two ends but neighbours lie together.
    angles = np.linspace(0.0, 2.0 * np.pi, count + 3)[: count + 1]
    corners = np.column_stack([np.cos(angles), np.sin(angles)]) * 300.0
    if is_closed and count >= 3:
        corners[-1] = corners[0]
    pieces = [
        bore(str(place), *(corners[place : place + 2][::-1] if turned[place] else corners[place : place + 2]))
        for place in range(count)
    ]
    whole = shapely.LineString(corners)
    chance.shuffle(pieces)
    route = route_of(pieces)
    [chain] = route.chains
    assert chain.is_ring == (is_closed and count >= 3)
    found = shapely.LineString(chain.plan_m)
    assert found.length == pytest.approx(whole.length)
    assert shapely.normalize(found).equals_exact(shapely.normalize(whole), 1e-9) or chain.is_ring
    assert found.hausdorff_distance(whole) < 1e-9


@settings(max_examples=100, deadline=None)
@given(
    st.lists(
        st.tuples(*[st.integers(0, 12).map(float)] * 4).filter(lambda one: one[:2] != one[2:]),
        min_size=1,
        max_size=9,
    )
)
def test_every_bore_stands_once_and_gaps_are_the_least_that_reach_every_chain(sticks):
    bores = [bore(str(place), one[:2], one[2:]) for place, one in enumerate(sticks)]
    route = route_of(bores)
    assert sorted(leg.bore.name for leg in route.legs) == sorted(one.name for one in bores)
    assert len(route.gaps) == len(route.chains) - 1
    # Kruskal's tree over the free ends, as a second opinion.
    ends = [
        [leg.plan_m[side] for leg, side in ((chain.legs[0], 0), (chain.legs[0 if chain.is_ring else -1], -1))]
        for chain in route.chains
    ]
    edges = sorted(
        (min(float(np.linalg.norm(p - q)) for p in ends[one] for q in ends[two]), one, two)
        for one in range(len(ends))
        for two in range(one)
    )
    tree = list(range(len(ends)))
    total = 0.0
    for apart_m, one, two in edges:
        if tree[one] != tree[two]:
            total += apart_m
            old, new = tree[one], tree[two]
            tree = [new if at == old else at for at in tree]
    assert sum(gap.apart_m for gap in route.gaps) == pytest.approx(total)
