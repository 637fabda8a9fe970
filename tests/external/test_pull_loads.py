"""Pull loads against a published worked example, and against arithmetic done apart from the project.

Najafi, Trenchless Technology Piping: Installation and Inspection, chapter 5, page 226.
"""

from math import pi, radians

import numpy as np
import pytest
from scipy.optimize import minimize

from conflicts.pullback.bundle import CIRCLE_ROUND, MOST_CONDUITS, Bundle
from conflicts.pullback.forces import NEWTONS_PER_POUND, PASCALS_PER_PSI
from conflicts.pullback.pull_load import (
    Frictions,
    PullPath,
    parts_of_hole,
    pull_loads,
    small_rig_pull_n,
    steered_bends,
)
from conflicts.pullback.weakest import conduits_bear_n
from locates.units import METRES_PER_FOOT, METRES_PER_INCH

POUND_PER_FOOT = NEWTONS_PER_POUND / METRES_PER_FOOT
STANDARD = Frictions(on_ground=0.5, in_hole=0.3)


def feet(value: float) -> float:
    return value * METRES_PER_FOOT


def pounds(loads) -> list[float]:
    return [one / NEWTONS_PER_POUND for one in (loads.at_entry, loads.falling, loads.level, loads.rising)]


def test_the_published_example_of_a_small_rig():
    """600 ft, 7.8 lb/ft, one planned bend of 90 degrees and 1.2 that steering adds: 4387 lb."""
    bends = 1.0 + steered_bends(feet(600.0), 2.0 * METRES_PER_INCH)
    assert bends == pytest.approx(2.2, abs=1e-12)
    pull_n = small_rig_pull_n(feet(600.0), 7.8 * POUND_PER_FOOT, bends)
    assert pull_n / NEWTONS_PER_POUND == pytest.approx(4387.0, abs=0.5)
    # Printed beside it: a safe pull of 7524 lb is 1.72 times as much; the quotient itself is 1.715.
    assert 7524.0 * NEWTONS_PER_POUND / pull_n == pytest.approx(1.72, abs=0.01)


def test_the_published_buoyant_weight_of_a_4_inch_conduit():
    """Half of the outside diameter squared (inches) less the weight, in lb/ft; printed for DR 11: 7.8."""
    bundle = Bundle(1, 4.5 * METRES_PER_INCH, 11.0, 0.955)
    # Half a pound for each foot and square inch of the diameter is a fluid 1.4685 times as heavy as water.
    buoyancy_lb_ft = bundle.buoyancy_n_per_m(1.4685) / POUND_PER_FOOT
    assert buoyancy_lb_ft == pytest.approx(0.5 * 4.5**2 - bundle.weight_n_per_m / POUND_PER_FOOT, rel=1e-4)
    assert buoyancy_lb_ft == pytest.approx(7.8, rel=0.02)


def test_weights_against_arithmetic_done_apart():
    """6-inch DR 11 of relative density 0.955 in a fluid of 1.5: 4.716 and 17.691 lb/ft."""
    bundle = Bundle(1, 6.625 * METRES_PER_INCH, 11.0, 0.955)
    weights = [one / POUND_PER_FOOT for one in (bundle.weight_n_per_m, bundle.buoyancy_n_per_m(1.5))]
    assert weights == pytest.approx([4.715869, 17.690682], rel=1e-3)


@pytest.mark.parametrize(
    ("hole", "frictions", "weights_lb_ft", "expected_lb"),
    [
        # Computed apart from the project for the geometry of the PE pipe handbook's example (from memory).
        (
            (100.0, 401.070, 201.549, 267.380, 35.0, 10.0, 15.0),
            Frictions(0.1, 0.25),
            (4.715869, 17.690682),
            [465.493, 2784.901, 3575.252, 4275.444],
        ),
        (
            (100.0, 401.070, 201.549, 267.380, 35.0, 10.0, 15.0),
            Frictions(0.4, 0.25),
            (4.715869, 17.690682),
            [1962.063, 3701.825, 4167.346, 4447.511],
        ),
    ],
)
def test_each_part_against_arithmetic_done_apart(hole, frictions, weights_lb_ft, expected_lb):
    above, falling, level, rising, depth, entry, leaves = hole
    path = PullPath(
        feet(above),
        feet(falling),
        feet(level),
        feet(rising),
        *[feet(depth)] * 2,
        radians(entry),
        radians(leaves),
    )
    weight, buoyancy = (one * POUND_PER_FOOT for one in weights_lb_ft)
    assert pounds(pull_loads(path, frictions, weight, buoyancy)) == pytest.approx(expected_lb, abs=0.02)


