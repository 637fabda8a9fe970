"""How long an alignment is on the ground."""

from collections.abc import Sequence

from conflicts.engine.frame import frame_about, polyline_length_m


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
