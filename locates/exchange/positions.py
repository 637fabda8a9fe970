"""Positions of a job file: numbers, on the globe, longitude first, all of them at one place."""

import math
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from locates.errors import JobFileError
from locates.exchange.whereabouts import Path, error_at, show

IndexedFeature = tuple[int, dict[str, Any]]
"""A feature and its index in the file."""

POSITION_WORDS = "[longitude, latitude], degrees of WGS 84"
POLAR_LATITUDE_DEG = -60.0  # no street lies south of it: what does has its numbers swapped
NORTHERN_LATITUDE_DEG = 75.0  # few streets lie north of it
SAME_POSITION_DEG = 1e-9  # a tenth of a millimetre
WIDEST_JOB_M = 100_000.0  # common practice, no source: one piece of work at one place is a thousandth of it

_EARTH_MEAN_RADIUS_M = 6371008.8  # GRS 80, Moritz (2000); here a distance only has to be right in words
_LISTS_ROUND_A_POSITION = {"Point": 0, "LineString": 1, "Polygon": 2, "MultiPolygon": 3}
_CLOSED_RING_POSITIONS = 4


def position_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """What is wrong with the coordinates of each feature.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of a kind and a geometry type that the schema accepts.

    Yields
    ------
    JobFileError
        Lists of another depth or empty, positions that are not two numbers on the globe or that seem to be
        swapped, lines without two distinct positions, rings that are open or too short.
    """
    for index, feature in features:
        geometry = feature["geometry"]
        levels = _LISTS_ROUND_A_POSITION[geometry["type"]]
        path: Path = ("features", index, "geometry", "coordinates")
        faults = list(_faults_of_list(document, geometry["coordinates"], levels, path))
        yield from faults or _faults_of_shape(document, geometry, path)


def positions_of(geometry: dict[str, Any]) -> list[list[float]]:
    """Every position of a geometry, in its order.

    Parameters
    ----------
    geometry : dict
        A sound one.

    Returns
    -------
    list of [longitude, latitude]
    """
    positions = [geometry["coordinates"]]
    for _ in range(_LISTS_ROUND_A_POSITION[geometry["type"]]):
        positions = [inner for outer in positions for inner in outer]
    return positions


def rings_of(geometry: dict[str, Any]) -> Iterator[tuple[Path, list[list[float]]]]:
    """Every ring of an area with its path below the coordinates; nothing of another geometry.

    Parameters
    ----------
    geometry : dict
        A sound one.

    Yields
    ------
    (path, list of [longitude, latitude])
    """
    if geometry["type"] == "Polygon":
        for ring, positions in enumerate(geometry["coordinates"]):
            yield (ring,), positions
    elif geometry["type"] == "MultiPolygon":
        for part, rings in enumerate(geometry["coordinates"]):
            for ring, positions in enumerate(rings):
                yield (part, ring), positions


