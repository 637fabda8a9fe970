"""Invented bores under streets full of exposed lines, as the profile search takes them."""

import numpy as np

from conflicts.engine.clearance import Allowances, clearances
from conflicts.engine.line import FoundHoles, LineSize, buried_line
from conflicts.engine.path import Ground, path_of_profile
from conflicts.engine.profile_limits import Obstacle, ProfileLimits, Range
from conflicts.engine.profile_lines import KeptAway, error_terms

FOOT_M = 0.3048
ROD_M, RADIUS_M, HOLE_RADIUS_M, REQUIRED_M = 10.0 * FOOT_M, 100.0 * FOOT_M, 0.1, 0.305
ALLOWANCES = Allowances(
    tolerance_zone_m=0.6096, reach_m=0.6096, bore_horizontal_m=0.30, bore_vertical_m=0.15, slope_ratio=0.01
)


def invented_street(seed: int, length_ft: float, lines: int) -> tuple[ProfileLimits, list[Obstacle]]:
    """A bore along a straight street, each line across it exposed where they meet.

    Parameters
    ----------
    seed : int
    length_ft : float
    lines : int
        They cross at 30 to 150 degrees, 0.6 to 3 m deep, 0.05 to 0.45 m wide.
    """
    random = np.random.default_rng(seed)
    length_m = length_ft * FOOT_M
    alignment = np.array([(0.0, 0.0), (length_m, 0.0)])
    level = path_of_profile(alignment, np.array([0.0, length_m]), np.array([-1.5, -1.5]))
    obstacles: list[Obstacle] = []
    for number in range(lines):
        east, angle = random.uniform(12.0, length_m - 12.0), np.radians(random.uniform(30.0, 150.0))
        away = 12.0 * np.array([np.cos(angle), np.sin(angle)])
        place = np.array([[east, 0.0]])
        width_m = random.uniform(0.05, 0.45)
        line = buried_line(
            np.vstack([place - away, place + away]),
            FoundHoles(place, np.array([-random.uniform(0.6, 3.0)]), np.array([0.03])),
            LineSize(width_m, width_m, is_duct_bank=False, is_assumed=False),
            ALLOWANCES.reach_m,
        )
        terms = error_terms(HOLE_RADIUS_M, line, ALLOWANCES, None)
        for met in clearances(level, HOLE_RADIUS_M, line, ALLOWANCES):
            obstacles.append(
                KeptAway(f"line {number}", met.from_m, met.to_m, REQUIRED_M, alignment, 0.0, line, terms)
            )
    limits = ProfileLimits(
        length_m=length_m,
        ground=Ground(np.empty(0), np.empty(0)),
        hole_radius_m=HOLE_RADIUS_M,
        rod_length_m=ROD_M,
        bend_radius_m=RADIUS_M,
        entry_depth_m=Range(0.0, 0.0),
        exit_depth_m=Range(0.0, 0.0),
        entry_pitch_ratio=Range(-0.30, -0.10),
        exit_pitch_ratio=Range(0.08, 0.25),
        minimum_cover_m=0.9,
        covered_m=Range(12.0, length_m - 12.0),
        steepest_pitch_ratio=0.30,
        greatest_depth_m=5.0,
    )
    return limits, obstacles
