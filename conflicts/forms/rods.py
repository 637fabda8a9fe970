"""Forms at the rig: a rod, rods pulled back, a check of the locating device."""

from itertools import pairwise
from math import tau
from typing import Any, ClassVar, NamedTuple

from django import forms

from conflicts.desk.place_along import FARTHEST_OFFSET_M, place_along, station_and_offset
from conflicts.forms.signing import SignedForm
from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal
from conflicts.rod_log import RodInput
from conflicts.rod_oddities import may_turn_over
from locates.angles import parse_heading_rad, parse_pitch_ratio
from locates.errors import PositionError, WrittenValueError
from locates.exchange.dot_fix import LONGEST_TEXT, read_place_fix
from locates.forms.shown_back import LengthField
from locates.units import format_length, format_station, parse_length_m, parse_station_m, with_unit

DEPTH_UNITS = {
    "feet": (("in", "inches"), ("ft", "feet"), ("cm", "cm"), ("m", "m")),
    "metric": (("cm", "cm"), ("m", "m"), ("in", "inches"), ("ft", "feet")),
}
DOWN, UP = "down", "up"
GOING = ((DOWN, "Down"), (UP, "Up"))
LEFT, ON_LINE, RIGHT = "left", "on", "right"
SIDES = ((LEFT, "Left"), (ON_LINE, "On the line"), (RIGHT, "Right"))
CLOCK = [
    ("", "not read"),
    *((str(hour), f"{hour} o\N{RIGHT SINGLE QUOTATION MARK}clock") for hour in range(1, 13)),
]


class DotRead(NamedTuple):
    """Where the dot was set, right of the line positive; how far off is None where a person measured it."""

    station_m: float
    offset_m: float
    longitude_deg: float
    latitude_deg: float
    error_m: float | None


