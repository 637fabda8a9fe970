"""The second step of an import: coordinates and their unit, and where each field of a record comes from."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from typing import Any, NamedTuple

from django import forms
from django.forms import BoundField

from locates.exchange.coordinate_systems import UNIT_WORDS, system_of_code
from locates.exchange.local_moments import DATE_ORDERS
from locates.exchange.vector_errors import VectorFileError
from locates.exchange.vector_kinds import VectorField, VectorKind
from locates.exchange.vector_mapping import (
    COLUMN,
    FIXED,
    HEIGHT,
    LENGTH_UNITS,
    NONE,
    NUMBERED,
    Mapping,
    Source,
)
from locates.exchange.vector_shapes import BARE_NUMBER
from locates.exchange.vector_suggestions import DateOrder, suggested_date_order, suggested_unit
from locates.exchange.vector_table import Table, text_of

NOT_CHOSEN = ("", "choose one")

_COLUMN_PREFIX = "column:"
_CONTROL_WORDS = {"from": "comes from", "text": "value for every row", "unit": "bare numbers are in"}
_NUMBERED_FIELD = "ref"
_LONGEST_FIXED = 200


def _unit_words(source: Source) -> str:
    """What the name of the column suggests, where no unit is chosen yet."""
    unit = suggested_unit(source.text) if source.how == COLUMN and not source.unit else ""
    return f"The column's name suggests {LENGTH_UNITS[unit]}: choose them if it is so." if unit else ""


class FieldRow(NamedTuple):
    """A field of the record and the controls that say where it comes from, each with its words."""

    field: VectorField
    controls: list[tuple[BoundField, str]]


class ColumnsForm(forms.Form):
    """Everything that turns a table into records but the meaning of single values."""

    def __init__(self, *args: Any, table: Table, kind: VectorKind, mapping: Mapping, **kwargs: Any) -> None:
        self.table, self.kind, self.mapping = table, kind, mapping
        super().__init__(*args, **kwargs)
        self._add_coordinates()
        if any(one.type == "moment" for one in kind.fields):
            self.fields["date_order"] = forms.ChoiceField(
                label="Dates are written",
                choices=[("", "year first, or no dates"), *DATE_ORDERS.items()][:4],
                required=False,
                initial=mapping.date_order,
                help_text=(
                    f"{self._dates_of(mapping).words} "
                    "A date without a time is the beginning of that day, in the job's time zone."
                ).strip(),
            )
        for one in kind.fields:
            self._add_source(one)

    @property
    def coordinate_fields(self) -> list[BoundField]:
        """Controls of the coordinates."""
        names = ("epsg", "unit", "x", "y", "wkt", "join")
        return [self[name] for name in names if name in self.fields]

    @property
    def given_rows(self) -> list[FieldRow]:
        """Controls of the fields that are needed or that the file seems to give."""
        return [row for row in self._field_rows() if self._is_given(row.field)]

    @property
    def other_rows(self) -> list[FieldRow]:
        """Controls of the other fields."""
        return [row for row in self._field_rows() if not self._is_given(row.field)]

    def _field_rows(self) -> Iterator[FieldRow]:
        for one in self.kind.fields:
            controls = [
                (self[f"{one.name}-{part}"], words)
                for part, words in _CONTROL_WORDS.items()
                if f"{one.name}-{part}" in self.fields
            ]
            yield FieldRow(one, controls)

    def _is_given(self, one: VectorField) -> bool:
        chosen = self[f"{one.name}-from"].value()
        is_wrong = self.is_bound and any(f"{one.name}-{part}" in self.errors for part in _CONTROL_WORDS)
        return one.is_required or chosen not in (None, NONE) or is_wrong

    def confirmed(self) -> Mapping:
        """The mapping of valid data; meanings of values that were confirmed before stay."""
        data = self.cleaned_data
        sources = {one.name: self._source(one) for one in self.kind.fields}
        plain = {name: data.get(name, "") for name in ("epsg", "unit", "x", "y", "wkt", "join", "date_order")}
        return replace(self.mapping, layer=self.table.name, sources=sources, **plain)

    def clean(self) -> None:
        """Refuse coordinates and dates that say nothing, and fields without what they need."""
        if not self.table.is_sure:
            self._clean_system()
        if not self.table.has_shapes:
            self._clean_positions()
        for one in self.kind.fields:
            self._clean_source(one)
        if "date_order" in self.fields:
            self._clean_dates()

    def _dates_of(self, mapping: Mapping) -> DateOrder:
        """What the columns of moments say of the order of their dates."""
        moments = [mapping.source(one.name) for one in self.kind.fields if one.type == "moment"]
        texts = [self.table.texts_of(source.text) for source in moments if source.how == COLUMN]
        return suggested_date_order(chain.from_iterable(texts))

    def _clean_dates(self) -> None:
        sources = {one.name: self._source(one) for one in self.kind.fields}
        dates = self._dates_of(replace(self.mapping, sources=sources))
        if dates.example and not self.cleaned_data.get("date_order"):
            self.add_error("date_order", f"Say in which order {dates.example} is written. {dates.words}")

    def _add_coordinates(self) -> None:
        table, mapping = self.table, self.mapping
        if not table.is_sure:
            own = f" The file says {table.system.name}; leave empty to take it." if table.system else ""
            self.fields["epsg"] = forms.CharField(
                label="Coordinate system (EPSG code)",
                required=table.system is None,
                initial=mapping.epsg,
                max_length=20,
                help_text=f"Such as 2277 for NAD83 / Texas Central in US survey feet.{own}",
            )
            self.fields["unit"] = forms.ChoiceField(
                label="Coordinates are in",
                choices=[NOT_CHOSEN, *UNIT_WORDS.items()],
                initial=mapping.unit,
                help_text="The two feet differ by 2 parts in a million: 20 ft in a state-plane northing.",
            )
        if table.has_shapes:
            return
        columns = [("", "none"), *((name, name) for name in table.columns)]
        labels = {"x": "Column of x, easting or longitude", "y": "Column of y, northing or latitude"}
        for name, label in (*labels.items(), ("wkt", "or column of whole shapes (well-known text)")):
            self.fields[name] = forms.ChoiceField(
                label=label, choices=columns, required=False, initial=getattr(mapping, name)
            )
        if self.kind.takes_lines:
            self.fields["join"] = forms.ChoiceField(
                label="Rows that make one line, in their order, share",
                choices=[("", "nothing: each row is a point"), *columns[1:]],
                required=False,
                initial=mapping.join,
            )

    def _add_source(self, one: VectorField) -> None:
        source = self.mapping.source(one.name)
        choices = [(NONE, "not given")]
        choices += [(f"{_COLUMN_PREFIX}{name}", f"column {name}") for name in self.table.columns]
        choices.append((FIXED, "the same for every row"))
        if one.name == _NUMBERED_FIELD:
            choices.append((NUMBERED, "numbered, beginning with"))
        if one.type == "length" and self.table.has_heights:
            choices.append((HEIGHT, "height of the shape"))
        chosen = f"{_COLUMN_PREFIX}{source.text}" if source.how == COLUMN else source.how
        label = f"{one.label[0].upper()}{one.label[1:]}"
        self.fields[f"{one.name}-from"] = forms.ChoiceField(
            label=f"{label}: {_CONTROL_WORDS['from']}", choices=choices, initial=chosen
        )
        self.fields[f"{one.name}-text"] = forms.CharField(
            label=f"{label}: {_CONTROL_WORDS['text']}",
            required=False,
            max_length=_LONGEST_FIXED,
            initial="" if source.how == COLUMN else source.text,
        )
        if one.type == "length":
            self.fields[f"{one.name}-unit"] = forms.ChoiceField(
                label=f"{label}: {_CONTROL_WORDS['unit']}",
                choices=[("", "each value has its unit"), *LENGTH_UNITS.items()],
                required=False,
                initial=source.unit,
                help_text=_unit_words(source),
            )

    def _source(self, one: VectorField) -> Source:
        chosen = self.cleaned_data.get(f"{one.name}-from", NONE)
        unit = self.cleaned_data.get(f"{one.name}-unit", "")
        if chosen.startswith(_COLUMN_PREFIX):
            return Source(COLUMN, chosen.removeprefix(_COLUMN_PREFIX), unit)
        text = self.cleaned_data.get(f"{one.name}-text", "") if chosen in (FIXED, NUMBERED) else ""
        return Source(chosen, text, unit)

    def _clean_system(self) -> None:
        epsg = self.cleaned_data.get("epsg", "")
        unit = self.cleaned_data.get("unit")
        try:
            system = system_of_code(epsg) if epsg else self.table.system
        except VectorFileError as error:
            self.add_error("epsg", str(error))
            return
        if system is None or not unit:
            return
        if ("degree" in (unit, system.unit)) and unit != system.unit:
            self.add_error("unit", f"{system.name} is in {UNIT_WORDS[system.unit]}.")

    def _clean_positions(self) -> None:
        data = self.cleaned_data
        if data.get("wkt") and (data.get("x") or data.get("y")):
            self.add_error("wkt", "Choose either whole shapes or x and y.")
        if not data.get("wkt"):
            for name in ("x", "y"):
                if not data.get(name) and name not in self.errors:
                    self.add_error(name, "Choose the column.")
        if data.get("x") and data.get("x") == data.get("y"):
            self.add_error("y", "Choose another column than for x.")

    def _clean_source(self, one: VectorField) -> None:
        source = self._source(one)
        if one.is_required and source.how == NONE:
            self.add_error(f"{one.name}-from", f"Every {self.kind.singular} needs it.")
        if source.how == FIXED and not source.text:
            self.add_error(f"{one.name}-text", "Write the value that every row has.")
        if one.type == "length" and not source.unit and self._holds_bare_numbers(source):
            self.add_error(f"{one.name}-unit", "There are numbers without a unit: say what they are in.")

    def _holds_bare_numbers(self, source: Source) -> bool:
        if source.how == HEIGHT:
            return True
        if source.how == COLUMN:
            place = self.table.columns.index(source.text)
            return any(BARE_NUMBER.fullmatch(text_of(row.values[place])) for row in self.table.rows)
        return source.how == FIXED and bool(BARE_NUMBER.fullmatch(source.text))
