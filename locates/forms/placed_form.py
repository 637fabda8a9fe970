"""The base of forms of records that have a place: drawn, typed, by station and offset, or by a phone."""

from collections.abc import Mapping
from typing import Any, ClassVar
from uuid import UUID

from django import forms

from locates.errors import JobFileError, PositionError
from locates.exchange.job_documents import feature_of
from locates.exchange.phone_fixes import LONGEST_TEXT, worst_accuracy_m
from locates.exchange.record_beside import faults_beside
from locates.exchange.typed_positions import write_positions
from locates.exchange.typed_stations import STATION_AND_OFFSET_EXAMPLES
from locates.forms.file_rules import tell_of_faults
from locates.forms.record_form import Group, RecordForm, plain_text
from locates.stationing import places_along, stationed_lines
from locates.units import format_length


class PlacedForm(RecordForm):
    """A record with a shape, and the ways to say where it is.

    Positions stand in the shape's own field, whoever put them there; stations and offsets, where some are
    typed, take their place. Everything is held against the job file's rules.
    """

    along_bore = forms.ChoiceField(label="Bore", required=False)
    along_stations = forms.CharField(label="Station and offset", required=False)
    fixes = forms.CharField(widget=forms.HiddenInput, required=False, max_length=LONGEST_TEXT)

    shape_field: ClassVar[str]
    """Name of the field with the shape."""
    draws: ClassVar[tuple[str, ...]]
    """What is drawn on the map: ``point``, ``line``, ``area``."""
    later: ClassVar[tuple[tuple[str, tuple[str, ...]], ...]] = ()
    """Fields below the place: those under a heading are folded."""
    error_field: ClassVar[str] = ""
    """The field that says how far the place may be off."""
    is_paint: ClassVar[bool] = False
    """Whether the place is that of paint, which may itself be off by the tolerance zone's width."""
    takes_stations: ClassVar[bool] = True
    """Whether the place may be said by station and offset along a bore."""
    takes_phone: ClassVar[bool] = True
    """Whether a place by phone is sure enough."""
    members: ClassVar[Mapping[str, str]] = {}
    """Fields of the job file's members that have another name there."""
    otherwise: ClassVar[str] = "along_stations"
    """The field in which the place is said otherwise than by positions."""
    way_fields: ClassVar[tuple[str, ...]] = ("along_bore", "along_stations")
    """The fields that say it, as the page shows them."""
    depends: ClassVar[tuple[str, ...]] = ()
    """Fields that are neither always needed nor never: their own words say when."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._offer_bores()
        if not self.takes_phone:
            del self.fields["fixes"]
        self.fields[self.shape_field].required = False
        for name in (self.shape_field, *self.way_fields, *self.depends):
            if name in self.fields:
                self.fields[name].needs_words = True
        self.initial["opened_with"] = self.opened_texts()

    @property
    def shape(self) -> forms.BoundField:
        """The field with the shape, for the page."""
        return self[self.shape_field]

    @property
    def ways(self) -> list[forms.BoundField]:
        """The fields that say the place otherwise, for the page."""
        return [self[name] for name in self.way_fields if name in self.fields]

    @property
    def drawn(self) -> str:
        """What is drawn on the map, for the page's script."""
        return " ".join(self.draws)

    def paint_m(self) -> float:
        """How far paint may be from its line, by the job."""
        return (self.job.tolerance_width_m or 0.0) if self.is_paint else 0.0

    def later_groups(self) -> list[Group]:
        """What comes below the place."""
        return [Group(title, [self[name] for name in names], bool(title)) for title, names in self.later]

    def clean(self) -> dict[str, Any]:
        """Find the place, and ask how sure it is."""
        cleaned = super().clean()
        if self.is_placed_otherwise(cleaned):
            if self._is_typed_anew(plain_text(self[self.shape_field].data)):
                self.add_error(self.otherwise, "Say the place once: here, or as positions; empty the other.")
            else:
                self.errors.pop(self.shape_field, None)
                self.place_otherwise(cleaned)
        elif cleaned.get(self.shape_field) is None and self.shape_field not in self.errors:
            self.add_error(self.shape_field, self._ways())
        if self.error_field:
            self._ask_accuracy(cleaned)
        return cleaned

    def _post_clean(self) -> None:
        super()._post_clean()
        if not self.errors:
            tell_of_faults(self, self.faults(), self.shape_field, self.members)

    def faults(self) -> list[JobFileError]:
        """What the job file's rules say of the record as it is typed."""
        return faults_beside(self.job.pk, feature_of(self.instance))

    def is_placed_otherwise(self, cleaned: dict[str, Any]) -> bool:
        """Whether the place is said otherwise than by positions."""
        return bool(plain_text(cleaned.get("along_stations")))

    def place_otherwise(self, cleaned: dict[str, Any]) -> None:
        """Put the places that stations and offsets come to in the place of the positions."""
        line_id = cleaned.get("along_bore")
        if not line_id:
            self.add_error("along_bore", "Choose the bore whose stations these are.")
            return
        try:
            places = places_along(self.job, UUID(line_id), plain_text(cleaned["along_stations"]))
            cleaned[self.shape_field] = self.fields[self.shape_field].read(write_positions([places]))
        except PositionError as error:
            self.add_error("along_stations", str(error))

    def _offer_bores(self) -> None:
        lines = stationed_lines(self.job) if self.takes_stations else []
        if not lines:
            del self.fields["along_bore"], self.fields["along_stations"]
            return
        field = self.fields["along_bore"]
        field.choices = [(str(line.id), line.name) for line in lines]
        if len(lines) > 1:
            field.choices = [("", "choose"), *field.choices]
        else:
            self.initial["along_bore"] = str(lines[0].id)
        text = self.fields["along_stations"]
        example = STATION_AND_OFFSET_EXAMPLES[self.job.show_units]
        words = example[:1].upper() + example[1:] if self.draws == ("point",) else f"One a line: {example}"
        text.help_text = f"{words}. R is right, facing the exit."
        if self.draws != ("point",):
            text.widget = forms.Textarea(attrs={"rows": 3})
        text.widget.attrs |= {"autocomplete": "off", "spellcheck": "false", "autocapitalize": "none"}

    def _is_typed_anew(self, text: str) -> bool:
        """Whether positions are typed, and are other ones than those that are stored."""
        stored = self.get_initial_for_field(self.fields[self.shape_field], self.shape_field)
        return bool(text) and text != plain_text(self.fields[self.shape_field].prepare_value(stored))

    def _ask_accuracy(self, cleaned: dict[str, Any]) -> None:
        """A place by phone is not surer than the phone says it is."""
        if self.error_field in self.errors or plain_text(cleaned.get("along_stations")):
            return
        positions = plain_text(self[self.shape_field].data)
        accuracy_m = worst_accuracy_m(plain_text(cleaned.get("fixes")), positions)
        if accuracy_m is None:
            return
        least_m = accuracy_m + self.paint_m()
        stated_m = cleaned.get(self.error_field)
        if stated_m is None or stated_m < least_m:
            shown = format_length(least_m, self.job.show_units, "up")
            beside = " beside the tolerance zone that paint may be off by" if self.paint_m() else ""
            self.add_error(
                self.error_field,
                f"The phone's position may be off by {format_length(accuracy_m, self.job.show_units, 'up')}"
                f"{beside}: accepted is {shown} or more, or a place measured by tape.",
            )

    def _ways(self) -> str:
        along = ", type station and offset" if self.ways else ""
        phone = ", use the phone's position" if self.takes_phone else ""
        return f"Say where it is: type positions{along}{phone}, or draw it on the map."
