"""Rough dots in mid-hole stay rough on their joints, unless the sure dots on both sides know better."""

from itertools import product

import numpy as np
import pytest

from conflicts.drilled import drilled_path
from conflicts.engine.drilled_path import spread
from conflicts.head_errors import widened
from tests import factories
from tests.conflicts.rods.test_head_errors import NO_HEADING, errors, log, read, rod, scene

__all__ = ["scene"]
STATED_M = 0.1


def rough(number, off_m, right_m=0.0):
    """A rod whose dot was read so roughly, so far to the right of the alignment, which runs to the east."""
    return read(number, dot=factories.point(3.0 * number, -right_m).coords, dot_error_m=off_m)


def of_joint(scene, number, *rods):
    return drilled_path(scene, log(*rods)).joints[number - 1]


@pytest.mark.parametrize("right_m", [1.5, -1.5])
def test_a_rough_dot_stays_rough_once_a_sure_one_follows(scene, right_m):
    """It pulled the drawn path aside by 1.5 m, so what the sure ones know is no better than itself."""
    rods = [*(read(number) for number in range(1, 5)), rough(5, 1.2, right_m)]
    assert errors(scene, *rods)[4][0] == pytest.approx(1.2)
    later = errors(scene, *rods, *(read(number) for number in range(6, 9)))
    assert later[4][0] == pytest.approx(1.2)
    assert later[3][0] == later[5][0] == pytest.approx(STATED_M)


def test_between_sure_dots_a_rough_one_is_no_less_sure_than_one_that_was_not_read(scene):
    """Drawn where it would be without it, so what counts is a rod on that was not read."""
    around = [*(read(number) for number in range(1, 5)), *(read(number) for number in range(6, 9))]
    unread = [*around[:4], rod(5, depth_m=2.0), *around[4:]]
    with_rough = [*around[:4], rough(5, 1.2), *around[4:]]
    without_m = of_joint(scene, 5, *unread).horizontal_error_m
    # The stated 10 cm, the steering allowance, and of 3 degrees over two rods the middle.
    allowed_m = scene.inputs.job.bore_horizontal_m
    assert without_m == pytest.approx(STATED_M + allowed_m + 3.0 * NO_HEADING)
    assert of_joint(scene, 5, *with_rough).horizontal_error_m == pytest.approx(without_m)


def test_how_far_a_rough_dot_pulled_the_drawn_path_aside_is_added_to_what_the_sure_ones_know(scene):
    around = [*(read(number) for number in range(1, 5)), *(read(number) for number in range(6, 9))]
    known_m = STATED_M + scene.inputs.job.bore_horizontal_m + 3.0 * NO_HEADING
    aside = of_joint(scene, 5, *around[:4], rough(5, 1.2, 0.4), *around[4:])
    assert aside.horizontal_error_m == pytest.approx(known_m + 0.4, abs=1e-6)


def test_past_the_last_sure_dot_a_rough_one_counts_as_it_was_read(scene):
    rods = [*(read(number) for number in range(1, 5)), rough(5, 1.2), rough(6, 1.2)]
    found = errors(scene, *rods)
    assert found[4][0] == found[5][0] == pytest.approx(1.2)


def test_without_any_sure_dot_rough_ones_count_as_they_were_read(scene):
    found = errors(scene, *(rough(number, 1.2) for number in range(1, 5)))
    assert [horizontal_m for horizontal_m, _ in found] == pytest.approx([1.2] * 4)


@pytest.mark.parametrize(
    ("off_m", "is_sure"),
    [
        ((None, 0.1, None, 1.5, None, 0.1), (False, True, False, False, False, True)),
        ((0.1, None, 0.9, 2.0, None, 0.1), (True, False, False, False, False, True)),
        ((None, 0.7, 0.1, None, 0.6, 0.1), (False, False, True, False, False, True)),
    ],
)
def test_no_error_of_any_reading_puts_the_hole_farther_off_than_is_told(off_m, is_sure):
    """Every sign of each rod's heading and every dot read wrong by all it may, by none, or the other way."""
    lengths = np.array([3.0, 2.0, 3.0, 1.0, 3.0, 3.0])
    growth, at = lengths * NO_HEADING, np.cumsum(lengths)
    is_read, is_sure = np.array([one is not None for one in off_m]), np.array(is_sure)
    own = np.array([one or 0.0 for one in off_m])
    # The dots' own errors alone: no allowance makes the bound any wider than it must be.
    by_all = widened(own, is_read, lengths, growth)
    by_sure = widened(np.where(is_sure, own, 0.0), is_sure, lengths, growth)
    dots, sure = np.flatnonzero(is_read), np.flatnonzero(is_sure)
    nearest = np.full(len(lengths), np.inf)
    bettered = 0
    for signs in product((-1.0, 1.0), repeat=len(lengths)):
        astray = np.cumsum(np.array(signs) * growth)
        for wrong in product((-1.0, 0.0, 1.0), repeat=len(dots)):
            # What was read less what pitch and heading give; the true place is 0 all along.
            correction = dict(zip(dots, own[dots] * wrong - astray[dots], strict=True))
            drawn = astray + spread(at, at[dots], np.array([correction[one] for one in dots]))
            by_sure_drawn = astray + spread(at, at[sure], np.array([correction[one] for one in sure]))
            bound = np.minimum(by_all, by_sure + np.abs(drawn - by_sure_drawn))
            nearest = np.minimum(nearest, bound - np.abs(drawn))
            bettered += int((bound < by_all - 1e-9).any())
    assert (nearest >= -1e-12).all()
    # Each bound is met by some error, and the sure dots know better in some.
    assert nearest == pytest.approx(np.zeros(len(lengths)), abs=1e-9)
    assert bettered
