"""A profile's demands as linear about the profile at hand: the rows of one step of `profile_refine`."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix, csr_matrix

from conflicts.engine.frame import FloatArray
from conflicts.engine.profile_arcs import RodProfile, place_slopes, rod_slopes
from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_measure import Measured, turns_left_rad
from conflicts.engine.profile_model import edges_about
from conflicts.engine.profile_samples import Telling

# Margins between which an edge's change a metre of margin is taken, m.
RATE_STEP_M = 0.01
# Stations between which the slope of the ground at the entry is taken, m.
GROUND_STEP_M = 0.01
# Margins as near as this share their edges, m: what an edge bends between them is far less than a millimetre.
SAME_ABOUT_M = 0.005
# A height allowed that lies farther off than this is not met in one step, m.
FAR_OFF_M = 1.0
# Rows asked together have names about a multiple of this; no bore has as many micrometres.
NAMES_A_BLOCK = 2**44


@dataclass(frozen=True)
class Columns:
    """Where each column of a step stands, for so many rods.

    Moves come first: of the angle, the station and the elevation of every joint, then what the last rod grows
    by. Then the margin, the excess of places over what is allowed, and for each rod how far the angle at its
    end is moved or how far it turns, either way.
    """

    rods: int

    @property
    def stations(self) -> int:
        """The first of the moves of stations; those of the angles begin at 0."""
        return self.rods + 1

    @property
    def elevations(self) -> int:
        """The first of the moves of elevations."""
        return 2 * (self.rods + 1)

    @property
    def last_length(self) -> int:
        """Of what the last rod grows by."""
        return 3 * (self.rods + 1)

    @property
    def margin(self) -> int:
        """Of the margin."""
        return self.last_length + 1

    @property
    def excess(self) -> int:
        """Of the excess."""
        return self.last_length + 2

    @property
    def counted(self) -> int:
        """The first of what is counted for each rod."""
        return self.last_length + 3

    @property
    def count(self) -> int:
        """How many there are."""
        return self.counted + self.rods


class Rows:
    """Rows of a step, gathered in blocks: sums of columns, and what each may be at most and at least."""

    def __init__(self, columns: Columns) -> None:
        self.columns = columns
        self._triplets: list[tuple[np.ndarray, np.ndarray, FloatArray]] = []
        self._most: list[FloatArray] = []
        self._least: list[FloatArray] = []
        self._names: list[np.ndarray] = []
        self._begin = 0

    def ask(
        self,
        most: FloatArray,
        *terms: tuple[np.ndarray | int, FloatArray | float],
        is_exact: bool = False,
        names: np.ndarray | None = None,
    ) -> None:
        """One row for each figure of ``most``; a term is a column for each row, and its factors.

        Rows asked in the same turn of two steps are the same where their whole names are; without, in order.
        """
        index = np.arange(len(most))
        self._triplets += [
            (self._begin + index, column + np.zeros_like(index), factor + np.zeros_like(most))
            for column, factor in terms
        ]
        self._names.append(len(self._names) * NAMES_A_BLOCK + (index if names is None else names))
        self._most.append(most)
        self._least.append(most if is_exact else np.full(len(most), -np.inf))
        self._begin += len(most)

    def matrix(self) -> csr_matrix:
        """The factors of the sums."""
        rows, columns, values = (np.concatenate(one) for one in zip(*self._triplets, strict=True))
        return coo_matrix((values, (rows, columns)), shape=(self._begin, self.columns.count)).tocsr()

    def most(self) -> FloatArray:
        """What each sum may be at most."""
        return np.concatenate(self._most)

    def least(self) -> FloatArray:
        """What each sum may be at least."""
        return np.concatenate(self._least)

    def names(self) -> list[int]:
        """A whole number for each row, by which it is known again in the next step."""
        names: list[int] = np.concatenate(self._names).tolist()
        return names


def rows_about(limits: ProfileLimits, edges: "Edges", heights_m: FloatArray, here: Measured) -> Rows:
    """What may not be exceeded: edges of obstacles, the heights allowed, the places of the ends, and bends.

    Parameters
    ----------
    limits : ProfileLimits
    edges : Edges
        Of the obstacles.
    heights_m : (n,) float array
        Stations at which the heights allowed are asked.
    here : Measured
        The profile at hand.
    """
    rods = here.rods
    columns = Columns(len(rods.lengths_m))
    rows = Rows(columns)
    stations = heights_m[(heights_m > rods.entry_station_m) & (heights_m < limits.length_m)]
    elevations = rods.at(stations).elevations_m
    asked = [edges.about(here.margin_m)]
    for heights, sign in ((limits.highest_m(stations), 1.0), (limits.lowest_m(stations), -1.0)):
        near = sign * (heights - elevations) < FAR_OFF_M
        count = int(near.sum())
        asked.append((stations[near], heights[near], np.zeros(count), np.full(count, sign)))
    is_edge = np.arange(sum(len(one[0]) for one in asked)) < len(asked[0][0])
    _ask_places(rows, rods, *(np.concatenate(one) for one in zip(*asked, strict=True)), is_edge=is_edge)
    _ask_ends(rows, limits, rods)
    turn = (
        (np.arange(columns.rods) + 1, 1.0),
        (np.arange(columns.rods), -1.0),
    )
    allowed = np.maximum(0.0, turns_left_rad(limits, rods))
    by_length = np.zeros(columns.rods)
    by_length[-1] = -1.0 / limits.bend_radius_m
    now = rods.turns_rad
    rows.ask(allowed - now, *turn, (columns.last_length, by_length))
    rows.ask(allowed + now, *((one, -by) for one, by in turn), (columns.last_length, by_length))
    return rows


def _ask_places(
    rows: Rows,
    rods: RodProfile,
    stations_m: FloatArray,
    heights_m: FloatArray,
    by_margin: FloatArray,
    signs: FloatArray,
    *,
    is_edge: np.ndarray,
) -> None:
    """Elevations at stations: at most a height where the sign is above 0, at least it where it is below."""
    columns, places = rows.columns, rods.at(stations_m)
    slopes, rod = place_slopes(rods, places), places.rods
    rows.ask(
        signs * (heights_m - places.elevations_m),
        (rod, signs * slopes.by_first),
        (rod + 1, signs * slopes.by_last),
        (columns.stations + rod, signs * slopes.by_station),
        (columns.elevations + rod, signs),
        (columns.last_length, signs * slopes.by_length),
        (columns.margin, by_margin),
        (columns.excess, -1.0),
        # The station in micrometres, the side, and whose height it is.
        names=4 * np.rint(1e6 * stations_m).astype(np.int64) + 2 * (signs > 0.0) + is_edge,
    )


def _ask_ends(rows: Rows, limits: ProfileLimits, rods: RodProfile) -> None:
    """The exit at its station and elevation, the entry at its depth wherever the rig is moved."""
    columns = rows.columns
    stations, heights = rods.joints_m()
    entry = limits.entry_elevation_m(rods.entry_station_m)
    ahead = limits.entry_elevation_m(rods.entry_station_m + GROUND_STEP_M)
    slope = (ahead.least - entry.least) / GROUND_STEP_M
    leaving, last = limits.exit_elevation_m, columns.rods
    for terms, at, least, greatest in (
        (((columns.stations + last, 1.0),), stations[-1], limits.length_m, limits.length_m),
        (((columns.elevations + last, 1.0),), heights[-1], leaving.least, leaving.greatest),
        (
            ((columns.elevations, 1.0), (columns.stations, -slope)),
            heights[0],
            entry.least,
            entry.greatest,
        ),
    ):
        rows.ask(np.array([greatest - at]), *terms, (columns.excess, -1.0))
        rows.ask(np.array([at - least]), *((one, -by) for one, by in terms), (columns.excess, -1.0))


class Edges:
    """The edges of obstacles on given sides, at stations of which there may become more.

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
        self._obstacles, self.count = obstacles, len(obstacles)
        self._signs = np.where(passes_under, 1.0, -1.0)
        self._asked_m = [
            one.on_side(is_under=is_under) for one, is_under in zip(telling, passes_under, strict=True)
        ]
        self._known: list[tuple[float, int, FloatArray]] = [(np.nan, 0, np.empty((0, 4)))] * len(obstacles)

    @property
    def owners(self) -> np.ndarray:
        """The obstacle of each edge that was told last."""
        return np.repeat(np.arange(len(self._known)), [len(rows) for _about, _count, rows in self._known])

    def ask_at(self, nearest_m: FloatArray) -> None:
        """Ask about each obstacle also at a station; not where that is NaN."""
        for number, nearest in enumerate(nearest_m):
            if not np.isnan(nearest) and nearest not in self._asked_m[number]:
                self._asked_m[number] = np.append(self._asked_m[number], nearest)

    def about(self, margin_m: float) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Stations, the edge there at a margin of 0, its change a metre of margin, and the side as a sign.

        Parameters
        ----------
        margin_m : float
            About which the edges are taken as linear; as near to it as `SAME_ABOUT_M` is near enough.
        """
        about = float(np.clip(margin_m, -self._most_m, self._most_m))
        for number, (was_about, count, _rows) in enumerate(self._known):
            stations = self._asked_m[number]
            if count != len(stations) or not abs(was_about - about) <= SAME_ABOUT_M:
                rows = self._rows(number, stations, about)
                self._known[number] = (about, len(stations), rows)
        every = np.concatenate([np.empty((0, 4)), *(rows for _about, _count, rows in self._known)])
        return every[:, 0], every[:, 1], every[:, 2], every[:, 3]

    def _rows(self, number: int, stations_m: FloatArray, about_m: float) -> FloatArray:
        sign = self._signs[number]
        edges = edges_about(self._obstacles[number], stations_m, about_m, RATE_STEP_M)
        # Under: z + by m <= low. Over: -z + by m <= -high.
        edge, rate = edges[:, :2].T if sign > 0.0 else edges[:, 2:].T
        rows = np.column_stack([stations_m, edge, rate, np.full(len(stations_m), sign)])
        return np.asarray(rows[~np.isnan(edge)], dtype=float)


def ask_counted(rows: Rows, rods: RodProfile, *, is_moved: bool) -> None:
    """Count for each rod how far the angle at its end is moved, or how far it turns."""
    columns = rows.columns
    joint = np.arange(columns.rods)
    now = np.zeros(columns.rods) if is_moved else rods.turns_rad
    for sign in (1.0, -1.0):
        before = [] if is_moved else [(joint, -sign)]
        rows.ask(-sign * now, (joint + 1, sign), *before, (columns.counted + joint, -1.0))


def ask_joined(rows: Rows, rods: RodProfile) -> None:
    """Ask what must be met exactly: each joint ends the rod before it, and the first rod is straight."""
    columns, slopes = rows.columns, rod_slopes(rods)
    joint = np.arange(columns.rods)
    by_length = np.zeros(columns.rods)
    for begin, by_first, by_last, last in (
        (columns.stations, slopes.run_first, slopes.run_last, slopes.run_by_length),
        (columns.elevations, slopes.rise_first, slopes.rise_last, slopes.rise_by_length),
    ):
        by_length[-1] = -last
        rows.ask(
            np.zeros(columns.rods),
            (begin + joint + 1, 1.0),
            (begin + joint, -1.0),
            (joint, -by_first),
            (joint + 1, -by_last),
            (columns.last_length, by_length.copy()),
            is_exact=True,
        )
    rows.ask(np.array([rods.angles_rad[0] - rods.angles_rad[1]]), (1, 1.0), (0, -1.0), is_exact=True)
