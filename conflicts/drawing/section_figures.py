"""What a cross-section at a crossing shows, in metres across and up from the hole's centre."""

from dataclasses import dataclass

import numpy as np

from conflicts.crossings import FoundCrossing
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import BuriedLine
from conflicts.inputs import TestHoleInput
from conflicts.scene import Scene

# The nearest points lie in a plane square to the line if they leave it by no more than this.
IN_PLANE_M = 0.01
# Half the stretch of the bore over which its direction at a station is taken.
DIRECTION_M = 0.01
# A hole cut more nearly lengthwise than this (sine) is drawn as one cut at it: longer than any picture.
LENGTHWISE_SINE = 1e-3


@dataclass(frozen=True, eq=False)
class SectionPlane:
    """A vertical plane: where it stands, which way is right in it, and both in words."""

    origin_m: FloatArray
    right: FloatArray
    words: str
    right_words: str
    left_words: str

    def across(self, point_m: FloatArray) -> float:
        """Distance of a point to the right of the origin."""
        return float((point_m[:2] - self.origin_m[:2]) @ self.right)


@dataclass(frozen=True, eq=False)
class Section:
    """A cross-section, in metres to the right of the hole's centre and in elevation.

    Attributes
    ----------
    station_m : float
        Of the hole's centre.
    hole_m, line_m : tuple of float
        Centres; the line's elevation is NaN where its depth is unknown.
    hole_half_length_m, hole_tilt_rad : float
        The hole is cut in an ellipse: half of its long axis, and the rise of that.
    ground_m : float
        Elevation of the ground over the hole's centre.
    test_holes : list of (TestHoleInput, float)
        Those that expose the crossing, with their distance to the right.
    """

    plane: SectionPlane
    found: FoundCrossing
    station_m: float
    hole_m: tuple[float, float]
    line_m: tuple[float, float]
    hole_half_length_m: float
    hole_tilt_rad: float
    ground_m: float
    test_holes: list[tuple[TestHoleInput, float]]

    @property
    def depth_is_known(self) -> bool:
        """Whether the line's elevation is known."""
        return self.found.clearance.worst is not None

    @property
    def way_to_hole(self) -> tuple[float, float]:
        """Unit vector from the line's centre to the hole's; upwards where they coincide."""
        step = np.array(self.hole_m) - np.array(self.line_m)
        length = float(np.hypot(*step))
        return (float(step[0] / length), float(step[1] / length)) if length > 0.0 else (0.0, 1.0)


def section_at(scene: Scene, found: FoundCrossing) -> Section:
    """The cross-section through the worst case of a crossing; with no depth, that at the crossing point.

    Parameters
    ----------
    scene : Scene
    found : FoundCrossing
        One of the scene's.
    """
    clearance = found.clearance
    worst = clearance.worst
    if worst is None:
        station = clearance.station_m
        hole, line = scene.path.at(station), np.array([*clearance.point_m, np.nan])
        direction = _line_direction(found.line.line, clearance.along_m)
    else:
        station, hole, line = worst.station_m, worst.bore_point_m, worst.line_point_m
        direction = worst.line_direction
    heading = _bore_direction(scene, station)
    plane = _plane(hole, line, direction, heading)
    normal = np.array([-plane.right[1], plane.right[0], 0.0])
    across = max(LENGTHWISE_SINE, abs(float(heading @ normal)))
    holes = [
        (hole_input, plane.across(scene.points_m((hole_input.position,))[0]))
        for hole_input in found.exposing_holes
    ]
    return Section(
        plane=plane,
        found=found,
        station_m=station,
        hole_m=(0.0, float(hole[2])),
        line_m=(plane.across(line), float(line[2])),
        hole_half_length_m=clearance.sizes.bore_radius_m / across,
        hole_tilt_rad=float(np.arctan2(heading[2], heading[:2] @ plane.right)),
        ground_m=float(scene.ground.at(station)),
        test_holes=holes,
    )


def _plane(hole: FloatArray, line: FloatArray, direction: FloatArray, heading: FloatArray) -> SectionPlane:
    """A vertical plane through both points, square to the line in plan wherever that holds them."""
    level = line[:2] - hole[:2]
    apart = float(np.linalg.norm(level))
    ahead = heading[:2] / np.linalg.norm(heading[:2])
    # Clockwise from the heading: to the right of who faces the exit.
    aside = np.array([ahead[1], -ahead[0]])
    if np.isfinite(direction).all() and abs(float(level @ direction)) <= IN_PLANE_M:
        right = np.array([direction[1], -direction[0]])
        words = "A vertical section square to the line, through the point of it that is nearest to the bore"
    elif apart > IN_PLANE_M:
        right = level / apart
        words = "A vertical section through the nearest points of the bore and the line"
    else:
        right = aside
        words = "A vertical section square to the bore"
    if abs(float(right @ aside)) >= abs(float(right @ ahead)):
        right = right if right @ aside >= 0.0 else -right
        return SectionPlane(hole, right, f"{words}, facing the exit", "right of the bore", "left of the bore")
    right = right if right @ ahead >= 0.0 else -right
    return SectionPlane(
        hole, right, f"{words}, seen from the right of the bore", "to the exit", "to the entry"
    )


def _bore_direction(scene: Scene, station_m: float) -> FloatArray:
    step = scene.path.at(station_m + DIRECTION_M) - scene.path.at(station_m - DIRECTION_M)
    unit: FloatArray = step / np.linalg.norm(step)
    return unit


def _line_direction(line: BuriedLine, along_m: float) -> FloatArray:
    """Unit vector along a line in plan; NaN for one without length."""
    if line.along_m[-1] == 0.0:
        return np.full(2, np.nan)
    piece = int(np.clip(np.searchsorted(line.along_m, along_m, side="right") - 1, 0, len(line.along_m) - 2))
    step = line.points_m[piece + 1, :2] - line.points_m[piece, :2]
    length = float(np.linalg.norm(step))
    return step / length if length > 0.0 else np.full(2, np.nan)
