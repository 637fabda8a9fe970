"""A mixed-integer linear programme, gathered row by row and solved by HiGHS.

Q. Huangfu and J. A. J. Hall, Parallelizing the dual revised simplex method, Math. Prog. Comp. 10, 2018; the
solver is the one that comes with SciPy.
"""

from collections.abc import Mapping

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_matrix, csr_matrix

from conflicts.engine.errors import SearchError
from conflicts.engine.frame import FloatArray
from conflicts.engine.linear_solver import LinearSolver
from conflicts.engine.profile_limits import Obstacle

# A solver that has found nothing after this time is not waited for, s.
TIME_LIMIT_S = 20.0
# Statuses of `scipy.optimize.milp`: solved, a limit reached, infeasible.
SOLVED, OUT_OF_TIME, INFEASIBLE = 0, 1, 2

# Stations of an obstacle at which a model asks: evenly from its first to its last, so many at least, and no
# farther apart than this, m.
FEWEST_SAMPLES = 3
SAMPLES_APART_M = 1.5


class Programme:
    """Rows and columns of a programme."""

    def __init__(self, columns: int) -> None:
        self.lower = np.full(columns, -np.inf)
        self.upper = np.full(columns, np.inf)
        self.whole = np.zeros(columns)
        self.cost = np.zeros(columns)
        self._rows: list[int] = []
        self._columns: list[int] = []
        self._values: list[float] = []
        self._least: list[float] = []
        self._most: list[float] = []

    def ask(self, terms: Mapping[int, float], least: float, most: float) -> None:
        """A sum of columns that must lie between two figures."""
        self._rows += [len(self._least)] * len(terms)
        self._columns += terms.keys()
        self._values += terms.values()
        self._least.append(least)
        self._most.append(most)

    def bound(self, column: int, least: float, most: float) -> None:
        """A column that must lie between two figures, and between those it had."""
        self.lower[column] = max(self.lower[column], least)
        self.upper[column] = min(self.upper[column], most)

    def choose(self, column: int) -> None:
        """A column that is 0 or 1."""
        self.bound(column, 0.0, 1.0)
        self.whole[column] = 1

    def solve(self, gap_ratio: float = 1e-4) -> FloatArray | None:
        """The columns of least cost, or None where the solver shows that none fit.

        Raises
        ------
        SearchError
            The solver found nothing in its time and proved nothing: that is no answer.
        """
        if (self.lower > self.upper).any():
            return None
        shape = (len(self._least), len(self.cost))
        matrix = coo_matrix((self._values, (self._rows, self._columns)), shape=shape).tocsr()
        if not self.whole.any():
            return self._solved_in_steps(matrix)
        found = milp(
            self.cost,
            constraints=LinearConstraint(matrix, self._least, self._most),
            bounds=Bounds(self.lower, self.upper),
            integrality=self.whole,
            options={"time_limit": TIME_LIMIT_S, "mip_rel_gap": gap_ratio},
        )
        if found.x is not None:
            return np.asarray(found.x, dtype=float)
        if found.status != INFEASIBLE:
            raise SearchError(f"the solver found no answer in {TIME_LIMIT_S:.0f} s: {found.message}")
        return None

    def _solved_in_steps(self, matrix: csr_matrix) -> FloatArray | None:
        """The columns of least cost where none is whole: one so small is not worth simplifying first."""
        solver = LinearSolver()
        solver.setOptionValue("presolve", "off")
        solver.take(
            self.cost,
            (self.lower, self.upper),
            (matrix.indptr, matrix.indices, matrix.data),
            (np.array(self._least), np.array(self._most)),
        )
        return solver.solved()


def sampled(obstacle: Obstacle, first_m: float, last_m: float) -> FloatArray:
    """Stations at which an obstacle is asked about: those of it that lie on a stretch of the bore."""
    low, high = max(first_m, obstacle.from_m), min(last_m, obstacle.to_m)
    if low > high:
        return np.empty(0)
    # The middles of even parts: where an obstacle begins and ends its edges lie close together.
    count = max(FEWEST_SAMPLES, int(np.ceil((high - low) / SAMPLES_APART_M)))
    return np.asarray(low + (high - low) * (np.arange(count) + 0.5) / count, dtype=float)