def distance_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Features that lie far from the rest of the job, as a swapped or mistyped position does.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features with sound positions.

    Yields
    ------
    JobFileError
        At a feature's position farthest from the middle of the others, beyond `WIDEST_JOB_M`.
    """
    indexed = list(features)
    if not indexed:
        return
    clouds = [_on_the_sphere(positions_of(feature["geometry"])) for _, feature in indexed]
    middles = np.array([np.median(cloud, axis=0) for cloud in clouds])
    of_all = np.median(middles, axis=0)
    for place, ((index, feature), cloud) in enumerate(zip(indexed, clouds, strict=True)):
        # Half of the limit: the middle of few features is drawn towards the one that strays.
        if _farthest(cloud, of_all)[1] < 0.5 * WIDEST_JOB_M:
            continue
        others = np.delete(middles, place, axis=0) if len(middles) > 1 else middles
        vertex, distance_m = _farthest(cloud, np.median(others, axis=0))
        if distance_m > WIDEST_JOB_M:
            position = positions_of(feature["geometry"])[vertex]
            where = show_position(position)
            swapped = ": swapped?" if _swapping_helps(position, np.median(others, axis=0)) else ""
            yield error_at(
                document,
                ("features", index, "geometry", "coordinates"),
                found=f"{where}, which lies {distance_m / 1000:,.0f} km from the rest of the job{swapped}",
                accepted=f"{POSITION_WORDS}: longitude comes first",
            )


def show_position(position: Iterable[float]) -> str:
    """A position as the file writes it.

    Parameters
    ----------
    position : iterable of float
        Longitude and latitude.

    Returns
    -------
    str
        Such as ``[-93.51, 39.02]``.
    """
    return f"[{', '.join(repr(number) for number in position)}]"


def _faults_of_list(document: Any, value: Any, levels: int, path: Path) -> Iterator[JobFileError]:
    if levels == 0:
        fault = _fault_of_position(value)
        if fault:
            found, accepted = fault
            yield error_at(document, path, found=found, accepted=accepted)
    elif not isinstance(value, list) or not value:
        found = "an empty list" if value == [] else show(value)
        wanted = ("positions", "rings", "polygons")[levels - 1]
        yield error_at(
            document, path, found=found, accepted=f"a list of {wanted}, each position {POSITION_WORDS}"
        )
    else:
        for place, inner in enumerate(value):
            yield from _faults_of_list(document, inner, levels - 1, (*path, place))


def _fault_of_position(position: Any) -> tuple[str, str] | None:
    """What is found and what is accepted, where a position is not one."""
    if not isinstance(position, list) or not position:
        return ("an empty list" if position == [] else show(position)), POSITION_WORDS
    for number in position:
        if isinstance(number, bool) or not isinstance(number, int | float):
            return f"{show(number)} in a position", f"two numbers, {POSITION_WORDS}"
    shown = show_position(position)
    if len(position) == 3:
        return f"{shown}, three numbers", f"{POSITION_WORDS}: heights and depths have members of their own"
    if len(position) != 2:
        return f"{shown[:80]}, {len(position)} numbers", f"two numbers, {POSITION_WORDS}"
    longitude_deg, latitude_deg = position
    if abs(latitude_deg) > 90 and abs(longitude_deg) <= 90 and abs(latitude_deg) <= 180:
        return f"{shown}, a latitude beyond 90 degrees: swapped?", f"{POSITION_WORDS}: longitude comes first"
    if abs(latitude_deg) > 90 or abs(longitude_deg) > 180:
        return f"{shown}, off the globe", f"{POSITION_WORDS}: longitude -180 to 180, latitude -90 to 90"
    if latitude_deg < POLAR_LATITUDE_DEG <= longitude_deg <= NORTHERN_LATITUDE_DEG:
        return f"{shown}, a place in the Antarctic: swapped?", f"{POSITION_WORDS}: longitude comes first"
    return None


def _faults_of_shape(document: Any, geometry: dict[str, Any], path: Path) -> Iterator[JobFileError]:
    if geometry["type"] == "LineString" and not _spreads(geometry["coordinates"]):
        yield error_at(
            document,
            path,
            found="a line of one distinct position",
            accepted="at least two distinct positions",
        )
    for inner, ring in rings_of(geometry):
        if len(ring) < _CLOSED_RING_POSITIONS:
            yield error_at(
                document,
                (*path, *inner),
                found=f"a ring of {len(ring)} positions",
                accepted="at least four positions, the last the same as the first",
            )
        elif ring[0] != ring[-1]:
            yield error_at(
                document,
                (*path, *inner),
                found=f"an open ring, from {show_position(ring[0])} to {show_position(ring[-1])}",
                accepted="a ring whose last position is the same as its first",
            )


def _spreads(positions: list[list[float]]) -> bool:
    """Whether a line has an extent; -180 and 180 degrees are one meridian."""
    line = np.asarray(positions, dtype=float)
    steps_deg = np.abs(line - line[0])
    steps_deg[:, 0] = np.minimum(steps_deg[:, 0], 360.0 - steps_deg[:, 0])
    return bool(steps_deg.max() > SAME_POSITION_DEG)


def _swapping_helps(position: list[float], middle: NDArray[np.float64]) -> bool:
    longitude_deg, latitude_deg = position
    if abs(longitude_deg) > 90.0:
        return False
    return _farthest(_on_the_sphere([[latitude_deg, longitude_deg]]), middle)[1] <= WIDEST_JOB_M


def _on_the_sphere(positions: list[list[float]]) -> NDArray[np.float64]:
    """Directions from the centre of the earth: neighbours across the 180th meridian stay neighbours."""
    longitude, latitude = np.radians(np.asarray(positions, dtype=float)).T
    return np.column_stack(
        [np.cos(latitude) * np.cos(longitude), np.cos(latitude) * np.sin(longitude), np.sin(latitude)]
    )


def _farthest(cloud: NDArray[np.float64], middle: NDArray[np.float64]) -> tuple[int, float]:
    """Return the index of the direction farthest from a middle, and its distance along the ground."""
    length = float(np.linalg.norm(middle))
    if length == 0.0:
        return 0, math.pi * _EARTH_MEAN_RADIUS_M
    half_chords = np.linalg.norm(cloud - middle / length, axis=1) / 2.0
    vertex = int(np.argmax(half_chords))
    return vertex, 2.0 * math.asin(min(1.0, float(half_chords[vertex]))) * _EARTH_MEAN_RADIUS_M
