"""Records of one kind out of a job as a file: the same records give the same bytes."""

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry import shape

from locates.exchange.coordinate_systems import DEGREE, WGS_84_CODE, CoordinateSystem, system_of_code
from locates.exchange.csv_tables import write_csv
from locates.exchange.gdal_process import files_by_gdal
from locates.exchange.job_documents import document_text, locates_features
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_kinds import VectorField, VectorKind
from locates.models import Job

FIRST_ZIP_MOMENT = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can name

_POSITION_NAMES = {
    DEGREE: ("longitude_deg", "latitude_deg"),
    "m": ("x_m", "y_m"),
    "us_survey_foot": ("x_usft", "y_usft"),
    "foot": ("x_ft", "y_ft"),
}
_LAYER_ENDINGS = {"Point": "points", "LineString": "lines", "Polygon": "areas"}


@dataclass(frozen=True)
class Written:
    """Features of one kind, their shapes in the chosen system, and that system."""

    kind: VectorKind
    features: list[dict[str, Any]]
    shapes: list[shapely.Geometry]
    system: CoordinateSystem

    def values(self, field: VectorField) -> list[Any]:
        """A field's value in every feature; None where it is unknown."""
        return [feature["properties"].get(field.name) for feature in self.features]

    def only(self, geometry_type: str) -> "Written":
        """Those whose shape is of one type."""
        kept = [place for place, one in enumerate(self.shapes) if one.geom_type == geometry_type]
        features, shapes = [self.features[i] for i in kept], [self.shapes[i] for i in kept]
        return Written(self.kind, features, shapes, self.system)


@dataclass(frozen=True)
class ExportFormat:
    """A format: its words, the end of a file's name, its media type, and what it can carry."""

    label: str
    suffix: str
    media_type: str
    write: Callable[[Written], bytes]
    takes_any_system: bool = True
    takes_lines: bool = True


def export_records(job: Job, kind: VectorKind, format_name: str, epsg: str) -> tuple[str, bytes]:
    """Name and content of a file of all live records of a kind, in the order of their references.

    Raises `VectorFileError` where the format does not carry the kind, or there is nothing to write.
    """
    chosen = FORMATS.get(format_name)
    if chosen is None:
        raise VectorFileError(f'a format "{format_name[:40]}"', ", ".join(FORMATS))
    if kind.takes_lines and not chosen.takes_lines:
        raise VectorFileError(f"{kind.plural} in {chosen.label}, which carries points", "another format")
    features = [feature for feature in locates_features(job) if feature["properties"]["kind"] == kind.name]
    if not features:
        raise VectorFileError(f"no {kind.plural} on this job", "a kind that the job has records of")
    system = system_of_code(epsg if chosen.takes_any_system else str(WGS_84_CODE))
    written = Written(kind, features, _shapes(features, system), system)
    return f"{kind.plural.replace(' ', '_')}_epsg{system.epsg}{chosen.suffix}", chosen.write(written)


def _shapes(features: list[dict[str, Any]], system: CoordinateSystem) -> list[shapely.Geometry]:
    shapes = np.array([shape(feature["geometry"]) for feature in features], dtype=object)
    if system.epsg == WGS_84_CODE:
        return list(shapes)
    positions = shapely.get_coordinates(shapes)
    moved = system.from_wgs_84(positions[:, 0], positions[:, 1])
    if not np.isfinite(moved).all():
        raise VectorFileError(f"positions outside of {system.name}", "a coordinate system of the job's place")
    return list(shapely.set_coordinates(shapes, moved))


def _csv(written: Written) -> bytes:
    fields = written.kind.fields
    names = [field.name for field in fields]
    columns = [written.values(field) for field in fields]
    code = f"EPSG:{written.system.epsg}"
    if written.kind.takes_lines:
        positions = [[shapely.to_wkt(one, rounding_precision=-1)] for one in written.shapes]
        header = ["wkt"]
    else:
        positions = [[one.x, one.y] for one in written.shapes]
        header = list(_POSITION_NAMES[written.system.unit])
    rows = ([*where, *values, code] for where, *values in zip(positions, *columns, strict=True))
    return write_csv([*header, *names, "crs"], rows)


def _geojson(written: Written) -> bytes:
    return document_text({"type": "FeatureCollection", "features": written.features}).encode()


