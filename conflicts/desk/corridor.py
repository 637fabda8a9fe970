"""The work area of a ticket as a corridor about a bore and its pits, or about stretches of it."""

from collections.abc import Collection, Iterable

import numpy as np
import shapely
from django.contrib.gis.geos import MultiPolygon, Polygon
from shapely.ops import substring

from conflicts.candidates import bore_sites
from conflicts.engine.frame import GroundFrame, frame_about
from conflicts.models import Bore
from conflicts.models.pit import PitEnd

WGS_84_SRID = 4326


def corridor_about(bore: Bore, distance_m: float) -> MultiPolygon:
    """All ground within a distance of a bore's plan and of its pits, with square corners, in degrees.

    Distances are taken in the ground frame about the bore.
    """
    return corridor_along(bore, [(0.0, np.inf)], PitEnd.values, distance_m)


def corridor_along(
    bore: Bore, stretches_m: Iterable[tuple[float, float]], pit_ends: Collection[str], distance_m: float
) -> MultiPolygon:
    """All ground within a distance of stretches of a bore's plan and of some pits, as `corridor_about`.

    ``stretches_m`` are stations from and to; what lies past the ends of the bore is left out. At least one
    stretch or pit is asked for.
    """
    (plan,) = bore_sites([bore])
    positions = np.array(plan.shape.coords)
    frame = frame_about([positions], bore.job.mean_height_m)
    line = shapely.LineString(frame.to_ground(positions[:, 0], positions[:, 1]))
    shapes = [substring(line, max(low, 0.0), min(high, line.length)) for low, high in stretches_m]
    for pit in bore.pits.filter(end__in=pit_ends):
        corners = np.array(pit.area.shell.coords)
        shapes.append(shapely.Polygon(frame.to_ground(corners[:, 0], corners[:, 1])))
    grown = [shapely.buffer(shape, distance_m, cap_style="square", join_style="mitre") for shape in shapes]
    area = shapely.union_all(grown)
    return MultiPolygon([_in_degrees(frame, part) for part in shapely.get_parts(area)], srid=WGS_84_SRID)


def _in_degrees(frame: GroundFrame, polygon: shapely.Polygon) -> Polygon:
    rings = [polygon.exterior, *polygon.interiors]
    # The last point of a ring is its first, to the bit: taken from there and not computed anew.
    opened = [frame.to_geographic(shapely.get_coordinates(ring)[:-1]).tolist() for ring in rings]
    return Polygon(*([*ring, ring[0]] for ring in opened))
