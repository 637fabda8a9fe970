"""Files of surveyed things as the tests make them, and the choices that a person would confirm for them."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pyogrio.raw
import shapely

from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_mapping import guessed, guessed_value, values_to_confirm


def gdal_file(
    path: Path, driver: str, shapes, *, crs, layer=None, geometry_type="Unknown", **columns
) -> bytes:
    """Content of a file that GDAL itself writes."""
    pyogrio.raw.write(
        path,
        geometry=np.array([shapely.to_wkb(shape) for shape in shapes], dtype=object),
        field_data=[np.array(values) for values in columns.values()],
        fields=np.array(list(columns), dtype=object),
        driver=driver,
        layer=layer or path.stem,
        geometry_type=geometry_type,
        crs=crs,
    )
    return path.read_bytes()


def confirmed(table, kind_name, *, job=None, units=(), **chosen):
    """The mapping that is guessed for a table, with what a person chooses besides."""
    kind = KINDS[kind_name]
    mapping = replace(guessed(table, kind), **chosen)
    sources = {
        name: replace(source, unit=dict(units).get(name, source.unit))
        for name, source in mapping.sources.items()
    }
    mapping = replace(mapping, sources=sources)
    operators = [] if job is None else [operator.name for operator in job.operators.all()]
    values = {
        name: {text: guessed_value(kind.field(name), text, operators) or text for text in texts}
        for name, texts in values_to_confirm(table, kind, mapping).items()
    }
    return replace(mapping, values=values)
