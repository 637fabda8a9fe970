"""Forms at the rig: a pass of a reamer, the pullback, a pass that was entered wrongly."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from conflicts.forms.signing import SignedForm
from conflicts.hole_passes import PassInput
from conflicts.models import Bore, HolePass, HolePassKind, HolePassWithdrawal, PassDirection
from conflicts.pullback.bundle import MOST_CONDUITS, circle_round
from locates.errors import WrittenValueError
from locates.forms.shown_back import MomentField
from locates.local_time import format_moment
from locates.units import format_length, format_station, parse_length_m, parse_station_m, with_unit

SIZE_UNITS = {
    "feet": (("in", "inches"), ("mm", "mm"), ("cm", "cm")),
    "metric": (("mm", "mm"), ("cm", "cm"), ("in", "inches")),
}
# Groups of conduits of one size that a pullback may have.
CONDUIT_ROWS = 3
# Nothing that goes through such a bore is wider: a slip of a unit or of a point.
WIDEST_M = 3.0
NO_WAY = ("", "not said")


class PassForm(forms.Form):
    """What both kinds of passes are told with; a bare size has the unit beside it."""

    size_unit = forms.ChoiceField(label="Unit")
    direction = forms.ChoiceField(
        label="Which way", choices=[*PassDirection.choices, NO_WAY], required=False, widget=forms.RadioSelect
    )
    made_at = MomentField(label="When", required=False)
    ended_at = MomentField(label="Through at", required=False)
    remarks = forms.CharField(label="Remarks", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, bore: Bore, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.bore = bore
        self.fields["size_unit"].choices = SIZE_UNITS[bore.job.show_units]
        for name in ("made_at", "ended_at"):
            self.fields[name].of_job(bore.job)
        self.fields["ended_at"].help_text = "Left empty: now, so log it once it is through."
        self.fields["made_at"].help_text = "Left empty: now. Of a pass that was watched: when it began."

    def read_size_m(self, name: str) -> float | None:
        """The size in a box, metres; None where nothing stands in it."""
        text = (self.cleaned_data.get(name) or "").strip()
        if not text:
            return None
        unit = self.data.get(self.add_prefix("size_unit"), "")
        try:
            size_m = parse_length_m(with_unit(text, unit))
        except WrittenValueError as error:
            raise forms.ValidationError(f"{error}.") from error
        if not 0.0 < size_m <= WIDEST_M:
            most = format_length(WIDEST_M, self.bore.job.show_units)
            raise forms.ValidationError(f"Found {text}; accepted is a size above 0, at most {most}.")
        return size_m


def _size_box(label: str, **kwargs: Any) -> forms.CharField:
    attrs = {"autocomplete": "off", "inputmode": "decimal"}
    return forms.CharField(label=label, max_length=60, widget=forms.TextInput(attrs=attrs), **kwargs)


class ReamingForm(PassForm):
    """A reamer that went through the hole, or through a stretch of it."""

    reamer = _size_box("Reamed with")
    from_station = forms.CharField(label="From station", required=False)
    to_station = forms.CharField(label="To station", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        example = format_station(12.19, self.bore.job.show_units)
        self.fields["from_station"].help_text = f"Such as {example}. Both empty: the whole bore."
        for name in ("from_station", "to_station"):
            self.fields[name].needs_words = True
            self.fields[name].widget.attrs |= {"autocomplete": "off"}

    def clean_reamer(self) -> float | None:
        """In metres."""
        return self.read_size_m("reamer")

    def clean(self) -> dict[str, Any]:
        """Hold the two stations to the bore and to each other."""
        cleaned = super().clean() or self.cleaned_data
        for name in ("from_station", "to_station"):
            cleaned[name] = self._station_m(name)
        start_m, end_m = cleaned["from_station"], cleaned["to_station"]
        if not self.errors and (start_m is None) != (end_m is None):
            missing = "from_station" if start_m is None else "to_station"
            self.add_error(missing, "Write both stations, or leave both empty for the whole bore.")
        elif start_m is not None and end_m is not None and start_m >= end_m:
            self.add_error("to_station", "Accepted is a station beyond the other, whichever way it went.")
        return cleaned

    def _station_m(self, name: str) -> float | None:
        text, job = (self.cleaned_data.get(name) or "").strip(), self.bore.job
        if not text:
            return None
        try:
            station_m = parse_station_m(text, job.show_units)
        except WrittenValueError as error:
            self.add_error(name, f"{error}.")
            return None
        end_m = self.bore.alignment_length_m
        # What is shown of the last station is rounded.
        if not 0.0 <= station_m <= end_m + 0.05:
            ends = " to ".join(format_station(at_m, job.show_units) for at_m in (0.0, end_m))
            self.add_error(name, f"Found {text}; the bore goes from {ends}.")
            return None
        return station_m

    def hole_pass(self, **values: Any) -> HolePass:
        """The pass that was written, not stored yet."""
        read = self.cleaned_data
        return HolePass(
            bore=self.bore,
            kind=HolePassKind.REAMING,
            diameter_m=read["reamer"],
            direction=read["direction"],
            from_station_m=read["from_station"],
            to_station_m=read["to_station"],
            remarks=read["remarks"],
            **values,
        )


class PullbackPassForm(PassForm):
    """The conduits that were pulled in: how many of which outside size, up to three sizes."""

    measured = _size_box("Measured across all of them", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in range(1, CONDUIT_ROWS + 1):
            self.fields[f"count_{row}"] = forms.IntegerField(
                label="How many",
                min_value=1,
                max_value=MOST_CONDUITS,
                required=row == 1,
                widget=forms.NumberInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
            )
            self.fields[f"size_{row}"] = _size_box("Outside size, each", required=row == 1)
            for name in (f"count_{row}", f"size_{row}"):
                self.fields[name].needs_words = True
        self.fields[
            "measured"
        ].help_text = "By tape, over the bundle. Left empty: the circle round them is computed."

    def rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The boxes of each size."""
        return [(self[f"count_{row}"], self[f"size_{row}"]) for row in range(1, CONDUIT_ROWS + 1)]

    def clean(self) -> dict[str, Any]:
        """Read the sizes, and join each with its number."""
        cleaned = super().clean() or self.cleaned_data
        conduits = [one for row in range(1, CONDUIT_ROWS + 1) if (one := self._conduits(row))]
        cleaned["measured_m"] = self._size("measured")
        if self.errors:
            return cleaned
        total = sum(count for count, _ in conduits)
        if total > MOST_CONDUITS:
            self.add_error("count_1", f"Found {total} in all; accepted are at most {MOST_CONDUITS}.")
            return cleaned
        cleaned["conduits"] = conduits
        largest_m = max(outside_m for _, outside_m in conduits)
        if cleaned["measured_m"] is not None and cleaned["measured_m"] < largest_m:
            least = format_length(largest_m, self.bore.job.show_units)
            self.add_error("measured", f"Accepted is no less than the largest of them, {least}.")
        return cleaned

    def _conduits(self, row: int) -> tuple[int, float] | None:
        count, size_m = self.cleaned_data.get(f"count_{row}"), self._size(f"size_{row}")
        if f"count_{row}" in self.errors or f"size_{row}" in self.errors:
            return None
        if (count is None) != (size_m is None):
            missing = f"count_{row}" if count is None else f"size_{row}"
            self.add_error(missing, "Write how many and their size, or leave both empty.")
        return None if count is None or size_m is None else (count, size_m)

    def _size(self, name: str) -> float | None:
        try:
            return self.read_size_m(name)
        except forms.ValidationError as error:
            self.add_error(name, error)
            return None

    def hole_pass(self, **values: Any) -> HolePass:
        """The pullback that was written, not stored yet."""
        read = self.cleaned_data
        measured_m = read["measured_m"]
        return HolePass(
            bore=self.bore,
            kind=HolePassKind.PULLBACK,
            conduits=[list(one) for one in read["conduits"]],
            diameter_m=circle_round(read["conduits"]).diameter_m if measured_m is None else measured_m,
            is_measured=measured_m is not None,
            direction=read["direction"],
            remarks=read["remarks"],
            **values,
        )


class WithdrawPassForm(SignedForm):
    """Which pass does not count, and why."""

    which = forms.ChoiceField(label="Pass")

    class Meta:
        """What a person writes who withdraws a pass."""

        model = HolePassWithdrawal
        fields = ("reason",)
        help_texts: ClassVar = {"reason": "What was entered wrongly. Log the pass anew as it was."}

    def __init__(self, *args: Any, passes: Sequence[PassInput], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        job = kwargs["job"]
        self.fields["which"].choices = [
            (
                one.pass_id,
                f"{one.kind}, {format_length(one.diameter_m, job.show_units)}, "
                f"{format_moment(one.made_at, job.time_zone)}",
            )
            for one in reversed(passes)
        ]

    def asked(self) -> list[forms.BoundField]:
        """The fields in their order."""
        return [self["which"], self["reason"]]
