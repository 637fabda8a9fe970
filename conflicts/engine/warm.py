"""Compiling the engine's kernels before somebody waits for a figure."""

import numpy as np

from conflicts.engine.clearance import Allowances, clearances
from conflicts.engine.exposure import exposure
from conflicts.engine.line import BuriedLine, FoundHoles, buried_line, line_size
from conflicts.engine.path import Ground, path_of_profile
from conflicts.engine.profile_limits import ProfileLimits, Range
from conflicts.engine.profile_lines import KeptAway, error_terms
from conflicts.engine.profile_search import margin_bound_m, search_profile
from conflicts.engine.steerable import sections_m


def warm_up() -> None:
    """Compile every kernel that an assessment, a search or a look-ahead calls, or read it from the cache.

    Notes
    -----
    Computes a bore of 10 m across one exposed line, beside another and beside one painted point, and searches
    one of 30 m past a line, with no result. It takes about a minute of one core where nothing is cached yet,
    else a second.
    """
    path = path_of_profile(
        [[0.0, 0.0], [10.0, 0.0]], np.array([0.0, 5.0, 10.0]), np.array([-1.0, -2.0, -1.0])
    )
    hole = np.array([[5.0, 0.0]])
    allowances = Allowances(
        tolerance_zone_m=0.6, reach_m=0.6, bore_horizontal_m=0.3, bore_vertical_m=0.15, slope_ratio=0.01
    )
    across, beside = [[5.0, -5.0], [5.0, 5.0]], [[0.0, 0.5], [10.0, 0.5]]
    lines = (_line(across, hole), _line(beside, np.array([[5.0, 0.5]])), _line([[5.0, 0.5]], hole[:0]))
    alignment = np.array([[0.0, 0.0], [10.0, 0.0]])
    terms = error_terms(0.1, lines[0], allowances, None)
    kept_away = KeptAway("line", 4.0, 6.0, 0.3, alignment, 0.0, lines[0], terms)
    for pits_m in (0.0, 0.5):
        limits = _limits(pits_m)
        search_profile(limits, [kept_away])
        margin_bound_m(limits, [kept_away], 0.0)
    sections_m(
        np.array([0.0, 5.0]),
        np.array([-np.inf, -1.0]),
        np.array([np.inf, 0.0]),
        np.array([0.03]),
        (-0.5, 0.5, 0.01),
        (np.array([0]), np.array([0.0])),
    )
    for line in lines:
        for found in clearances(path, 0.1, line, allowances):
            exposure(found, line, hole, reach_m=0.6, spacing_m=30.0)


def _limits(pits_m: float) -> ProfileLimits:
    """A bore of 30 m on flat ground between pits of a depth, bent once in plan."""
    return ProfileLimits(
        length_m=30.0,
        ground=Ground(np.empty(0), np.empty(0)),
        hole_radius_m=0.1,
        rod_length_m=3.0,
        bend_radius_m=30.0,
        entry_depth_m=Range(pits_m, pits_m),
        exit_depth_m=Range(pits_m, pits_m),
        entry_pitch_ratio=Range(-0.3, 0.0),
        exit_pitch_ratio=Range(0.0, 0.3),
        minimum_cover_m=0.2,
        covered_m=Range(9.0, 21.0),
        steepest_pitch_ratio=0.3,
        plan_bends=((15.0, 0.01),),
    )


def _line(mark_m: list[list[float]], hole_m: np.ndarray) -> BuriedLine:
    holes = FoundHoles(hole_m, np.full(len(hole_m), -1.0), np.full(len(hole_m), 0.03))
    size = line_size(measured=[], stated_width_m=0.1, stated_height_m=None, default_m=0.1)
    return buried_line(mark_m, holes, size, 0.6)


if __name__ == "__main__":
    warm_up()
