"""Coordinate systems of files: named by EPSG code or described in a file, and the way from them to WGS 84.

Everything here is pyproj's, whose network access is off; no text of a visitor reaches GDAL.
"""

import math
import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from locates.exchange.vector_errors import VectorFileError
from locates.units import METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT

DEGREE = "degree"
LINEAR_UNIT_M = {"m": 1.0, "us_survey_foot": METRES_PER_US_SURVEY_FOOT, "foot": METRES_PER_FOOT}
UNIT_WORDS = {
    DEGREE: "degrees",
    "m": "metres",
    "us_survey_foot": "US survey feet (1200/3937 m)",
    "foot": "international feet (0.3048 m)",
}
WGS_84_CODE = 4326
LONGEST_TEXT = 10_000  # the longest description in EPSG's own tables is a third of it
WORST_SHIFT_M = (
    5.0  # NAD83 to WGS 84 is given as 4 m; what is worse is no survey's coordinate system any more
)

# The two feet differ by 2 ppm; both readings of a unit must be told apart far below that.
_SAME_UNIT_RATIO = 1e-8
# Names of grids and PROJ strings: what could make a description open a file.
_REACHES_OUT = re.compile(r"PARAMETERFILE|EXTENSION|GRID_?FILE|NADGRIDS|PIPELINE|\+[a-z]", re.IGNORECASE)
_EPSG_CODE = re.compile(r"(?:EPSG:{1,2})?(\d{4,6})", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True)
class CoordinateSystem:
    """A coordinate system in plan, and how sure the way from it to WGS 84 is.

    Parameters
    ----------
    crs : pyproj.CRS
        Geographic or projected, two axes.
    """

    crs: CRS

    @property
    def name(self) -> str:
        """Name, with its code where it has one."""
        authority = self.crs.to_authority()
        return f"{self.crs.name} ({':'.join(authority)})" if authority else self.crs.name

    @property
    def epsg(self) -> int | None:
        """EPSG's code, where this is surely it."""
        return self.crs.to_epsg(min_confidence=100)

    @cached_property
    def unit(self) -> str:
        """Unit of both axes: a key of `UNIT_WORDS`."""
        if self.crs.is_geographic:
            return DEGREE
        return _unit_of(self.crs)

    @cached_property
    def _to_wgs_84(self) -> Transformer:
        return Transformer.from_crs(self.crs, WGS_84_CODE, always_xy=True, allow_ballpark=False)

    def to_wgs_84(self, x: NDArray[np.float64], y: NDArray[np.float64], unit: str) -> NDArray[np.float64]:
        """Longitude and latitude of positions given in a unit; not finite where there is no such place.

        Raises `VectorFileError` where the unit does not fit the system, or the shift to WGS 84 is not
        known to `WORST_SHIFT_M`.
        """
        factor = self._factor(unit)
        try:
            longitude, latitude = self._to_wgs_84.transform(x * factor, y * factor)
        except ProjError as error:
            raise self._no_way() from error
        self._check_shift(longitude)
        return np.column_stack([longitude, latitude])

    def from_wgs_84(
        self, longitude_deg: NDArray[np.float64], latitude_deg: NDArray[np.float64]
    ) -> np.ndarray:
        """Positions in the system's own unit."""
        x, y = self._to_wgs_84.transform(longitude_deg, latitude_deg, direction="INVERSE")
        self._check_shift(x)
        return np.column_stack([x, y])

    def shift_words(self) -> str:
        """How the way to WGS 84 was computed, after it was."""
        accuracy_m = self._accuracy_m()
        if accuracy_m == 0:
            return "an exact conversion to WGS 84"
        return f"a shift of the datum to WGS 84 that is accurate to {accuracy_m:g} m"

    def _accuracy_m(self) -> float:
        # A transformer with a single way knows it before it is used, one with several only afterwards.
        if self._to_wgs_84.accuracy >= 0.0:
            return self._to_wgs_84.accuracy
        return self._to_wgs_84.get_last_used_operation().accuracy

    def _factor(self, unit: str) -> float:
        if (unit == DEGREE) != (self.unit == DEGREE) or unit not in UNIT_WORDS:
            raise VectorFileError(
                f"coordinates in {UNIT_WORDS.get(unit, 'an unknown unit')} for {self.name}",
                f"coordinates in {UNIT_WORDS[self.unit]}, or another coordinate system",
            )
        if unit == self.unit:
            return 1.0
        return LINEAR_UNIT_M[unit] / LINEAR_UNIT_M[self.unit]

    def _check_shift(self, results: NDArray[np.float64]) -> None:
        if not np.isfinite(results).any():
            return
        if not 0.0 <= self._accuracy_m() <= WORST_SHIFT_M:
            raise self._no_way()

    def _no_way(self) -> VectorFileError:
        return VectorFileError(
            f"{self.name}, whose shift to WGS 84 is not known here to {WORST_SHIFT_M:g} m",
            "a system on NAD83, WGS 84 or another datum whose shift needs no grid files",
        )


def system_of_code(text: str) -> CoordinateSystem:
    """Coordinate system of an EPSG code that a person wrote, such as ``2277`` or ``EPSG:2277``."""
    match = _EPSG_CODE.fullmatch(text.strip())
    accepted = "the EPSG code of a coordinate system, such as 2277"
    if match is None:
        raise VectorFileError(f'"{text[:40]}"', accepted)
    try:
        crs = CRS.from_epsg(int(match[1]))
    except CRSError as error:
        raise VectorFileError(f"EPSG:{match[1]}, which there is not", accepted) from error
    return _checked(crs)


def system_of_description(text: str) -> CoordinateSystem:
    """Coordinate system that a file describes in well-known text."""
    accepted = "a plain description of a geographic or projected system, or an EPSG code instead"
    if len(text) > LONGEST_TEXT or _REACHES_OUT.search(text):
        raise VectorFileError("a coordinate system described in a way that may reach for files", accepted)
    try:
        crs = CRS.from_wkt(text)
    except CRSError as error:
        raise VectorFileError("a coordinate system that cannot be read", accepted) from error
    return _checked(crs)


def _checked(crs: CRS) -> CoordinateSystem:
    plan = crs.sub_crs_list[0] if crs.is_compound else crs
    if plan.is_bound and plan.source_crs is not None:
        plan = plan.source_crs
    if not (plan.is_geographic or plan.is_projected) or len(plan.axis_info) < 2:
        raise VectorFileError(
            f"{plan.name}, a {plan.type_name}", "a geographic or projected coordinate system of two axes"
        )
    system = CoordinateSystem(plan)
    if system.unit not in UNIT_WORDS:
        raise VectorFileError(
            f"{plan.name}, in {plan.axis_info[0].unit_name}", "a system in degrees, metres or feet"
        )
    return system


def _unit_of(crs: CRS) -> str:
    factors = {axis.unit_conversion_factor for axis in crs.axis_info[:2]}
    for unit, unit_m in LINEAR_UNIT_M.items():
        if all(math.isclose(factor, unit_m, rel_tol=_SAME_UNIT_RATIO) for factor in factors):
            return unit
    return crs.axis_info[0].unit_name