def test_the_short_estimate_is_near_the_whole_one_without_bends():
    """Equal thirds of 600 ft at 20 degrees and 30 ft deep: 1645 lb by parts, 1560 lb by the short rule."""
    bundle = Bundle(1, 4.5 * METRES_PER_INCH, 11.0, 0.955)
    path = PullPath(0.0, *[feet(200.0)] * 3, *[feet(30.0)] * 2, radians(20.0), radians(20.0))
    loads = pull_loads(path, STANDARD, bundle.weight_n_per_m, 7.8 * POUND_PER_FOOT)
    assert pounds(loads) == pytest.approx([777.2, 1354.8, 1535.2, 1645.1], abs=0.5)
    short_lb = small_rig_pull_n(feet(600.0), 7.8 * POUND_PER_FOOT, 0.0) / NEWTONS_PER_POUND
    assert short_lb == pytest.approx(1560.0, abs=0.1)


def test_the_parts_of_a_hole_by_the_average_radius():
    """PE pipe handbook, chapter 12, example, from memory: 401.07, 201.55 and 267.38 ft of 870 ft."""
    path = parts_of_hole(feet(870.0), (feet(35.0),) * 2, (radians(10.0), radians(15.0)), feet(100.0))
    parts = [one / METRES_PER_FOOT for one in (path.falling_m, path.level_m, path.rising_m)]
    assert parts == pytest.approx([401.070, 201.549, 267.380], abs=0.001)


def test_a_published_safe_stress():
    """1,330 psi for PE4710 over twelve hours: trade press on F1962-22, March 2023."""
    bundle = Bundle(2, 4.5 * METRES_PER_INCH, 11.0, 0.955)
    bears_lb = conduits_bear_n(bundle, 1330.0 * PASCALS_PER_PSI) / NEWTONS_PER_POUND
    inside = 4.5 - 2.0 * 4.5 / 11.0
    assert bears_lb == pytest.approx(2.0 * 1330.0 * pi / 4.0 * (4.5**2 - inside**2), rel=1e-9)


def test_circles_round_bundles_are_found_again_by_a_search():
    """Equal circles in a circle: each radius of the table is reached from random starts, and none is less.

    scipy's SLSQP on the positions of the centres and the radius of the circle round them.
    """
    random = np.random.default_rng(20260101)
    for count in range(2, MOST_CONDUITS + 1):
        found = min(least_circle(count, random) for _ in range(20))
        assert found == pytest.approx(CIRCLE_ROUND[count - 1], abs=2e-5), count


def least_circle(count: int, random: np.random.Generator) -> float:
    """A locally least circle round so many circles of diameter 1, from a random start."""
    first, second = np.triu_indices(count, 1)
    pair, one = np.arange(len(first)), np.arange(count)

    def room(x):
        centres = x[1:].reshape(-1, 2)
        gaps = np.sum((centres[first] - centres[second]) ** 2, axis=1) - 1.0
        return np.concatenate([gaps, (x[0] / 2.0 - 0.5) ** 2 - np.sum(centres**2, axis=1), [x[0] - 1.0]])

    def slopes(x):
        centres = x[1:].reshape(-1, 2)
        rows = np.zeros((len(first) + count + 1, len(x)))
        for axis in range(2):
            apart = 2.0 * (centres[first, axis] - centres[second, axis])
            rows[pair, 1 + 2 * first + axis], rows[pair, 1 + 2 * second + axis] = apart, -apart
            rows[len(first) + one, 1 + 2 * one + axis] = -2.0 * centres[:, axis]
        rows[len(first) + one, 0] = x[0] / 2.0 - 0.5
        rows[-1, 0] = 1.0
        return rows

    start = np.concatenate([[2.0 * count], random.normal(size=2 * count) * count / 3.0])
    solved = minimize(
        lambda x: x[0],
        start,
        jac=lambda x: np.eye(1, len(x))[0],
        constraints={"type": "ineq", "fun": room, "jac": slopes},
        method="SLSQP",
        options={"maxiter": 300},
    )
    return float(solved.x[0]) if solved.success and room(solved.x).min() > -1e-6 else np.inf
