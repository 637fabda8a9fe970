"""A pit as a rectangle at an end of a bore."""

import numpy as np
from django.contrib.gis.geos import Polygon

from conflicts.engine.frame import frame_about
from conflicts.engine.path import distinct_points
from conflicts.models import Bore
from conflicts.models.pit import PitEnd

WGS_84_SRID = 4326


def pit_at_end(bore: Bore, end: str, length_m: float, width_m: float) -> Polygon:
    """The rectangle that begins at an end of the bore and goes on away from it, square to its last straight.

    ``length_m`` is along the bore, ``width_m`` across it, half to each side; both in the bore's ground frame.
    """
    positions = np.array(bore.alignment.coords)
    frame = frame_about([positions], bore.job.mean_height_m)
    alignment = distinct_points(frame.to_ground(positions[:, 0], positions[:, 1]))
    if end == PitEnd.EXIT:
        alignment = alignment[::-1]
    at, before = alignment[0], alignment[1]
    away = (at - before) / np.hypot(*(at - before))
    across = np.array([away[1], -away[0]]) * (0.5 * width_m)
    corners = np.array(
        [at + across, at + across + away * length_m, at - across + away * length_m, at - across]
    )
    ring = frame.to_geographic(corners).tolist()
    return Polygon([*ring, ring[0]], srid=WGS_84_SRID)
