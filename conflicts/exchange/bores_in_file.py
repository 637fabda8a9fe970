"""What bores and pits must say together with the rest of their file."""

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from conflicts.alignment import alignment_length_m
from conflicts.engine.errors import PathError
from conflicts.engine.frame import FloatArray, frame_about, polyline_length_m
from conflicts.engine.path import END_STATION_M, Rods, path_of_rods
from locates.errors import JobFileError
from locates.exchange.positions import IndexedFeature
from locates.exchange.references import dangling, named_twice
from locates.exchange.whereabouts import Path, error_at

SHORTEST_BORE_M = 0.1  # common practice, no source: the points of a shorter alignment are one point


def bore_reference_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Bores and pits that stand twice, and pits of a bore that is not there.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        All of its features, of sound form.

    Yields
    ------
    JobFileError
    """
    indexed = list(features)
    yield from named_twice(document, indexed, "bore", ("name",))
    yield from named_twice(document, indexed, "pit", ("bore_name", "end"))
    yield from dangling(document, indexed, "pit", "bore_name", ("bore", "name"))


def bore_length_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Profiles and rods that stop short of their alignment's end, or run past it.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        All of its features, of sound form.

    Yields
    ------
    JobFileError
        Saying by how much. A profile ends within 1 cm of the alignment; rods end within a rod of it.
    """
    mean_height_m = document["job"].get("mean_height_m")
    for index, feature in features:
        if feature["properties"]["kind"] != "bore":
            continue
        positions = feature["geometry"]["coordinates"]
        length_m = alignment_length_m(positions, mean_height_m)
        path: Path = ("features", index, "properties")
        if length_m < SHORTEST_BORE_M:
            yield error_at(
                document,
                ("features", index, "geometry", "coordinates"),
                found=f"an alignment of {length_m:.4f} m",
                accepted=f"an alignment of at least {SHORTEST_BORE_M:g} m",
            )
        elif "profile" in feature["properties"]:
            yield from _profile_end(document, feature["properties"]["profile"]["vertices"], length_m, path)
        else:
            frame = frame_about([positions], mean_height_m)
            alignment_m = frame.to_ground(*zip(*positions, strict=True))
            yield from _rods_end(document, feature["properties"], alignment_m, path)


def _profile_end(
    document: Any, vertices: list[list[float]], length_m: float, path: Path
) -> Iterator[JobFileError]:
    last_m = vertices[-1][0]
    if abs(last_m - length_m) > END_STATION_M:
        yield error_at(
            document,
            (*path, "profile", "vertices", len(vertices) - 1, 0),
            found=f"a last station of {last_m!r} m, which {_miss_words(last_m, length_m)}",
            accepted=f"the alignment's length on the ground, {length_m:.3f} m, within 1 cm",
        )


def _rods_end(
    document: Any, bore: dict[str, Any], alignment_m: FloatArray, path: Path
) -> Iterator[JobFileError]:
    joints = bore["rods"]["joints"]
    where = (*path, "rods", "joints")
    try:
        rods_path = path_of_rods(alignment_m, rods_of(bore["rods"]))
    except PathError as error:
        yield error_at(document, where, found=str(error), accepted="joints that arcs can connect")
        return
    reach_m = bore.get("rig", {}).get("rod_length_m") or max(joint["length_m"] for joint in joints)
    miss_m = float(np.hypot(*(rods_path.points_m[-1, :2] - alignment_m[-1])))
    if miss_m > reach_m:
        words = _miss_words(rods_path.length_m, polyline_length_m(alignment_m))
        yield error_at(
            document,
            where,
            found=f"rods that end {miss_m:.3f} m from the alignment's end: their path {words}",
            accepted=f"rods that end within a rod ({reach_m:g} m) of the alignment's end",
        )


def rods_of(rods: dict[str, Any]) -> Rods:
    """A rod-by-rod plan of a job file, as the engine takes it.

    Parameters
    ----------
    rods : dict
        The member of a bore.

    Returns
    -------
    Rods
    """
    joints = rods["joints"]
    return Rods(
        entry_elevation_m=float(rods["entry_elevation_m"]),
        lengths_m=np.array([joint["length_m"] for joint in joints], dtype=float),
        pitches_ratio=np.array([joint["pitch_ratio"] for joint in joints], dtype=float),
        headings_rad=np.array([joint.get("heading_rad", np.nan) for joint in joints], dtype=float),
    )


def _miss_words(found_m: float, length_m: float) -> str:
    difference_m = found_m - length_m
    words = (
        "runs over the alignment's end by" if difference_m > 0 else "stops short of the alignment's end by"
    )
    return f"{words} {abs(difference_m):.3f} m"