def _by_gdal(written: Written, driver: str, suffix: str, **asked: Any) -> dict[str, bytes]:
    """Files that GDAL writes in a process of its own, by name."""
    request = {
        "driver": driver,
        "file": f"{written.kind.plural.replace(' ', '_')}{suffix}",
        "layer": written.kind.plural.replace(" ", "_"),
        "shapes": [shapely.to_wkb(one, hex=True) for one in written.shapes],
        "columns": [field.name for field in written.kind.fields],
        "values": [_column(field, written) for field in written.kind.fields],
        "geometry_type": "Unknown",
        "crs": f"EPSG:{written.system.epsg}",
        "dataset_options": {},
        "layer_options": {},
        **asked,
    }
    return files_by_gdal(request)


def _column(field: VectorField, written: Written) -> tuple[str, list[Any]]:
    values = written.values(field)
    if field.type == "length":
        return "number", [None if value is None else float(value) for value in values]
    if field.type == "flag":
        return "text", [None if value is None else ("yes" if value else "no") for value in values]
    return "text", values


def _one_file(driver: str, suffix: str, **asked: Any) -> Callable[[Written], bytes]:
    def write(written: Written) -> bytes:
        (content,) = _by_gdal(written, driver, suffix, **asked).values()
        return content

    return write


def _gpx(written: Written) -> bytes:
    """Waypoints: the reference as the name, the elevation as GPX has it, the rest as extensions."""
    fields = written.kind.fields
    names = [{"ref": "name", "elevation_m": "ele"}.get(field.name, field.name) for field in fields]
    asked = {"layer": "waypoints", "columns": names, "geometry_type": "Point"}
    options = {"dataset_options": {"GPX_USE_EXTENSIONS": "YES"}}
    return _one_file("GPX", ".gpx", **asked, **options)(written)


def _dxf(written: Written) -> bytes:
    """Shapes on layers named for what they are; a ground point's height is its elevation in metres."""
    layers = [
        feature["properties"].get(
            "facility_type", feature["properties"].get("feature_type", written.kind.name)
        )
        for feature in written.features
    ]
    shapes = [
        shapely.Point(one.x, one.y, feature["properties"]["elevation_m"])
        if "elevation_m" in feature["properties"]
        else one
        for one, feature in zip(written.shapes, written.features, strict=True)
    ]
    asked = {
        "columns": ["Layer"],
        "values": [("text", layers)],
        "shapes": [shapely.to_wkb(one, hex=True) for one in shapes],
        "layer": "entities",
        "crs": None,
    }
    return _one_file("DXF", ".dxf", **asked)(written)


def _shapefiles(written: Written) -> bytes:
    """A zip with a shapefile for each type of shape, with the same moment on every part."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for geometry_type, ending in _LAYER_ENDINGS.items():
            part = written.only(geometry_type)
            if not part.features:
                continue
            name = f"{written.kind.plural.replace(' ', '_')}_{ending}"
            files = _by_gdal(
                part,
                "ESRI Shapefile",
                ".shp",
                file=f"{name}.shp",
                layer=name,
                geometry_type=geometry_type,
                columns=[field.short for field in written.kind.fields],
                layer_options={"ENCODING": "UTF-8", "DBF_DATE_LAST_UPDATE": "2000-01-01"},
            )
            for file_name, content in sorted(files.items()):
                archive.writestr(zipfile.ZipInfo(file_name, FIRST_ZIP_MOMENT), content)
    return out.getvalue()


FORMATS: dict[str, ExportFormat] = {
    "csv": ExportFormat("CSV", ".csv", "text/csv; charset=utf-8", _csv),
    "geojson": ExportFormat("GeoJSON", ".geojson", "application/geo+json", _geojson, takes_any_system=False),
    "gpkg": ExportFormat("GeoPackage", ".gpkg", "application/geopackage+sqlite3", _one_file("GPKG", ".gpkg")),
    "shapefile": ExportFormat("Shapefile (zipped)", ".zip", "application/zip", _shapefiles),
    "kml": ExportFormat(
        "KML",
        ".kml",
        "application/vnd.google-earth.kml+xml",
        _one_file("LIBKML", ".kml"),
        takes_any_system=False,
    ),
    "gpx": ExportFormat(
        "GPX (points)", ".gpx", "application/gpx+xml", _gpx, takes_any_system=False, takes_lines=False
    ),
    "dxf": ExportFormat("DXF (shapes and layers only)", ".dxf", "image/vnd.dxf", _dxf),
}
