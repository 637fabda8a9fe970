"""Forms at the test hole and after: a watch, a camera inspection, the close-out."""

from datetime import datetime
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.forms import BoundField, ChoiceField
from django.utils import timezone

from conflicts.forms.rods import DEPTH_UNITS
from conflicts.forms.signing import SignedForm
from conflicts.forms.walk import YesOrNoField
from conflicts.models import CameraInspection, CloseOut, CrossingWatch
from locates.forms.password_again import PasswordAgainMixin
from locates.forms.photos_field import PhotosMixin
from locates.forms.shown_back import LengthField, MomentField
from locates.models import Job, Mark


class WatchForm(PhotosMixin, SignedForm):
    """Whether somebody saw a pass go by a line, and the gap that was measured."""

    seen = YesOrNoField(label="Did you see it pass?")
    gap_unit = ChoiceField(label="Unit", required=False)

    class Meta:
        """What a person enters at the test hole."""

        model = CrossingWatch
        fields = ("seen", "gap_m", "head_depth_m", "remarks")
        field_classes: ClassVar = {"gap_m": LengthField, "head_depth_m": LengthField}
        labels: ClassVar = {"gap_m": "Gap measured", "head_depth_m": "Depth read at the head"}

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, job=job, **kwargs)
        units = DEPTH_UNITS[job.show_units]
        self.fields["gap_unit"].choices = units
        self.fields["gap_unit"].needs_words = True
        gap = self.fields["gap_m"]
        gap.required = False
        gap.needs_words = True
        gap.help_text = "From the edge of the hole to the line."
        gap.widget.attrs |= {"inputmode": "decimal"}
        chosen = self.data.get(self.add_prefix("gap_unit"), "")
        gap.unit_beside = chosen if chosen in dict(units) else ""
        self.fields["head_depth_m"].required = False
        self.fields["head_depth_m"].help_text = "Below the ground, as the locating device reads it."
        self.fields["remarks"].widget.attrs["rows"] = 2

    def clean(self) -> dict[str, Any]:
        """Ask for the gap of what was seen, and for none of what was not; sign for the photos."""
        cleaned = super().clean() or self.cleaned_data
        seen, gap = cleaned.get("seen"), cleaned.get("gap_m")
        if seen is True and gap is None and "gap_m" not in self.errors:
            self.add_error("gap_m", "Measure the gap, and write it.")
        if seen is False and gap is not None:
            self.add_error("gap_m", "What was not seen has no gap: leave it empty, or answer yes.")
        self.instance.photo_sha256s = sorted(photo.sha256 for photo in cleaned.get("photos", ()))
        return cleaned


class CameraForm(PhotosMixin, SignedForm):
    """What a camera saw in a line."""

    class Meta:
        """What a person enters of an inspection."""

        model = CameraInspection
        fields = ("mark", "stage", "inspected_at", "inspected_by", "result", "remarks")
        field_classes: ClassVar = {"inspected_at": MomentField}
        labels: ClassVar = {"mark": "Line", "stage": "When", "inspected_at": "Inspected at"}

    def __init__(self, *args: Any, job: Job, marks: Any, **kwargs: Any) -> None:
        super().__init__(*args, job=job, **kwargs)
        # A line that was retired since may have been crossed all the same.
        self.fields["mark"].queryset = Mark.with_retired.filter(job=job, pk__in=marks)

    def asked(self) -> list[BoundField]:
        """The fields but those of the photos, in their order."""
        return [self[name] for name in self.Meta.fields]

    def clean_inspected_at(self) -> datetime:
        """Refuse what is still to come: it would count as a look after a pullback that is not made yet."""
        inspected_at = self.cleaned_data["inspected_at"]
        if inspected_at > timezone.now():
            raise ValidationError("Found a time that is still to come; accepted: when the camera looked.")
        return inspected_at

    def clean(self) -> dict[str, Any]:
        """Sign for the photos by their digests."""
        cleaned = super().clean() or self.cleaned_data
        self.instance.photo_sha256s = sorted(photo.sha256 for photo in cleaned.get("photos", ()))
        return cleaned


class CloseOutForm(PasswordAgainMixin, SignedForm):
    """The signature that ends a bore."""

    class Meta:
        """What a person writes who closes a bore out."""

        model = CloseOut
        fields = ("remarks",)
