"""Linear programmes that follow each other, each begun where the one before it ended.

R. E. Griffith and R. A. Stewart, A nonlinear programming technique for the optimization of continuous
processing systems, Management Science 7, 1961: what is not linear is taken as linear about the place at hand,
again after each step. One step's programme is nearly the next one's, and the simplex method begun from the
basis of the last has a few steps left to go. The solver is HiGHS, as in `profile_programme`.
"""

import numpy as np
from highspy import HighsBasis, HighsBasisStatus, HighsModelStatus

from conflicts.engine.frame import FloatArray
from conflicts.engine.linear_solver import LinearSolver
from conflicts.engine.profile_rows import Rows


class Successive:
    """Solves programmes of the same columns, and keeps where each of them ended."""

    def __init__(self) -> None:
        self._solver = LinearSolver()
        # Simplified first, a programme would lose the basis that it is begun from.
        self._solver.setOptionValue("presolve", "off")
        self._names = np.empty(0, dtype=np.int64)
        self._ended = HighsBasis()

    def solve(self, cost: FloatArray, rows: Rows, bounds: FloatArray) -> FloatArray | None:
        """The columns of least cost; None where the solver gives none.

        Parameters
        ----------
        cost : (n,) float array
        rows : Rows
        bounds : (n, 2) float array
        """
        self._solver.take(
            cost,
            (bounds[:, 0], bounds[:, 1]),
            (rows.begins, rows.columns, rows.factors),
            (rows.least, rows.most),
        )
        if len(self._names) and len(self._ended.col_status) == len(cost):
            self._begin_with(rows.names)
            self._solver.setBasis(self._ended)
        found = self._solver.solved()
        if found is None:
            return None
        self._names, self._ended = rows.names, self._solver.getBasis()
        return found

    def weights(self) -> FloatArray | None:
        """How much each row of the last programme holds: what its sum, let go by 1, would save.

        None where that programme was not solved.
        """
        if self._solver.getModelStatus() != HighsModelStatus.kOptimal:
            return None
        return np.array(np.abs(self._solver.getSolution().row_dual), dtype=float)

    def _begin_with(self, names: np.ndarray) -> None:
        """Make the last basis one of these rows: those that are new hold nothing yet."""
        if np.array_equal(names, self._names):
            return
        order = np.argsort(self._names, kind="stable")
        places = np.minimum(np.searchsorted(self._names[order], names), len(order) - 1)
        known = order[places]
        # Past the rows of the last programme stands the status of a new one.
        known[self._names[known] != names] = len(order)
        statuses = [*self._ended.row_status, HighsBasisStatus.kBasic]
        self._names, self._ended.row_status = names, [statuses[row] for row in known.tolist()]
        # Rows have come and gone, so the solver looks whether it is one and mends it.
        self._ended.alien = True
