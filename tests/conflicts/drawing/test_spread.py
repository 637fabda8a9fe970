"""Labels in a row: in order, apart, inside, and as near to their places as that leaves them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from conflicts.drawing.spread import spread

rows = st.lists(st.tuples(st.floats(0, 1000), st.floats(5, 60)), min_size=1, max_size=12).map(
    lambda pairs: (sorted(place for place, _ in pairs), [width for _, width in pairs])
)


def test_labels_with_room_stand_at_their_places():
    assert spread([100, 200, 300], [40, 40, 40], 0, 400) == [100, 200, 300]


def test_two_at_one_place_stand_beside_it():
    assert spread([100, 100], [40, 40], 0, 400) == [80, 120]


def test_labels_at_an_end_stay_inside():
    assert spread([0, 399], [40, 60], 0, 400) == [20, 370]


def test_labels_wider_than_their_row_share_it():
    assert spread([0, 0, 0], [40, 40, 40], 0, 60) == [10, 30, 50]


def test_no_labels_have_no_places():
    assert spread([], [], 0, 60) == []


@given(rows)
def test_labels_keep_their_order_and_never_overlap(row):
    wanted, widths = row
    places = spread(wanted, widths, 0, 1000)
    assert places[0] >= widths[0] / 2 - 1e-6
    assert places[-1] <= 1000 - widths[-1] / 2 + 1e-6
    for index in range(len(places) - 1):
        apart = places[index + 1] - places[index]
        assert apart >= (widths[index] + widths[index + 1]) / 2 - 1e-6


def test_labels_move_no_more_than_they_must():
    # Against scipy's general minimiser under the same bounds.
    wanted, widths = [100, 110, 115, 300, 310], [40, 30, 50, 20, 40]
    gaps = [(widths[k] + widths[k + 1]) / 2 for k in range(4)]
    bounds = [{"type": "ineq", "fun": lambda x, k=k: x[k + 1] - x[k] - gaps[k]} for k in range(4)]
    best = minimize(
        lambda x: sum((x[k] - wanted[k]) ** 2 for k in range(5)),
        [50, 150, 250, 350, 450],
        constraints=bounds,
        options={"ftol": 1e-12},
    )
    assert spread(wanted, widths, 0, 1000) == pytest.approx(list(best.x), abs=1e-3)
