"""The profile search against dynamic programming on a grid, on one core and the same streets.

Run as `OMP_NUM_THREADS=1 python tests/benchmarks/profile_search.py [STREETS]`; it needs no database. The peer
is the common way for such a problem: best least margin by rod, depth and pitch on a grid, one depth kept for
each cell. It ends within two cells of the exit and between rods as long in station as they are along
themselves, where the search ends at the exit and is measured on exact arcs. Beside it stand the search made
ten times finer and the margin that is proven to be out of reach, for each street. Times are of the processor,
so that what else runs on the machine counts less.
"""

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from conflicts.engine.profile_limits import Obstacle, ProfileLimits
from conflicts.engine.profile_search import Search, margin_bound_m, search_profile
from tests.benchmarks.invented_streets import FOOT_M, invented_street
from tests.engine.finer_search import ten_times_finer

# Length in feet and lines of the two sizes.
SIZES = ((600.0, 20), (1500.0, 40))
# Cells of the peer: depth, m, and pitch, a ratio.
DEPTH_CELL_M, PITCH_CELL = 0.025, 0.0125
SAMPLES = 5

Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Comparison:
    """Margins and seconds of both on a number of streets of one size."""

    length_ft: float
    lines: int
    margins_m: list[float]
    peer_margins_m: list[float]
    seconds: list[float]
    peer_seconds: list[float]
    bounds_m: list[float | None]
    finer_margins_m: list[float]

    @property
    def ratio(self) -> float:
        """How many times as long the peer takes, by the medians."""
        return float(np.median(self.peer_seconds) / np.median(self.seconds))


def compare(length_ft: float, lines: int, streets: int) -> Comparison:
    """Search so many streets of a size in both ways; a margin of NaN is no profile."""
    search_profile(*invented_street(0, 200.0, 3))
    found = Comparison(length_ft, lines, [], [], [], [], [], [])
    for seed in range(1, streets + 1):
        limits, obstacles = invented_street(seed, length_ft, lines)
        searched, seconds = _timed(search_profile, limits, obstacles)
        peer_margin, peer_seconds = _timed(margin_on_a_grid_m, limits, obstacles)
        with ten_times_finer():
            finer = search_profile(limits, obstacles)
        margin = _margin_m(searched, limits)
        found.margins_m.append(margin)
        found.finer_margins_m.append(_margin_m(finer, limits))
        found.peer_margins_m.append(min(peer_margin, limits.enough_margin_m))
        found.seconds.append(seconds)
        found.peer_seconds.append(peer_seconds)
        found.bounds_m.append(None if searched.found is None else margin_bound_m(limits, obstacles, margin))
    return found


def _margin_m(searched: Search, limits: ProfileLimits) -> float:
    """The margin found, no more than is enough; NaN where nothing was found."""
    return np.nan if searched.found is None else min(searched.found.margin_m, limits.enough_margin_m)


def _timed(
    run: Callable[[ProfileLimits, Sequence[Obstacle]], Answer],
    limits: ProfileLimits,
    obstacles: Sequence[Obstacle],
) -> tuple[Answer, float]:
    start = time.process_time()
    answer = run(limits, obstacles)
    return answer, time.process_time() - start


def margin_on_a_grid_m(limits: ProfileLimits, obstacles: Sequence[Obstacle]) -> float:
    """The largest least margin by dynamic programming; NaN where no profile of the grid fits."""
    count = int(np.ceil(limits.length_m / limits.rod_length_m))
    run_m = limits.length_m / count
    pitches = np.arange(-24, 25) * PITCH_CELL
    pitches = pitches[np.abs(pitches) <= limits.steepest_pitch_ratio + 1e-9]
    most = int(run_m / limits.bend_radius_m / PITCH_CELL + 1e-9)
    cells = int(limits.greatest_depth_m / DEPTH_CELL_M) + 2
    depths = np.full((cells, len(pitches)), np.nan)
    margins = np.full((cells, len(pitches)), -np.inf)
    entry = limits.entry_pitch_ratio
    begins = (pitches >= entry.least - 1e-9) & (pitches <= entry.greatest + 1e-9)
    depths[0, begins], margins[0, begins] = 0.0, np.inf
    for rod in range(count):
        turns = range(-most, most + 1) if rod else range(1)
        depths, margins = _next(limits, obstacles, (rod * run_m, run_m), pitches, turns, depths, margins)
    leaving = limits.exit_pitch_ratio
    ends = (pitches >= leaving.least - 1e-9) & (pitches <= leaving.greatest + 1e-9)
    best = float(margins[:3, ends].max())
    return best if best >= 0.0 else np.nan


