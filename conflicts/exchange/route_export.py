"""The conduit route of a job as a file: one line from end to end for each piece of it."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely

from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.route.chains import Chain
from conflicts.route_sheet import RouteSheet
from locates.exchange.csv_tables import write_csv
from locates.exchange.gdal_process import files_by_gdal
from locates.exchange.job_documents import document_text
from locates.exchange.vector_errors import VectorFileError

LAYER = "conduit_route"
CRS = "EPSG:4326"
# Decimals of a degree: a tenth of a millimetre and finer.
DEGREE_DECIMALS = 9
# Decimals of a metre in lengths and chainages.
METRE_DECIMALS = 4
COLUMNS = ("piece", "bores", "length_m", "bored_m", "between_m", "is_ring", "is_sure")


@dataclass(frozen=True)
class RouteFormat:
    """A format: its words, the end of a file's name, its media type, and who writes it."""

    label: str
    suffix: str
    media_type: str
    write: Callable[[RouteSheet], bytes]


def export_route(sheet: RouteSheet, format_name: str) -> tuple[str, bytes]:
    """Name and content of a file of a job's route.

    Raises
    ------
    VectorFileError
        A format that is not written, or a job without a bore.
    """
    chosen = ROUTE_FORMATS.get(format_name)
    if chosen is None:
        raise VectorFileError(f'a format "{format_name[:40]}"', ", ".join(ROUTE_FORMATS))
    if not sheet.route.chains:
        raise VectorFileError("no bore on this job", "a job with at least one bore")
    return f"{LAYER}{chosen.suffix}", chosen.write(sheet)


def _positions(sheet: RouteSheet, plan_m: FloatArray) -> FloatArray:
    """Longitudes and latitudes of places of the route's frame."""
    if sheet.frame is None:
        raise VectorFileError("no bore on this job", "a job with at least one bore")
    return np.round(np.array(sheet.frame.to_geographic(plan_m)), DEGREE_DECIMALS)


def _properties(number: int, chain: Chain) -> dict[str, Any]:
    return {
        "piece": number,
        "bores": ", ".join(leg.bore.name for leg in chain.legs),
        "length_m": round(chain.length_m, METRE_DECIMALS),
        "bored_m": round(chain.bored_m, METRE_DECIMALS),
        "between_m": round(chain.between_m, METRE_DECIMALS),
        "is_ring": chain.is_ring,
        "is_sure": all(leg.joint is None or leg.joint.is_sure for leg in chain.legs),
    }


def _geojson(sheet: RouteSheet) -> bytes:
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "LineString", "coordinates": _positions(sheet, chain.plan_m).tolist()},
            "properties": {"job": sheet.job.name, **_properties(number, chain)},
        }
        for number, chain in enumerate(sheet.route.chains, 1)
    ]
    return document_text({"type": "FeatureCollection", "features": features}).encode()


def _geopackage(sheet: RouteSheet) -> bytes:
    rows = [_properties(number, chain) for number, chain in enumerate(sheet.route.chains, 1)]
    lines = [shapely.LineString(_positions(sheet, chain.plan_m)) for chain in sheet.route.chains]
    types = {"bores": "text", "is_ring": "flag", "is_sure": "flag"}
    request = {
        "driver": "GPKG",
        "file": f"{LAYER}.gpkg",
        "layer": LAYER,
        "shapes": [shapely.to_wkb(line, hex=True) for line in lines],
        "columns": COLUMNS,
        "values": [(types.get(name, "number"), [row[name] for row in rows]) for name in COLUMNS],
        "geometry_type": "LineString",
        "crs": CRS,
        "dataset_options": {},
        "layer_options": {},
    }
    (content,) = files_by_gdal(request).values()
    return content


def _csv(sheet: RouteSheet) -> bytes:
    """A row for each end and each bend of each bore, with its chainage from the beginning of its piece."""
    columns = ("piece", "chainage_m", "bore", "what", "station_m", "longitude_deg", "latitude_deg", "crs")
    return write_csv(columns, _rows(sheet))


def _rows(sheet: RouteSheet) -> Iterator[tuple[Any, ...]]:
    for number, chain in enumerate(sheet.route.chains, 1):
        for leg in chain.legs:
            along = chainages_m(leg.plan_m)
            # The chain counts a bore by its own length, which its corners add up to.
            along *= leg.bore.length_m / along[-1]
            last = len(along) - 1
            for place, ((longitude, latitude), at_m) in enumerate(
                zip(_positions(sheet, leg.plan_m).tolist(), along.tolist(), strict=True)
            ):
                what = {0: leg.first.end, last: leg.last.end}.get(place, "bend")
                station_m = leg.bore.length_m - at_m if leg.is_reversed else at_m
                yield (
                    number,
                    round(leg.from_m + at_m, METRE_DECIMALS),
                    leg.bore.name,
                    what,
                    round(station_m, METRE_DECIMALS),
                    longitude,
                    latitude,
                    CRS,
                )


ROUTE_FORMATS: dict[str, RouteFormat] = {
    "geojson": RouteFormat("GeoJSON", ".geojson", "application/geo+json", _geojson),
    "gpkg": RouteFormat("GeoPackage", ".gpkg", "application/geopackage+sqlite3", _geopackage),
    "csv": RouteFormat("CSV with chainage", ".csv", "text/csv; charset=utf-8", _csv),
}
