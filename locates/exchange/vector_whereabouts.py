"""How far what a file holds lies from what the job is about: the first sign of a wrong coordinate system."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from pyproj import Geod
from shapely.geometry import shape

from locates.exchange.positions import WIDEST_JOB_M
from locates.landmarks import landmarks_of
from locates.models import Job
from locates.units import format_length

DOUBTFUL_M = 1_000.0  # a street's work is shorter: farther away a coordinate system is more likely wrong

_EARTH = Geod(ellps="WGS84")
_KILOMETRE_M = 1000.0


@dataclass(frozen=True)
class Whereabouts:
    """Where a file's things lie, in words; doubtful if far, impossible if too far for one job."""

    words: str
    is_doubtful: bool
    is_impossible: bool


def whereabouts(job: Job, geometries: list[dict[str, Any]], others: list[dict[str, Any]]) -> Whereabouts:
    """Distance of the nearest thing from the job's landmarks, else from its other records."""
    shapes = np.array([shape(geometry) for geometry in geometries], dtype=object)
    landmarks: list[tuple[str, shapely.Geometry]] = [
        (landmark.words, shapely.LineString(landmark.line.coords)) for landmark in landmarks_of(job.pk)
    ]
    if not landmarks and others:
        landmarks = [("the job's other records", shapely.GeometryCollection([shape(one) for one in others]))]
    if not landmarks or not len(shapes):
        return Whereabouts("The job has nothing yet that a distance could be told from.", False, False)
    words, nearest_m, farthest_m = min(
        ((words, *_distances_m(shapes, landmark)) for words, landmark in landmarks), key=lambda one: one[1]
    )
    is_doubtful = farthest_m > DOUBTFUL_M
    near = _shown(nearest_m, job.show_units)
    said = f"The nearest lies {near} from {words}"
    if len(shapes) > 1:
        said += f", the farthest {_shown(farthest_m, job.show_units)}"
    question = ": wrong coordinate system or unit?" if is_doubtful else "."
    return Whereabouts(said + question, is_doubtful, farthest_m > WIDEST_JOB_M)


def _distances_m(shapes: np.ndarray, landmark: shapely.Geometry) -> tuple[float, float]:
    """Nearest and farthest of the distances from a landmark, along the ground."""
    middle_lon, middle_lat = shapely.get_coordinates(landmark.centroid)[0]
    shortening = max(np.cos(np.radians(middle_lat)), 0.01)

    def flattened(positions: np.ndarray) -> np.ndarray:
        # Turns from the landmark, shortened to what they measure there: near is near, past 180 degrees too.
        turns = (positions[:, 0] - middle_lon + 180.0) % 360.0 - 180.0
        return np.column_stack([turns * shortening, positions[:, 1]])

    pairs = shapely.shortest_line(
        shapely.transform(shapes, flattened), shapely.transform(landmark, flattened)
    )
    ends = shapely.get_coordinates(pairs).reshape(-1, 2, 2)
    longitudes = ends[:, :, 0] / shortening + middle_lon
    _, _, metres = _EARTH.inv(longitudes[:, 0], ends[:, 0, 1], longitudes[:, 1], ends[:, 1, 1])
    return float(np.min(metres)), float(np.max(metres))


def _shown(distance_m: float, show_units: str) -> str:
    if distance_m < _KILOMETRE_M:
        return format_length(distance_m, show_units)
    return (
        f"{distance_m / _KILOMETRE_M:,.1f} km"
        if distance_m < 100e3
        else f"{distance_m / _KILOMETRE_M:,.0f} km"
    )
