"""Small bores for the profile search, drawn at random, and every profile of a fine grid that they allow."""

from dataclasses import dataclass
from itertools import product

import numpy as np
from hypothesis import strategies as st

from conflicts.engine.frame import FloatArray
from conflicts.engine.path import Ground
from conflicts.engine.profile_limits import ForbiddenBand, ProfileLimits, Range

FOOT_M = 0.3048
FLAT = Ground(np.empty(0), np.empty(0))
ROD_M, RADIUS_M = 3.0, 30.0
# How far inside of each limit a profile of the grid must lie: m, ratio of pitch, part of a bend.
INSIDE = 0.005


def limits_of(**changes) -> ProfileLimits:
    """A bore of 60 m on flat ground with 3 m rods and a radius of 30 m, with some figures changed."""
    figures = {
        "length_m": 60.0,
        "ground": FLAT,
        "hole_radius_m": 0.1,
        "rod_length_m": ROD_M,
        "bend_radius_m": RADIUS_M,
        "entry_depth_m": Range(0.0, 0.0),
        "exit_depth_m": Range(0.0, 0.0),
        "entry_pitch_ratio": Range(-0.30, -0.10),
        "exit_pitch_ratio": Range(0.05, 0.30),
        "minimum_cover_m": 0.0,
        "covered_m": Range(12.0, 48.0),
        "steepest_pitch_ratio": 0.30,
    }
    return ProfileLimits(**(figures | changes))


def in_feet(length_ft, radius_ft, depths_ft=(), cover_ft=(0.0, 0.0, 0.0), **changes) -> ProfileLimits:
    """A bore of 10 ft rods from the surface to the surface, its hole without width, its figures in feet."""
    cover, first, last = cover_ft
    depth = {"greatest_depth_m": depths_ft[0] * FOOT_M} if depths_ft else {}
    return limits_of(
        length_m=length_ft * FOOT_M,
        hole_radius_m=0.0,
        rod_length_m=10.0 * FOOT_M,
        bend_radius_m=radius_ft * FOOT_M,
        minimum_cover_m=cover * FOOT_M,
        covered_m=Range(first * FOOT_M, last * FOOT_M),
        **depth,
        **changes,
    )


def band_in_feet(station_ft, from_depth_ft, to_depth_ft) -> ForbiddenBand:
    """Depths that are forbidden at one station."""
    at = station_ft * FOOT_M
    return ForbiddenBand(f"at {station_ft} ft", at, at, -to_depth_ft * FOOT_M, -from_depth_ft * FOOT_M)


@dataclass(frozen=True, eq=False)
class SmallBore:
    """A bore of six rods from a pit to a pit, among bands."""

    limits: ProfileLimits
    bands: tuple[ForbiddenBand, ...]


@st.composite
def small_bores(draw: st.DrawFn) -> SmallBore:
    """Bores short enough that every profile of a fine grid can be tried."""
    tenths = st.integers(-15, 15).map(lambda value: value / 10)
    exit_depth = draw(st.integers(2, 20)) / 10
    bands = []
    for number in range(draw(st.integers(1, 4))):
        middle, half = draw(st.integers(30, 145)) / 10, draw(st.integers(0, 8)) / 10
        depth, high = 1.5 + draw(tenths), draw(st.integers(1, 6)) / 10
        bands.append(
            ForbiddenBand(f"band {number}", middle - half, middle + half, -depth - high, -depth + high)
        )
    limits = limits_of(
        # Five rods never reach it and six always do, so that every profile of the grid has as many.
        length_m=5.5 * ROD_M,
        entry_depth_m=Range(0.5, 0.5),
        exit_depth_m=Range(exit_depth, exit_depth + 0.5),
        entry_pitch_ratio=Range(-0.28, 0.0),
        exit_pitch_ratio=Range(-0.1, 0.28),
        covered_m=Range(0.0, 0.0),
        greatest_depth_m=4.0,
        steepest_pitch_ratio=0.28,
    )
    return SmallBore(limits, tuple(bands))


