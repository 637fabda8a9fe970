"""Invented jobs of realistic size for the benchmarks: one bore among forty buried lines in a 300 m square."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SIDE_M = 300.0
BORE_SEGMENTS = 60
LINE_SEGMENTS = 9
LINES_PER_JOB = 40
# Of ten lines so many run along the street with the bore; the others cross it somewhere in the square.
ALONG_OF_TEN = 3


@dataclass(frozen=True)
class InventedJob:
    """One bore and its lines, east, north and elevation in metres."""

    bore_m: FloatArray
    lines_m: list[FloatArray]


def invented_jobs(count: int, seed: int = 20240229) -> list[InventedJob]:
    """Jobs drawn from a seed: the same count and seed give the same jobs."""
    random = np.random.default_rng(seed)
    return [_job(random) for _ in range(count)]


def _job(random: np.random.Generator) -> InventedJob:
    heading_rad = random.uniform(0.0, 2.0 * np.pi)
    middle = np.full(2, SIDE_M / 2)
    length_m = random.uniform(100.0, 250.0)
    plan = _wandering(random, middle, heading_rad, length_m, BORE_SEGMENTS, 0.01)
    # Down to a depth of 1.5 to 5 m, level, and up again.
    share = np.linspace(0.0, 1.0, BORE_SEGMENTS + 1)
    depth_m = random.uniform(1.5, 5.0) * np.minimum(1.0, np.minimum(share, 1.0 - share) * 6.0)
    lines = [
        _line(random, middle, heading_rad, is_along=number % 10 < ALONG_OF_TEN)
        for number in range(LINES_PER_JOB)
    ]
    return InventedJob(np.column_stack([plan, -depth_m]), lines)


def _line(
    random: np.random.Generator, middle: FloatArray, bore_heading_rad: float, is_along: bool
) -> FloatArray:
    if is_along:
        heading_rad = bore_heading_rad + random.normal(0.0, 0.02)
        across = np.array([np.cos(bore_heading_rad), -np.sin(bore_heading_rad)])
        centre = middle + across * random.uniform(-12.0, 12.0)
    else:
        heading_rad = random.uniform(0.0, 2.0 * np.pi)
        centre = random.uniform(0.2 * SIDE_M, 0.8 * SIDE_M, 2)
    plan = _wandering(random, centre, heading_rad, random.uniform(40.0, 250.0), LINE_SEGMENTS, 0.04)
    fall_m = np.linspace(0.0, random.uniform(-0.4, 0.4), LINE_SEGMENTS + 1)
    return np.column_stack([plan, fall_m - random.uniform(0.8, 3.0)])


def _wandering(
    random: np.random.Generator,
    centre: FloatArray,
    heading_rad: float,
    length_m: float,
    segments: int,
    turn_rad: float,
) -> FloatArray:
    """A polyline in plan about a centre whose heading wanders by a small turn from piece to piece."""
    headings = heading_rad + np.cumsum(random.normal(0.0, turn_rad, segments))
    steps = length_m / segments * np.column_stack([np.sin(headings), np.cos(headings)])
    points = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    return np.asarray(points - points.mean(axis=0) + centre, dtype=float)
