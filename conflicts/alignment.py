"""How long an alignment is on the ground."""

from collections.abc import Sequence

from conflicts.engine.frame import frame_about, polyline_length_m
from conflicts.engine.path import END_STATION_M


def alignment_length_m(positions: Sequence[tuple[float, float]], mean_height_m: float | None) -> float:
    """Ground length of an alignment, which the last station of its profile must meet.

    Parameters
    ----------
    positions : sequence of (longitude, latitude)
        Vertices in degrees, entry first.
    mean_height_m : float or None
        Mean height of the job.

    Returns
    -------
    float
        Metres, in the ground frame centred on the box round the alignment.
    """
    frame = frame_about([positions], mean_height_m)
    longitudes_deg, latitudes_deg = zip(*positions, strict=True)
    return polyline_length_m(frame.to_ground(longitudes_deg, latitudes_deg))


def is_at_end(station_m: float, length_m: float) -> bool:
    """Whether a last station counts as the end of an alignment.

    Parameters
    ----------
    station_m, length_m : float
        The station, and the alignment's length on the ground.

    Returns
    -------
    bool
    """
    return abs(station_m - length_m) <= END_STATION_M
