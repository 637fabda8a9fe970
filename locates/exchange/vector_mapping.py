"""How the columns of a table become the members of records: guessed, confirmed by a person, kept as JSON."""

import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field, replace
from typing import Any

from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_kinds import VectorField, VectorKind, field_of_header
from locates.exchange.vector_table import Table

NONE, COLUMN, FIXED, NUMBERED, HEIGHT = "none", "column", "fixed", "numbered", "height"
LENGTH_UNITS = {
    "m": "metres",
    "us_survey_foot": "US survey feet",
    "foot": "international feet",
    "inch": "inches",
    "cm": "centimetres",
    "mm": "millimetres",
}
CONFIRMED_TYPES = ("choice", "flag", "operator")
MOST_VALUES = 100  # nobody confirms more

_X_NAMES = ("x", "easting", "east", "e", "longitude", "lon", "long", "lng", "x_m", "x_ft", "x_usft")
_Y_NAMES = ("y", "northing", "north", "n", "latitude", "lat", "y_m", "y_ft", "y_usft")
_POSITION_ENDINGS = re.compile(r"_(?:m|ft|feet|usft|ftus|deg|degrees|us_survey_foot|foot)$")
_CODE = re.compile(r"EPSG:(\d{4,6})", re.ASCII)
_YES = frozenset({"yes", "y", "true", "t", "1", "x", "found", "open", "intact"})
_NO = frozenset({"no", "n", "false", "f", "0", "not found", "closed", "restored", "gone"})
_TYPE_WORDS = {
    "electric": ("e", "elec", "electrical", "power", "red"),
    "gas_oil_steam": ("g", "gas", "oil", "steam", "yellow"),
    "communication": (
        "c",
        "comm",
        "communications",
        "telecom",
        "telephone",
        "tel",
        "fiber",
        "catv",
        "orange",
    ),
    "potable_water": ("w", "water", "wat", "blue"),
    "reclaimed_water": ("r", "reclaimed", "irrigation", "purple"),
    "sewer_drain": ("s", "sewer", "sanitary", "storm", "drain", "san", "green"),
    "unknown": ("u", "unk"),
    "edge_of_pavement": ("ep", "eop", "pavement"),
    "property_line": ("pl", "row", "right of way", "boundary"),
    "curb": ("bc", "toc", "kerb"),
    "sidewalk": ("sw", "walk"),
    "building": ("bldg", "house"),
}


@dataclass(frozen=True)
class Source:
    """Where the value of a field comes from.

    Parameters
    ----------
    how : str
        ``none``, ``column``, ``fixed`` (one value for every row), ``numbered`` (a word and the row's number),
        ``height`` (of the shape).
    text : str
        The column, the value or the word.
    unit : str
        What a bare number of a length is in; "" where nobody said.
    """

    how: str = NONE
    text: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Mapping:
    """All that a person confirms of a file.

    Parameters
    ----------
    layer : str
        The table's name.
    epsg : str
        Code of the coordinate system; "" for the file's own.
    unit : str
        What the coordinates are in; "" where nobody said.
    x, y, wkt : str
        Columns of the positions, or of whole shapes in well-known text, of a table without shapes.
    join : str
        Column whose equal values make one line of several rows; "" where each row is one thing.
    date_order : str
        Order of the numbers of a date.
    sources : dict of str to Source
        By field.
    values : dict of str to dict of str to str
        By field: what the file writes, and what it means.
    """

    layer: str = ""
    epsg: str = ""
    unit: str = ""
    x: str = ""
    y: str = ""
    wkt: str = ""
    join: str = ""
    date_order: str = ""
    sources: dict[str, Source] = field(default_factory=dict)
    values: dict[str, dict[str, str]] = field(default_factory=dict)

    def source(self, name: str) -> Source:
        """The source of a field; none where nobody gave one."""
        return self.sources.get(name, Source())

    def as_json(self) -> dict[str, Any]:
        """Plain members; `mapping_of` gives the mapping back."""
        return asdict(self)


def mapping_of(members: dict[str, Any]) -> Mapping:
    """Mapping of what `as_json` gave."""
    sources = {name: Source(**source) for name, source in members["sources"].items()}
    return Mapping(**{**members, "sources": sources})


def guessed(table: Table, kind: VectorKind) -> Mapping:
    """First proposal for a table: by the names of its columns. A unit is proposed only where it is sure."""
    mapping = Mapping(layer=table.name, unit=table.system.unit if table.system else "")
    taken: set[str] = set()
    if not table.has_shapes:
        mapping = replace(_guessed_positions(table, mapping), epsg=_written_code(table))
        taken = {mapping.x, mapping.y, mapping.wkt}
    sources: dict[str, Source] = {}
    for column in table.columns:
        found = None if column in taken else field_of_header(kind, column)
        if found is not None and found.name not in sources:
            sources[found.name] = Source(COLUMN, column, _sure_unit(table, column, found))
    names = {one.name for one in kind.fields}
    if table.has_heights and "elevation_m" in names - set(sources):
        sources["elevation_m"] = Source(HEIGHT)
    if "ref" in names - set(sources):
        sources["ref"] = Source(NUMBERED, kind.singular[0].upper())
    return replace(mapping, sources=sources)


def values_to_confirm(table: Table, kind: VectorKind, mapping: Mapping) -> dict[str, list[str]]:
    """By field, what the file writes where a record takes listed words, yes or no, or an operator."""
    found = {}
    for one in kind.fields:
        source = mapping.source(one.name)
        if one.type not in CONFIRMED_TYPES or source.how not in (COLUMN, FIXED):
            continue
        written = table.texts_of(source.text) if source.how == COLUMN else [source.text]
        texts = sorted({text for text in written if text})
        if len(texts) > MOST_VALUES:
            raise VectorFileError(
                f"{len(texts)} different values in column {source.text} for {one.label}",
                f"at most {MOST_VALUES}: is it the right column?",
            )
        if texts:
            found[one.name] = texts
    return found


def guessed_value(one: VectorField, text: str, operators: Iterable[str]) -> str:
    """What a value of the file most likely means; "" where it says nothing sure."""
    plain = " ".join(text.lower().replace("_", " ").split())
    if one.type == "flag":
        return "yes" if plain in _YES else "no" if plain in _NO else ""
    if one.type == "operator":
        return next((name for name in operators if name.lower() == plain), "")
    for choice in one.choices:
        if plain in (choice.replace("_", " "), *_TYPE_WORDS.get(choice, ())):
            return choice
    return ""


def _guessed_positions(table: Table, mapping: Mapping) -> Mapping:
    by_name = {
        _POSITION_ENDINGS.sub("", column.lower().strip()): column for column in reversed(table.columns)
    }
    wkt = next((by_name[name] for name in ("wkt", "geometry", "shape") if name in by_name), "")
    if wkt:
        return replace(mapping, wkt=wkt)
    x = next((by_name[name] for name in _X_NAMES if name in by_name), "")
    y = next((by_name[name] for name in _Y_NAMES if name in by_name), "")
    return replace(mapping, x=x, y=y)


def _written_code(table: Table) -> str:
    """The code that every row names in a column ``crs``, as the program's own files do."""
    codes = {code for column in table.columns if column.lower() == "crs" for code in table.texts_of(column)}
    match = _CODE.fullmatch(codes.pop()) if len(codes) == 1 else None
    return match[1] if match else ""


def _sure_unit(table: Table, column: str, found: VectorField) -> str:
    if found.type == "length" and (column in table.metre_columns or column.lower().endswith("_m")):
        return "m"
    return ""
