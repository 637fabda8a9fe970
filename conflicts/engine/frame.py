"""The ground frame: plane coordinates in metres that are true on the ground of one job."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pyproj import Proj

from conflicts.engine.errors import FrameError

# Mean radius of the earth, m: Moritz (2000), Geodetic Reference System 1980, R1. The choice of another mean
# radius changes a distance of 300 m at 1,600 m of height by less than 0.3 mm.
EARTH_MEAN_RADIUS_M = 6371008.7714

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class GroundFrame:
    """A transverse Mercator plane about one point, scaled to ground at the job's mean height.

    Parameters
    ----------
    longitude_deg, latitude_deg : float
        The centre, WGS 84.
    mean_height_m : float or None
        Mean ellipsoidal height of the job; None leaves distances true on the ellipsoid.

    Notes
    -----
    Scale 1 + h/R on the central meridian. Within 5 km of the centre the projection's own scale error is below
    0.31 ppm (0.5 mm in 1.7 km); at 500 m it is 0.003 ppm.
    """

    longitude_deg: float
    latitude_deg: float
    mean_height_m: float | None = None

    @cached_property
    def _projection(self) -> Proj:
        scale = 1.0 + (self.mean_height_m or 0.0) / EARTH_MEAN_RADIUS_M
        return Proj(
            proj="tmerc",
            lat_0=self.latitude_deg,
            lon_0=self.longitude_deg,
            k_0=scale,
            ellps="WGS84",
            units="m",
        )

    def to_ground(self, longitude_deg: ArrayLike, latitude_deg: ArrayLike) -> FloatArray:
        """East and north of points given by longitude and latitude.

        Parameters
        ----------
        longitude_deg, latitude_deg : (n,) array_like
            WGS 84 degrees; longitudes either side of the 180th meridian are neighbours.

        Returns
        -------
        (n, 2) float array
            East, north in ground metres from the frame's centre.

        Raises
        ------
        FrameError
            A coordinate that is not finite or off the globe.
        """
        longitude = np.atleast_1d(np.asarray(longitude_deg, dtype=float))
        latitude = np.atleast_1d(np.asarray(latitude_deg, dtype=float))
        if not (np.isfinite(longitude).all() and np.isfinite(latitude).all()):
            raise FrameError("a longitude or latitude is not a finite number")
        if (np.abs(latitude) > 90.0).any() or (np.abs(longitude) > 180.0).any():
            raise FrameError("a longitude is beyond 180 degrees or a latitude beyond 90")
        east, north = self._projection(longitude, latitude)
        return np.column_stack([east, north])

    def to_geographic(self, points_m: ArrayLike) -> FloatArray:
        """Longitude and latitude of points of the frame.

        Parameters
        ----------
        points_m : (n, 2) array_like
            East, north in ground metres.

        Returns
        -------
        (n, 2) float array
            Longitude, latitude in degrees.
        """
        points = np.asarray(points_m, dtype=float).reshape(-1, 2)
        longitude, latitude = self._projection(points[:, 0], points[:, 1], inverse=True)
        return np.column_stack([longitude, latitude])


def frame_about(lon_lat_deg: Iterable[ArrayLike], mean_height_m: float | None = None) -> GroundFrame:
    """The ground frame centred on the box round some points.

    Parameters
    ----------
    lon_lat_deg : iterable of (n, 2) array_like
        Longitudes and latitudes, degrees.
    mean_height_m : float or None
        Mean height of the job.

    Returns
    -------
    GroundFrame
        Centred on the middle of the box; a box across the 180th meridian is taken the short way round.

    Raises
    ------
    FrameError
        No points, or a coordinate that is not finite.
    """
    arrays = [np.asarray(one, dtype=float).reshape(-1, 2) for one in lon_lat_deg]
    points = np.concatenate(arrays) if arrays else np.empty((0, 2))
    if len(points) == 0:
        raise FrameError("a ground frame needs at least one point")
    if not np.isfinite(points).all():
        raise FrameError("a longitude or latitude is not a finite number")
    first = points[0, 0]
    # Each longitude as its shortest turn from the first, so that 179.9 and -179.9 lie 0.2 degrees apart.
    turn = (points[:, 0] - first + 180.0) % 360.0 - 180.0
    middle = first + 0.5 * (turn.min() + turn.max())
    longitude = (middle + 180.0) % 360.0 - 180.0
    latitude = 0.5 * (points[:, 1].min() + points[:, 1].max())
    return GroundFrame(float(longitude), float(latitude), mean_height_m)


def chainages_m(points_m: ArrayLike) -> FloatArray:
    """Distance along a polyline at each of its vertices.

    Parameters
    ----------
    points_m : (n, k) array_like
        Vertices; with k = 2 the distance is in plan.

    Returns
    -------
    (n,) float array
        Starting at 0, not decreasing.
    """
    points = np.asarray(points_m, dtype=float)
    steps = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1))
    return np.concatenate([[0.0], np.cumsum(steps)])


def polyline_length_m(points_m: ArrayLike) -> float:
    """Length of a polyline of the frame, metres."""
    return float(chainages_m(points_m)[-1])
