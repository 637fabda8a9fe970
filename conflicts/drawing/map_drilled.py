"""What was drilled of a bore, in plan: its path in its band, abandoned legs, and what these meet."""

from collections.abc import Iterable
from uuid import UUID

import numpy as np
import shapely

from conflicts.drawing.map_input import MapDrilled, MapDrilledCrossing
from conflicts.drilled import Drilled
from conflicts.drilled_beside import DrilledBeside, NamedPath
from conflicts.drilled_told import ToldAsDrilled
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.scene import Scene
from locates.units import format_length, format_station

# How far a drawn path may leave the one that was drilled: less than the width of a drawn line at any zoom.
DRAWN_M = 0.005


def map_drilled(bore_id: UUID, name: str, scene: Scene, beside: DrilledBeside) -> list[MapDrilled]:
    """The paths of a bore in degrees, abandoned legs first.

    Parameters
    ----------
    bore_id : UUID
    name : str
        Of the bore.
    scene : Scene
        Of its plan.
    beside : DrilledBeside
    """
    found = []
    for path in beside.paths:
        leg, drilled = path.name, path.drilled
        path_m = _drawn(path)
        shape = shapely.LineString(scene.frame.to_geographic(path_m))
        band = None if leg else shapely.Polygon(scene.frame.to_geographic(band_m(drilled, path_m)))
        words = _words(name, leg, drilled, scene.inputs.job.show_units)
        found.append(MapDrilled(bore_id, leg, words, shape, band))
    return found


def _drawn(path: NamedPath) -> FloatArray:
    """The path in plan without the vertices that nobody would see missing; always two points at least."""
    own = path.drilled.path
    line = shapely.LineString(own.points_m[own.stations_m >= path.begins_m, :2])
    return shapely.get_coordinates(shapely.simplify(line, DRAWN_M))


def band_m(drilled: Drilled, path_m: FloatArray) -> FloatArray:
    """The ring about a path in plan in which it lies, by the errors of the rods beside each place.

    Parameters
    ----------
    drilled : Drilled
    path_m : (n, 2) float array
        Its path in plan.

    Returns
    -------
    (2 n, 2) float array
        To the right and back on the left, in the order of the path.
    """
    joints = drilled.joints
    errors = np.interp(
        chainages_m(path_m),
        [0.0, *(joint.own_station_m for joint in joints)],
        [joints[0].horizontal_error_m, *(joint.horizontal_error_m for joint in joints)],
    )
    pieces = np.diff(path_m, axis=0)
    pieces /= np.linalg.norm(pieces, axis=1)[:, None]
    # At a joint of two pieces half-way between them.
    ahead = np.concatenate([pieces[:1], pieces[:-1] + pieces[1:], pieces[-1:]])
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    right = np.column_stack([ahead[:, 1], -ahead[:, 0]]) * errors[:, None]
    return np.concatenate([path_m + right, (path_m - right)[::-1]])


def _words(name: str, leg: str, drilled: Drilled, units: str) -> str:
    head = drilled.head
    at = f"station {format_station(head.station_m, units)}, rod {head.rod.number}"
    if leg:
        return f"{leg} of {name}: pulled back, it ended at {at}"
    off = format_length(head.horizontal_error_m, units, "up")
    return f"{name}: drilled to {at}, where it may lie {off} to either side"


def map_drilled_crossings(
    bore_id: UUID, told: Iterable[ToldAsDrilled], page: str
) -> list[MapDrilledCrossing]:
    """The crossings of the drilled hole that the plan does not tell of, each where the hole meets its line.

    Parameters
    ----------
    bore_id : UUID
    told : iterable of ToldAsDrilled
    page : str
        Address of the bore's page, which has a place for each.
    """
    return [
        MapDrilledCrossing(
            bore_id=bore_id,
            leg=one.leg,
            is_alone=one.is_alone,
            is_whole=one.drilled.is_whole,
            answered_by=one.drilled.answered_by or "",
            mark_id=UUID(one.drilled.lies.mark_id),
            mark_ref=one.drilled.crossing.mark.ref,
            operator=one.drilled.crossing.mark.operator,
            station_m=one.drilled.station_m,
            worst_case_m=one.drilled.lies.worst_case_m,
            required_m=one.drilled.lies.required_m,
            verdict=one.drilled.lies.verdict,
            longitude_deg=one.drilled.crossing.longitude_deg,
            latitude_deg=one.drilled.crossing.latitude_deg,
            address=f"{page}#{one.anchor}",
            is_held_to_then=one.drilled.asked_then is not None,
        )
        for one in told
    ]
