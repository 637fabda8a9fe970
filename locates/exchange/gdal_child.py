"""GDAL in a process of its own, which reads or writes one file and ends.

Run by path with Python's isolated mode, so it imports nothing of this project. Its process may use a bounded
amount of memory, time and disk, knows no other driver than the one it needs, and has no secret in reach: what
a broken or hostile file does to the library, it does to this process alone.
"""

import json
import math
import resource
import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import pyogrio.raw

MOST_MEMORY_BYTES = 3 * 1024**3  # of address space, of which numpy and GDAL alone map one
MOST_SECONDS = 20
MOST_WRITTEN_BYTES = 256 * 1024**2
REQUEST_FILE, ANSWER_FILE = "request.json", "answer.json"
TOO_MANY_ROWS = "too many rows"

_SRS_TABLE = "gpkg_spatial_ref_sys"


def main(task: str) -> None:
    """Do what the request in the working folder asks, and leave the answer beside it."""
    request = json.loads(Path(REQUEST_FILE).read_text())
    limit_this_process()
    others = set(pyogrio.list_drivers()) - {request["driver"]}
    if others:
        raise SystemExit(f"other drivers are registered: {sorted(others)}")
    answer = read(request) if task == "read" else write(request)
    Path(ANSWER_FILE).write_text(json.dumps(answer))


def limit_this_process() -> None:
    """Bound what the process may use from here on."""
    for limit, most in (
        (resource.RLIMIT_AS, MOST_MEMORY_BYTES),
        (resource.RLIMIT_CPU, MOST_SECONDS),
        (resource.RLIMIT_FSIZE, MOST_WRITTEN_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(limit, (most, most))


def read(request: dict[str, Any]) -> dict[str, Any]:
    """Every layer of a file, or what the file is refused for."""
    path = Path(request["file"])
    systems: dict[str, dict[str, Any]] = {}
    if request["driver"] == "GPKG":
        refusal = geopackage_refusal(path)
        if refusal:
            return {"refusal": refusal}
        systems = take_systems(path)
    layers, left = [], request["most_rows"]
    for name, _ in pyogrio.list_layers(path):
        rows = read_layer(path, name, left)
        if len(rows["shapes"]) > left:
            return {"refusal": TOO_MANY_ROWS}
        left -= len(rows["shapes"])
        layers.append({"name": name, "system": systems.get(name), **rows})
    return {"layers": layers}


def read_layer(path: Path, name: str, most_rows: int) -> dict[str, Any]:
    """Columns, values and shapes of a layer; one row more than may be, where there are more."""
    meta, _, shapes, columns = pyogrio.raw.read(
        path, layer=name, max_features=most_rows + 1, datetime_as_string=True
    )
    count = len(columns[0]) if shapes is None and columns else len(shapes if shapes is not None else ())
    return {
        "columns": [str(field) for field in meta["fields"]],
        "values": [[plain(value) for value in column.tolist()] for column in columns],
        "shapes": [None if shapes is None or shapes[i] is None else shapes[i].hex() for i in range(count)],
    }


def plain(value: Any) -> Any:
    """A value that JSON can hold; what is no plain value is shown as text, what is missing is None."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str | int | bool):
        return value
    return str(value)


def geopackage_refusal(path: Path) -> str:
    """What a GeoPackage holds that could make its reader run or open something else; "" for none."""
    with closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA trusted_schema = OFF")
        for kind, name, sql in database.execute("SELECT type, name, sql FROM sqlite_master"):
            words = " ".join((sql or "").lower().split())
            if kind == "view":
                return f"a view, {name[:60]}"
            if words.startswith("create virtual table") and " using rtree" not in words:
                return f"a virtual table, {name[:60]}"
            if kind == "trigger" and f" on {_SRS_TABLE}" in words.replace('"', ""):
                return f"a trigger, {name[:60]}"
    return ""


def take_systems(path: Path) -> dict[str, dict[str, Any]]:
    """Descriptions of the layers' coordinate systems, which are then erased: GDAL never sees their text."""
    query = f"""
        SELECT columns.table_name, systems.organization, systems.organization_coordsys_id, systems.definition
        FROM gpkg_geometry_columns AS columns JOIN {_SRS_TABLE} AS systems ON systems.srs_id = columns.srs_id
    """  # noqa: S608 - the one name put in is a constant
    with closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA trusted_schema = OFF")
        found = {
            str(name): {"organization": str(organization), "code": code, "definition": str(definition)}
            for name, organization, code, definition in database.execute(query)
        }
        named = [row[1] for row in database.execute(f"PRAGMA table_info({_SRS_TABLE})")]
        for column in {"definition", "definition_12_063"} & set(named):
            database.execute(f"UPDATE {_SRS_TABLE} SET {column} = 'undefined'")  # noqa: S608 - constants
        database.commit()
    return found


def write(request: dict[str, Any]) -> dict[str, Any]:
    """One layer into a file, or one more layer into it."""
    shapes = np.array([bytes.fromhex(shape) for shape in request["shapes"]], dtype=object)
    values, masks = [], []
    for kind, column in request["values"]:
        missing = np.array([value is None for value in column], dtype=bool)
        empty: Any = {"text": "", "number": math.nan, "flag": False}[kind]
        filled = [empty if value is None else value for value in column]
        dtype: Any = {"text": object, "number": float, "flag": bool}[kind]
        values.append(np.array(filled, dtype=dtype))
        masks.append(missing)
    pyogrio.raw.write(
        request["file"],
        geometry=shapes,
        field_data=values,
        field_mask=masks,
        fields=np.array(request["columns"], dtype=object),
        layer=request["layer"],
        driver=request["driver"],
        geometry_type=request["geometry_type"],
        crs=request["crs"],
        append=False,
        dataset_options=request["dataset_options"] or None,
        layer_options=request["layer_options"] or None,
    )
    return {"files": sorted(path.name for path in Path().iterdir() if path.name != REQUEST_FILE)}


if __name__ == "__main__":
    main(sys.argv[1])
