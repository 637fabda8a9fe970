"""Areas of a job file: a boundary that crosses itself is refused, saying where."""

import re
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from locates.errors import JobFileError
from locates.exchange.positions import IndexedFeature
from locates.exchange.whereabouts import Path, error_at

_PLACE = re.compile(r"^(?P<reason>[^\[]+)\[(?P<longitude>\S+) (?P<latitude>\S+)\]$")
_REASONS = {
    "Self-intersection": "a boundary that crosses itself",
    "Ring Self-intersection": "a boundary that touches itself",
    "Hole lies outside shell": "a hole outside of its boundary",
    "Holes are nested": "a hole inside of another hole",
    "Interior is disconnected": "a hole that cuts the area apart",
    "Duplicate Rings": "one ring twice",
    "Too few points in geometry component": "a boundary without an area",
    "Nested shells": "a part inside of another part",
}


def area_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Areas whose boundary crosses itself, or whose parts overlap.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features with sound positions.

    Yields
    ------
    JobFileError
        Saying where, in the longitude and latitude of the file.

    Notes
    -----
    A polygon across the 180th meridian is looked at the short way round, and also as it is written, because
    a map that is flat and 360 degrees wide, as the database's is, sees it so.
    """
    for index, feature in features:
        geometry = feature["geometry"]
        path: Path = ("features", index, "geometry", "coordinates")
        if geometry["type"] == "Polygon":
            parts = [(path, geometry["coordinates"])]
        elif geometry["type"] == "MultiPolygon":
            parts = [((*path, part), rings) for part, rings in enumerate(geometry["coordinates"])]
        else:
            continue
        faults = [error for where, rings in parts for error in _faults_of_polygon(document, rings, where)]
        yield from faults or _faults_of_parts(document, [rings for _, rings in parts], path)


def _faults_of_polygon(document: Any, rings: list[list[list[float]]], path: Path) -> Iterator[JobFileError]:
    found = _fault(shapely.Polygon(*_shell_and_holes(_unwrapped(rings))))
    if found:
        yield error_at(document, path, found=found, accepted="an area whose boundary does not cross itself")
        return
    if _fault(shapely.Polygon(*_shell_and_holes([np.asarray(ring, dtype=float) for ring in rings]))):
        yield error_at(
            document,
            path,
            found="an area across the 180th meridian that crosses itself where the map is cut",
            accepted="the area cut at the 180th meridian into a MultiPolygon (RFC 7946 section 3.1.9)",
        )


def _faults_of_parts(
    document: Any, parts: list[list[list[list[float]]]], path: Path
) -> Iterator[JobFileError]:
    if len(parts) < 2:
        return
    shapes = [shapely.Polygon(rings[0], rings[1:]) for rings in parts]
    reason = shapely.is_valid_reason(shapely.MultiPolygon(shapes))
    if reason != "Valid Geometry":
        match = _PLACE.match(reason)
        where = f" at {_place(match)}" if match else ""
        yield error_at(
            document,
            path,
            found=f"parts that overlap or share an edge{where}",
            accepted="parts that are apart or touch in a point",
        )


def _fault(polygon: shapely.Polygon) -> str:
    """What makes a polygon invalid and where, in words; "" where nothing does."""
    reason = shapely.is_valid_reason(polygon)
    if reason == "Valid Geometry":
        return "" if polygon.area > 0.0 else "a boundary without an area"
    match = _PLACE.match(reason)
    if match is None:
        return str(reason)
    return f"{_REASONS.get(match['reason'], match['reason'])} at {_place(match)}"


def _place(match: re.Match[str]) -> str:
    longitude_deg = (float(match["longitude"]) + 180.0) % 360.0 - 180.0
    return f"[{longitude_deg:.7f}, {float(match['latitude']):.7f}]"


def _shell_and_holes(
    rings: list[NDArray[np.float64]],
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    return rings[0], rings[1:]


def _unwrapped(rings: list[list[list[float]]]) -> list[NDArray[np.float64]]:
    """Rings in which each longitude is the nearest turn of itself to the first one of the shell."""
    arrays = [np.array(ring, dtype=float) for ring in rings]
    first_deg = arrays[0][0, 0]
    for ring in arrays:
        turn_deg = np.round((ring[:, 0] - first_deg) / 360.0) * 360.0
        ring[:, 0] -= turn_deg
    return arrays