def _next(
    limits: ProfileLimits,
    obstacles: Sequence[Obstacle],
    stretch: tuple[float, float],
    pitches: np.ndarray,
    turns: range,
    depths: np.ndarray,
    margins: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Depths and margins at the end of a rod, the best for each cell."""
    first_m, run_m = stretch
    cell, pitch = np.nonzero(margins >= 0.0)
    if len(cell) == 0:
        return depths, margins
    after = np.concatenate([pitch + turn for turn in turns])
    cell, pitch = np.tile(cell, len(turns)), np.tile(pitch, len(turns))
    is_pitch = (after >= 0) & (after < len(pitches))
    cell, pitch, after = cell[is_pitch], pitch[is_pitch], after[is_pitch]
    depth, least = depths[cell, pitch], margins[cell, pitch]
    slope, bend = pitches[pitch], (pitches[after] - pitches[pitch]) / (2.0 * run_m)
    for into in np.linspace(0.0, run_m, SAMPLES + 1)[1:]:
        at = np.full(len(depth), first_m + into)
        height = -depth + slope * into + bend * into * into
        high, low = limits.highest_m(at[:1])[0], limits.lowest_m(at[:1])[0]
        if first_m + into < limits.length_m - 1e-6:
            least = np.where((height > high + 1e-9) | (height < low), -np.inf, least)
    for obstacle in obstacles:
        begin, end = max(obstacle.from_m, first_m), min(obstacle.to_m, first_m + run_m)
        if begin > end:
            continue
        for station in np.linspace(begin, end, SAMPLES):
            into = station - first_m
            height = -depth + slope * into + bend * into * into
            # One table a station, read between its heights: as quick as a peer can be.
            table = np.linspace(-limits.greatest_depth_m - 1.0, 1.0, 240)
            known = obstacle.margins_m(np.full(len(table), station), table)
            least = np.minimum(least, np.interp(height, table, known))
    reached = depth - slope * run_m - bend * run_m * run_m
    goal = np.rint(reached / DEPTH_CELL_M).astype(int)
    fits = (least >= 0.0) & (goal >= 0) & (goal < len(depths))
    order = np.argsort(least[fits], kind="stable")
    new_depths, new_margins = np.full(depths.shape, np.nan), np.full(margins.shape, -np.inf)
    # Of those that end in one cell the last written, with the largest margin, stays.
    where = goal[fits][order], after[fits][order]
    new_depths[where], new_margins[where] = reached[fits][order], least[fits][order]
    return new_depths, new_margins


def main() -> None:
    """Print the comparison of both sizes."""
    streets = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    for length_ft, lines in SIZES:
        found = compare(length_ft, lines, streets)
        margins, peers = np.array(found.margins_m), np.array(found.peer_margins_m)
        finer = 1e3 * (np.array(found.finer_margins_m) - margins)
        bounds = 1e3 * (np.array([np.nan if one is None else one for one in found.bounds_m]) - margins)
        print(f"{length_ft:.0f} ft, {lines} lines, {length_ft * FOOT_M:.0f} m, {streets} streets, one core")
        print(f"search            median {1e3 * np.median(found.seconds):7.0f} ms, most", end=" ")
        print(f"{1e3 * max(found.seconds):.0f} ms; {np.isfinite(margins).sum()} found")
        print(f"grid of the peer  median {1e3 * np.median(found.peer_seconds):7.0f} ms, most", end=" ")
        print(f"{1e3 * max(found.peer_seconds):.0f} ms; {np.isfinite(peers).sum()} found")
        print(f"ratio             {found.ratio:14.1f}")
        both = np.isfinite(margins) & np.isfinite(peers)
        print(f"margin above the peer's: least {1e3 * (margins - peers)[both].min():.0f} mm, ", end="")
        print(f"median {1e3 * np.median((margins - peers)[both]):.0f} mm")
        _print_gaps("ten times finer", finer)
        _print_gaps("out of reach", bounds)


def _print_gaps(words: str, gaps_mm: np.ndarray) -> None:
    """Print how far above the margin found something lies, street by street."""
    known = gaps_mm[np.isfinite(gaps_mm)]
    each = " ".join("none" if np.isnan(one) else f"{one:.0f}" for one in gaps_mm)
    print(f"{words}: {each} mm above what was found, by street")
    if len(known):
        print(f"  median {np.median(known):.1f}, most {known.max():.1f} mm")


if __name__ == "__main__":
    main()
