"""Ways that a rig steers, drawn at random and laid by the arcs of surveyed attitudes."""

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from conflicts.engine.arcs import points_along
from conflicts.engine.frame import chainages_m

# What the chords of `points_along` miss their arcs by, m.
LAID_M = 2e-5


@dataclass(frozen=True)
class Steering:
    """Pieces of a way: length (m), turns in pitch and in plan as shares of the most."""

    pieces: tuple[tuple[float, float, float], ...]


@st.composite
def steerings(draw, in_plan=False) -> Steering:
    pieces = []
    for _ in range(draw(st.integers(1, 8))):
        share, towards = draw(st.floats(0.0, 1.0)), draw(st.floats(0.0, 2.0 * np.pi))
        if not in_plan:
            towards = draw(st.sampled_from([0.0, np.pi]))
        length = draw(st.floats(0.2, 3.0))
        pieces.append((length, share * np.cos(towards), share * np.sin(towards)))
    return Steering(tuple(pieces))


def laid(elevation_m, angle_rad, radius_m, steering) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Runs, elevations and plan of a steered way, from the attitudes at the ends of its pieces."""
    lengths, angles, headings = [0.0], [angle_rad], [0.0]
    for length, up, right in steering.pieces:
        most = length / radius_m
        lengths.append(lengths[-1] + length)
        angles.append(angles[-1] + up * most)
        headings.append(headings[-1] + right * most)
    points = points_along(lengths, 0.5 * np.pi + np.array(angles), np.array(headings))
    return chainages_m(points[:, :2]), points[:, 2] + elevation_m, points[:, :2]