class RodForm(forms.Form):
    """What the locating device reads at the end of a rod; bare numbers stand beside their unit."""

    depth = forms.CharField(label="Depth read", required=False)
    depth_unit = forms.ChoiceField(label="Unit")
    pitch = forms.CharField(label="Pitch, %")
    going = forms.ChoiceField(label="The head points", choices=GOING, widget=forms.RadioSelect)
    roll = forms.ChoiceField(label="Roll", choices=CLOCK, required=False)
    dot_station = forms.CharField(label="Dot at station", required=False)
    dot_side = forms.ChoiceField(
        label="The dot lies", choices=SIDES, required=False, widget=forms.RadioSelect
    )
    dot_offset = forms.CharField(label="Off the line by", required=False)
    dot_fix = forms.CharField(
        label="The phone\N{RIGHT SINGLE QUOTATION MARK}s position",
        widget=forms.HiddenInput,
        required=False,
        max_length=LONGEST_TEXT,
    )
    length = LengthField(label="Length of this rod")
    heading = forms.CharField(label="Heading", required=False)
    remarks = forms.CharField(label="Remarks", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, bore: Bore, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self._bore = bore
        units = bore.job.show_units
        self.fields["depth_unit"].choices = DEPTH_UNITS[units]
        self.fields["length"].of_job(bore.job)
        for name in ("depth", "pitch", "dot_offset", "dot_station"):
            self.fields[name].widget.attrs |= {"autocomplete": "off", "inputmode": "decimal"}
        for name in ("depth", "dot_station", "dot_offset", "heading", "pitch"):
            self.fields[name].needs_words = True
        self.fields["depth"].help_text = "Ground to the antenna; empty where it could not be read."
        self.fields["pitch"].help_text = "As it reads, or in degrees with “deg”."
        example = format_station(12.19, units)
        self.fields["dot_station"].help_text = f"Along the line, such as {example}. Empty: no dot was set."
        self.fields["dot_offset"].help_text = "With its unit."
        self.fields["heading"].help_text = "In degrees from true north, where it is read."

    def clean_depth(self) -> float | None:
        """In metres, or None where nothing was read; a bare number has the unit beside it."""
        text = self.cleaned_data["depth"].strip()
        if not text:
            return None
        unit = self.data.get(self.add_prefix("depth_unit"), "")
        depth_m = self._read(parse_length_m, with_unit(text, unit))
        if depth_m < 0.0:
            raise forms.ValidationError("Accepted is a depth of 0 or more.")
        return depth_m

    def clean_pitch(self) -> float:
        """As a ratio without its direction, which the answer beside it gives."""
        text = self.cleaned_data["pitch"].strip()
        bare = text.lstrip("+-\N{MINUS SIGN}").strip().replace(".", "", 1).isdigit()
        return self._read(parse_pitch_ratio, f"{text} %" if bare else text)

    def clean_heading(self) -> float | None:
        """In radians, below a full turn."""
        text = self.cleaned_data["heading"].strip()
        return self._read(parse_heading_rad, text) % tau if text else None

    def clean(self) -> dict[str, Any]:
        """Join pitch and direction, station and offset."""
        cleaned = super().clean() or self.cleaned_data
        pitch, going = cleaned.get("pitch"), cleaned.get("going")
        if pitch is not None and going:
            if pitch < 0.0 and going == UP:
                self.add_error(
                    "pitch", "Found a falling pitch, and a head that points up; accepted is one of both."
                )
            cleaned["pitch"] = abs(pitch) if going == UP else -abs(pitch)
        if cleaned.get("length") is not None and cleaned["length"] <= 0.0:
            self.add_error("length", "Accepted is a length above 0.")
        fix = cleaned.get("dot_fix", "").strip()
        cleaned["dot"] = self._dot_of_phone(fix, cleaned) if fix else self._dot(cleaned)
        return cleaned

    def _dot_of_phone(self, text: str, cleaned: dict[str, Any]) -> DotRead | None:
        """The phone's position as the dot; where it cannot be that, the form says why."""
        if cleaned.get("dot_station", "").strip():
            self.add_error(
                "dot_station", "Found a station and a position of the phone; accepted is one of both."
            )
            return None
        fix = read_place_fix(text)
        if fix is None:
            self.add_error("dot_station", "The position of the phone could not be read: use it once more.")
            return None
        if fix.error_m is None:
            self.add_error(
                "dot_station",
                "The phone does not say how far off its position may be: write station and offset instead.",
            )
            return None
        station_m, offset_m = station_and_offset(self._bore, fix[:2])
        if abs(offset_m) > FARTHEST_OFFSET_M:
            units = self._bore.job.show_units
            self.add_error(
                "dot_station",
                f"Found the phone {format_length(abs(offset_m), units)} from this bore; accepted is "
                f"{format_length(FARTHEST_OFFSET_M, units)} at most. Stand over the head.",
            )
            return None
        return DotRead(station_m, offset_m, fix.longitude_deg, fix.latitude_deg, fix.error_m)

    def _dot(self, cleaned: dict[str, Any]) -> DotRead | None:
        """The dot by the station and the offset that were written."""
        text, side = cleaned.get("dot_station", "").strip(), cleaned.get("dot_side")
        offset_text = cleaned.get("dot_offset", "").strip()
        if not text:
            if offset_text or side:
                self.add_error(
                    "dot_station", "Write the station of the dot too, or leave all of the dot empty."
                )
            return None
        if not side:
            self.add_error("dot_side", "Say where the dot lies: left, right, or on the line.")
            return None
        try:
            station_m = parse_station_m(text, self._bore.job.show_units)
        except WrittenValueError as error:
            self.add_error("dot_station", f"{error}.")
            return None
        offset_m = 0.0
        if side != ON_LINE:
            try:
                offset_m = parse_length_m(offset_text)
            except WrittenValueError as error:
                self.add_error("dot_offset", f"{error}.")
                return None
            if offset_m < 0.0:
                self.add_error(
                    "dot_offset", "Accepted is an offset of 0 or more; left or right is said beside."
                )
                return None
            offset_m = -offset_m if side == LEFT else offset_m
        try:
            [(longitude, latitude)] = place_along(self._bore.pk, [(1, (station_m, offset_m))])
        except PositionError as error:
            self.add_error("dot_station", f"Found {error.found}; accepted is {error.accepted}.")
            return None
        return DotRead(station_m, offset_m, longitude, latitude, None)

    def _read(self, parse: Any, text: str) -> Any:
        try:
            return parse(text)
        except WrittenValueError as error:
            raise forms.ValidationError(f"{error}.") from error

    def rod(self, **values: Any) -> DrilledRod:
        """The rod that was written, not stored yet."""
        read = self.cleaned_data
        station_m, offset_m, longitude, latitude, error_m = read["dot"] or (None,) * len(DotRead._fields)
        return DrilledRod(
            bore=self._bore,
            length_m=read["length"],
            pitch_ratio=read["pitch"],
            depth_m=read["depth"],
            roll_rad=int(read["roll"]) % 12 * tau / 12 if read["roll"] else None,
            heading_rad=read["heading"],
            dot_station_m=station_m,
            dot_offset_m=offset_m,
            dot_longitude_deg=longitude,
            dot_latitude_deg=latitude,
            dot_error_m=error_m,
            remarks=read["remarks"],
            **values,
        )


def next_rod(bore: Bore, last: RodInput | None, *, depth_unit: str) -> dict[str, Any]:
    """What the next rod begins with: nothing that the device has to read.

    The direction goes on, unless the rod may read the other one: then a person says which. ``depth_unit`` is
    the unit that the person read the last rod in; that of the job where it is none of those offered.
    """
    length_m = bore.rod_length_m or (None if last is None else last.length_m)
    offered = [code for code, _ in DEPTH_UNITS[bore.job.show_units]]
    begins = {"length": length_m, "depth_unit": depth_unit if depth_unit in offered else offered[0]}
    if last is None:
        return begins | {"going": DOWN}
    if may_turn_over(last.pitch_ratio, length_m, bore.bend_radius_m):
        return begins
    return begins | {"going": DOWN if last.pitch_ratio < 0.0 else UP}


class PullBackForm(SignedForm):
    """To which rod, and why."""

    back_to = forms.ChoiceField(label="Back to the end of")

    class Meta:
        """What a person writes who pulls back."""

        model = RodWithdrawal
        fields = ("reason",)

    def __init__(self, *args: Any, rods: tuple[RodInput, ...], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._rods = rods
        choices = [(rod.rod_id, f"rod {before.number}") for before, rod in pairwise(rods)]
        first = [(rods[0].rod_id, "the entry: every rod")] if rods else []
        self.fields["back_to"].choices = [*reversed(choices), *first]
        self.fields["reason"].required = True
        self.fields["reason"].help_text = "What turned the head, and what will be done otherwise."

    def asked(self) -> list[forms.BoundField]:
        """The fields in their order."""
        return [self["back_to"], self["reason"]]


class LocatorCheckForm(SignedForm):
    """What the device reads over a depth that somebody measured."""

    class Meta:
        """What a person writes at the test hole."""

        model = LocatorCheck
        fields = ("hole", "device", "measured_depth_m", "read_depth_m", "remarks")
        field_classes: ClassVar = {"measured_depth_m": LengthField, "read_depth_m": LengthField}
        labels: ClassVar = {
            "measured_depth_m": "Depth measured with the tape",
            "read_depth_m": "Depth that the device reads",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["hole"].queryset = self.instance.bore.job.test_holes.order_by("ref")
        for name in ("measured_depth_m", "read_depth_m"):
            self.fields[name].of_job(self.instance.bore.job)
        self.fields[
            "measured_depth_m"
        ].help_text = "From the ground to the transmitter in the hole, with its unit."
        self.fields["remarks"].widget.attrs["rows"] = 2