def best_of_grid_m(bore: SmallBore, pitches: int = 6, turns: int = 5) -> float | None:
    """The largest least margin of all profiles with entry pitches and turns on a grid; None where none fits.

    Profiles on the limits themselves are left out, for there the last digit decides.

    Written apart from the engine: a rod of curvature k from a point with angle a goes to angle a + k s, so at
    the station x beyond it sin rises by k x and the height by (cos a - cos(a + k s)) / k.
    """
    limits = bore.limits
    entry = limits.entry_pitch_ratio
    entry = np.arctan(np.linspace(entry.least + INSIDE, entry.greatest - INSIDE, pitches))
    curvatures = (1.0 - INSIDE) * np.linspace(-1.0, 1.0, turns) / limits.bend_radius_m
    grid = np.array(list(product(entry, *[curvatures] * 5)))
    bends = np.column_stack([np.zeros(len(grid)), grid[:, 1:]])
    stations = np.concatenate([_within(band) for band in bore.bands] + [np.array([limits.length_m])])
    owners = np.concatenate([np.full(len(_within(band)), n) for n, band in enumerate(bore.bands)] + [[-1]])
    heights, steepest, last_angle = _heights(grid[:, 0], bends, stations, limits)
    leaving = limits.exit_elevation_m
    fits = steepest <= np.arctan(limits.steepest_pitch_ratio - INSIDE)
    fits &= (heights[:, -1] >= leaving.least + INSIDE) & (heights[:, -1] <= leaving.greatest - INSIDE)
    fits &= np.tan(last_angle) >= limits.exit_pitch_ratio.least + INSIDE
    fits &= np.tan(last_angle) <= limits.exit_pitch_ratio.greatest - INSIDE
    fits &= (heights <= -INSIDE).all(axis=1) & (heights >= INSIDE - limits.greatest_depth_m).all(axis=1)
    if not fits.any():
        return None
    least = np.full(int(fits.sum()), np.inf)
    for number, band in enumerate(bore.bands):
        at = heights[fits][:, owners == number]
        least = np.minimum(least, np.maximum(at - band.upper_m, band.lower_m - at).min(axis=1))
    best = float(least.max())
    return best if best >= INSIDE else None


def _within(band: ForbiddenBand) -> FloatArray:
    return np.linspace(band.from_m, band.to_m, int(np.ceil((band.to_m - band.from_m) / 0.05)) + 1)


def _heights(
    entry_rad: FloatArray, bends: FloatArray, stations_m: FloatArray, limits: ProfileLimits
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Elevations of many profiles at stations, the steepest angle of each, and its angle at the exit."""
    angle, x, z = entry_rad.copy(), np.zeros(len(entry_rad)), np.full(len(entry_rad), -0.5)
    heights = np.full((len(entry_rad), len(stations_m)), np.nan)
    steepest, leaving = np.abs(angle), np.full(len(entry_rad), np.nan)
    for rod in range(bends.shape[1]):
        bend = np.where(np.abs(bends[:, rod]) < 1e-12, 1e-12, bends[:, rod])
        after = angle + bend * limits.rod_length_m
        end_x = x + (np.sin(after) - np.sin(angle)) / bend
        for column, station in enumerate(stations_m):
            inside = (station >= x) & (station <= end_x)
            here = np.arcsin(np.clip(np.sin(angle) + bend * (station - x), -1.0, 1.0))
            height = z + (np.cos(angle) - np.cos(here)) / bend
            heights[:, column] = np.where(inside, height, heights[:, column])
            if column == len(stations_m) - 1:
                leaving = np.where(inside, here, leaving)
                steepest = np.maximum(steepest, np.where(inside, np.abs(here), 0.0))
        reached = end_x <= limits.length_m
        steepest = np.maximum(steepest, np.where(reached, np.abs(after), 0.0))
        z = z + (np.cos(angle) - np.cos(after)) / bend
        angle, x = after, end_x
    return heights, steepest, leaving
