"""Programmes that follow each other against scipy's solver, which begins each of them anew."""

import subprocess
import sys

import numpy as np
import pytest
from scipy.optimize import linprog

from conflicts.engine.profile_rows import Columns, Rows
from conflicts.engine.profile_successive import Successive

STEPS = 6


def rows_of(factors, least, most, names):
    """Rows with a term for every column."""
    count, width = factors.shape
    return Rows(
        (width * np.arange(count + 1)).astype(np.int32),
        np.tile(np.arange(width, dtype=np.int32), count),
        factors.ravel(),
        np.asarray(least, dtype=float),
        np.asarray(most, dtype=float),
        np.asarray(names),
    )


@pytest.mark.parametrize("seed", range(20))
def test_each_costs_what_it_costs_when_begun_anew(seed):
    random, columns, successive = np.random.default_rng(seed), Columns(4), Successive()
    bounds = np.column_stack([np.full(columns.count, -1.0), np.full(columns.count, 1.0)])
    factors, cost = random.normal(size=(30, columns.count)), random.normal(size=columns.count)
    for _ in range(STEPS):
        factors = factors + 0.05 * random.normal(size=factors.shape)
        # Rows come and go between two steps.
        kept = np.flatnonzero(random.random(len(factors)) < 0.8)
        most = random.normal(size=len(kept)) + 0.6
        equal = np.zeros((1, columns.count))
        equal[0, :2] = 1.0, -1.0
        rows = rows_of(
            np.vstack([factors[kept], equal]),
            np.append(np.full(len(kept), -np.inf), 0.0),
            np.append(most, 0.0),
            np.append(kept, len(factors)),
        )
        anew = linprog(cost, A_ub=factors[kept], b_ub=most, A_eq=equal, b_eq=[0.0], bounds=bounds)
        found = successive.solve(cost, rows, bounds)
        assert (found is None) == (anew.x is None)
        if found is not None:
            assert cost @ found == pytest.approx(anew.fun, abs=1e-6)


def test_what_nothing_can_meet_is_none_and_the_next_is_solved():
    columns, successive = Columns(1), Successive()
    bounds = np.column_stack([np.full(columns.count, -1.0), np.full(columns.count, 1.0)])
    cost = np.ones(columns.count)
    for most, is_met in ((0.5, True), (-2.0, False), (0.5, True)):
        factors = np.zeros((1, columns.count))
        factors[0, 0] = 1.0
        found = successive.solve(cost, rows_of(factors, [-np.inf], [most], [0]), bounds)
        assert (found is not None) == is_met


def test_the_solver_writes_nothing():
    made = "from conflicts.engine.profile_successive import Successive; Successive()"
    told = subprocess.run([sys.executable, "-c", made], capture_output=True, text=True, check=True)
    assert told.stdout + told.stderr == ""
