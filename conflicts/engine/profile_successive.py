"""Linear programmes that follow each other, each begun where the one before it ended.

R. E. Griffith and R. A. Stewart, A nonlinear programming technique for the optimization of continuous
processing systems, Management Science 7, 1961: what is not linear is taken as linear about the place at hand,
again after each step. One step's programme is nearly the next one's, and the simplex method begun from the
basis of the last has a few steps left to go. The solver is HiGHS, as in `profile_programme`.
"""

import numpy as np
from highspy import Highs, HighsBasis, HighsBasisStatus, HighsLp, HighsModelStatus, MatrixFormat

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_rows import Rows


class _SilentSolver(Highs):
    """A solver that writes nothing, not even that it runs."""

    def enableCallbacks(self) -> None:
        self.silent()
        super().enableCallbacks()


class Successive:
    """Solves programmes of the same columns, and keeps where each of them ended."""

    def __init__(self) -> None:
        self._solver = _SilentSolver()
        self._columns: list[HighsBasisStatus] = []
        self._rows: dict[int, HighsBasisStatus] = {}

    def solve(self, cost: FloatArray, rows: Rows, bounds: FloatArray) -> FloatArray | None:
        """The columns of least cost; None where the solver gives none.

        Parameters
        ----------
        cost : (n,) float array
        rows : Rows
        bounds : (n, 2) float array
        """
        names = rows.names()
        self._solver.passModel(_programme(cost, rows, bounds))
        if len(self._columns) == len(cost):
            # Simplified first, a programme would lose the basis that it is begun from.
            self._solver.setOptionValue("presolve", "off")
            self._solver.setBasis(self._begin(names))
        self._solver.run()
        if self._solver.getModelStatus() != HighsModelStatus.kOptimal:
            return None
        ended = self._solver.getBasis()
        self._columns = list(ended.col_status)
        self._rows = dict(zip(names, ended.row_status, strict=True))
        return np.array(self._solver.getSolution().col_value)

    def _begin(self, names: list[int]) -> HighsBasis:
        """The last basis with the rows that are new: those hold nothing yet."""
        basis = HighsBasis()
        basis.col_status = self._columns
        basis.row_status = [self._rows.get(name, HighsBasisStatus.kBasic) for name in names]
        # Rows have come and gone, so the solver looks whether it is one and mends it.
        basis.alien, basis.valid = True, True
        return basis


def _programme(cost: FloatArray, rows: Rows, bounds: FloatArray) -> HighsLp:
    matrix = rows.matrix()
    programme = HighsLp()
    programme.num_row_, programme.num_col_ = matrix.shape
    programme.col_cost_ = cost
    programme.col_lower_, programme.col_upper_ = bounds.T
    programme.row_lower_, programme.row_upper_ = rows.least(), rows.most()
    programme.a_matrix_.format_ = MatrixFormat.kRowwise
    programme.a_matrix_.start_ = matrix.indptr
    programme.a_matrix_.index_ = matrix.indices
    programme.a_matrix_.value_ = matrix.data
    return programme
