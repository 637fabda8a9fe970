"""The edges of obstacles on given sides, each as linear about a margin, at stations that may become more."""

from collections.abc import Sequence

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_measure import Measured
from conflicts.engine.profile_samples import Telling

# Margins as near as this share their edges, m: what an edge bends between them is far less than a millimetre.
SAME_ABOUT_M = 0.005
# A line that leaves this more than the least margin, m, is asked about where it tells most, and nowhere else.
NEAR_M = 0.3


class Edges:
    """The edges of obstacles on given sides.

    Parameters
    ----------
    limits : ProfileLimits
    obstacles : sequence of Obstacle
    telling : sequence of Telling
        Where each obstacle is asked about to begin with.
    passes_under : (k,) bool array
    """

    def __init__(
        self,
        limits: ProfileLimits,
        obstacles: Sequence[Obstacle],
        telling: Sequence[Telling],
        passes_under: np.ndarray,
    ) -> None:
        self._most_m = limits.enough_margin_m
        self._obstacles, self._is_under = obstacles, passes_under.tolist()
        self._new_m = [
            one.on_side(is_under=is_under) for one, is_under in zip(telling, self._is_under, strict=True)
        ]
        self._asked_m = [np.empty(0)] * len(obstacles)
        self._rows = [np.empty((0, 4))] * len(obstacles)
        self._about_m = np.full(len(obstacles), np.nan)
        self._every = np.empty((0, 4))

    @property
    def owners(self) -> np.ndarray:
        """The obstacle of each edge that was told last."""
        return np.repeat(np.arange(len(self._rows)), [len(rows) for rows in self._rows])

    @property
    def count(self) -> int:
        """How many obstacles there are."""
        return len(self._obstacles)

    def ask_at(self, found: Measured) -> None:
        """Ask about each obstacle that a profile comes near to also where it comes nearest to it."""
        near = np.flatnonzero(found.margins_m <= found.margin_m + NEAR_M)
        for number in near.tolist():
            nearest = found.nearest_m[number]
            if nearest not in self._asked_m[number] and nearest not in self._new_m[number]:
                self._new_m[number] = np.append(self._new_m[number], nearest)

    def about(self, margin_m: float) -> FloatArray:
        """The edges as linear about a margin; as near to it as `SAME_ABOUT_M` is near enough.

        Parameters
        ----------
        margin_m : float

        Returns
        -------
        (n, 4) float array
            Stations, the edge there at a margin of 0, its change a metre of margin, and the side as a sign.
        """
        about = float(np.clip(margin_m, -self._most_m, self._most_m))
        is_changed = False
        for number, was_about in enumerate(self._about_m.tolist()):
            new = self._new_m[number]
            if not abs(was_about - about) <= SAME_ABOUT_M:
                self._asked_m[number] = np.concatenate([self._asked_m[number], new])
                self._rows[number] = self._told(number, self._asked_m[number], about)
                self._about_m[number] = about
            elif len(new):
                self._asked_m[number] = np.concatenate([self._asked_m[number], new])
                more = self._told(number, new, was_about)
                self._rows[number] = np.concatenate([self._rows[number], more])
            else:
                continue
            self._new_m[number] = np.empty(0)
            is_changed = True
        if is_changed:
            self._every = np.concatenate(self._rows)
        return self._every

    def _told(self, number: int, stations_m: FloatArray, about_m: float) -> FloatArray:
        is_under = self._is_under[number]
        edge, rate = self._obstacles[number].tangent_m(stations_m, about_m, is_under=is_under)
        # Under: z + by m <= low. Over: -z + by m <= -high.
        rows = np.empty((len(edge), 4))
        rows[:, 0], rows[:, 1], rows[:, 2], rows[:, 3] = stations_m, edge, rate, 1.0 if is_under else -1.0
        return rows[~np.isnan(edge)]
