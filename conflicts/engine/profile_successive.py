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
        self._names: list[int] = []
        self._ended = HighsBasis()

    def solve(self, cost: FloatArray, rows: Rows, bounds: FloatArray) -> FloatArray | None:
        """The columns of least cost; None where the solver gives none.

        Parameters
        ----------
        cost : (n,) float array
        rows : Rows
        bounds : (n, 2) float array
        """
        names = rows.names()
        self._solver.take(cost, (bounds[:, 0], bounds[:, 1]), rows.matrix(), (rows.least(), rows.most()))
        if self._names and len(self._ended.col_status) == len(cost):
            # Simplified first, a programme would lose the basis that it is begun from.
            self._solver.setOptionValue("presolve", "off")
            self._solver.setBasis(self._begin(names))
        found = self._solver.solved()
        if found is None:
            return None
        self._names, self._ended = names, self._solver.getBasis()
        return found

    def weights(self) -> FloatArray | None:
        """How much each row of the last programme holds: what its sum, let go by 1, would save.

        None where that programme was not solved.
        """
        if self._solver.getModelStatus() != HighsModelStatus.kOptimal:
            return None
        return np.array(np.abs(self._solver.getSolution().row_dual), dtype=float)

    def _begin(self, names: list[int]) -> HighsBasis:
        """The last basis with the rows that are new: those hold nothing yet."""
        if names == self._names:
            return self._ended
        known = dict(zip(self._names, self._ended.row_status, strict=True))
        basis = HighsBasis()
        basis.col_status = self._ended.col_status
        basis.row_status = [known.get(name, HighsBasisStatus.kBasic) for name in names]
        # Rows have come and gone, so the solver looks whether it is one and mends it.
        basis.alien, basis.valid = True, True
        return basis
