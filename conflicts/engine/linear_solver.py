"""HiGHS as linear programmes are given to it: whole arrays at once, and nothing written anywhere.

Q. Huangfu and J. A. J. Hall, Parallelizing the dual revised simplex method, Math. Prog. Comp. 10, 2018.
"""

import numpy as np
from highspy import Highs, HighsModelStatus, MatrixFormat, ObjSense

from conflicts.engine.frame import FloatArray

# HiGHS's own numbers of its choices.
DEVEX, NO_SCALING = 1, 0


class LinearSolver(Highs):
    """A solver that writes nothing, not even that it runs.

    It is for some hundred rows, each programme begun near its end. The weights of Devex cost nothing to begin
    with, where those of the steepest edge are worked out first, and figures in metres and radians need no
    scaling: the steps of a profile search took 21 ms in place of 35.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setOptionValue("simplex_dual_edge_weight_strategy", DEVEX)
        self.setOptionValue("simplex_scale_strategy", NO_SCALING)

    def enableCallbacks(self) -> None:
        """Begin in silence, before the solver's own first line."""
        self.silent()
        super().enableCallbacks()

    def take(
        self,
        cost: FloatArray,
        bounds: tuple[FloatArray, FloatArray],
        matrix: tuple[np.ndarray, np.ndarray, FloatArray],
        sums: tuple[FloatArray, FloatArray],
    ) -> None:
        """Take a programme in place of the one before.

        Parameters
        ----------
        cost : (n,) float array
        bounds : two (n,) float arrays
            Between which each column lies.
        matrix : tuple of arrays
            Where the terms of each row begin, and the column and the factor of each term.
        sums : two (m,) float arrays
            Between which each row of it comes.
        """
        begins, columns, factors = matrix
        count, width = len(begins) - 1, len(cost)
        self.passModel(
            width,
            count,
            len(columns),
            int(MatrixFormat.kRowwise),
            int(ObjSense.kMinimize),
            0.0,
            cost,
            *bounds,
            *sums,
            begins,
            columns,
            factors,
            np.zeros(width, dtype=np.int32),
        )

    def solved(self) -> FloatArray | None:
        """The columns of least cost; None where the solver gives none."""
        self.run()
        if self.getModelStatus() != HighsModelStatus.kOptimal:
            return None
        return np.array(self.getSolution().col_value)
