"""Figures of a bore that no bore has: most often another unit, or a depth with the sign of an elevation."""

import math
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np

from locates.errors import JobFileError
from locates.exchange.plausibility import conversions, height_fault, too_large
from locates.exchange.positions import IndexedFeature
from locates.exchange.whereabouts import Path, error_at

# Common practice, no source: generous for real bores, and below what the same figure in feet or inches
# comes to.
DEEPEST_BORE_M = 60.0
HIGHEST_END_M = 2.0  # the drive of a rig stands above the ground; the hole itself never does
WIDEST_HOLE_M = 3.0
LONGEST_ROD_M = 100.0  # rods are 1.5 to 10 m; a plan may take a long arc as one
DEEPEST_PIT_M = 15.0
STEEPEST_PITCH_RATIO = 1.5  # 56 degrees; rigs enter at 8 to 45
LARGEST_HEADING_RAD = 2.0 * math.pi
SLACK_M = 0.01


def bore_plausibility_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Diameters, depths and pitches that no bore has.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of sound form.

    Yields
    ------
    JobFileError
        Asking for the unit that was meant.
    """
    indexed = [(index, feature["properties"]) for index, feature in features]
    for index, properties in indexed:
        path: Path = ("features", index, "properties")
        if properties["kind"] == "pit":
            yield from too_large(document, properties, path, "depth_m", DEEPEST_PIT_M, "a pit with a depth")
        elif properties["kind"] == "bore":
            for member in ("pilot_diameter_m", "final_diameter_m"):
                yield from too_large(
                    document, properties, path, member, WIDEST_HOLE_M, "a hole with a diameter"
                )
            yield from too_large(
                document,
                properties.get("rig", {}),
                (*path, "rig"),
                "minimum_cover_m",
                DEEPEST_BORE_M,
                "a cover",
            )
            yield from _pitches(document, properties, path)
            for place, vertex in enumerate(properties.get("ground", [])):
                yield from height_fault(document, vertex, (*path, "ground", place), 1)
            rods = properties.get("rods", {})
            yield from height_fault(document, rods, (*path, "rods"), "entry_elevation_m")
            for place, joint in enumerate(rods.get("joints", [])):
                where = (*path, "rods", "joints", place)
                yield from too_large(document, joint, where, "length_m", LONGEST_ROD_M, "a rod with a length")
            if "profile" in properties:
                yield from _depths(document, properties, path)


def _pitches(document: Any, bore: dict[str, Any], path: Path) -> Iterator[JobFileError]:
    rig = bore.get("rig", {})
    pitches = [((*path, "rig", member), rig[member]) for member in rig if "pitch_ratio" in member]
    for place, joint in enumerate(bore.get("rods", {}).get("joints", [])):
        where = (*path, "rods", "joints", place)
        pitches.append(((*where, "pitch_ratio"), joint["pitch_ratio"]))
        if abs(joint.get("heading_rad", 0)) > LARGEST_HEADING_RAD:
            heading = joint["heading_rad"]
            yield error_at(
                document,
                (*where, "heading_rad"),
                found=f"{heading:g} rad: degrees? {heading:g} degrees = {math.radians(heading):.4f} rad",
                accepted="a number of radians clockwise from north, at most one turn",
            )
    for where, pitch in pitches:
        if abs(pitch) > STEEPEST_PITCH_RATIO:
            yield error_at(
                document,
                where,
                found=f"{pitch:g}: percent? {pitch:g} % = {pitch / 100:g}",
                accepted="rise over run, down is negative",
            )


def _depths(document: Any, bore: dict[str, Any], path: Path) -> Iterator[JobFileError]:
    """Vertices too deep or above the ground.

    Elevations are held against the bore's own ground alone: without it nothing here tells what they are from.
    """
    vertices = bore["profile"]["vertices"]
    if bore["profile"]["by"] == "depth":
        depths_m = [float(depth_m) for _, depth_m in vertices]
    elif "ground" in bore:
        ground = sorted(bore["ground"])
        at_vertices = np.interp([station for station, _ in vertices], *np.array(ground, dtype=float).T)
        depths_m = [
            float(top - elevation_m) for top, (_, elevation_m) in zip(at_vertices, vertices, strict=True)
        ]
    else:
        return
    for place, depth_m in enumerate(depths_m):
        at_an_end = place in (0, len(depths_m) - 1)
        where = (*path, "profile", "vertices", place, 1)
        given = f"{vertices[place][1]:g}"
        if depth_m > DEEPEST_BORE_M:
            yield error_at(
                document,
                where,
                found=f"{given}, a bore {depth_m:g} m deep: feet or inches? {conversions(depth_m)}",
                accepted=f"metres, at most {DEEPEST_BORE_M:g} below the ground",
            )
        elif depth_m < -(HIGHEST_END_M if at_an_end else SLACK_M):
            yield error_at(
                document,
                where,
                found=f"{given}, a hole {-depth_m:g} m above the ground",
                accepted="a depth downward from the ground, or an elevation below it",
            )
