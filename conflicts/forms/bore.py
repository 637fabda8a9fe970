"""What a person enters of a bore."""

from typing import Any

from django import forms
from django.contrib.postgres.forms import SimpleArrayField
from django.core.exceptions import ValidationError

from conflicts.alignment import alignment_length_m
from conflicts.models import Bore


class HeadingsField(SimpleArrayField):
    """Headings between commas, with nothing where the bore follows its alignment."""

    def prepare_value(self, value: Any) -> Any:
        """A missing heading as nothing, where Django writes the word None and then refuses it."""
        if isinstance(value, list):
            return self.delimiter.join("" if heading is None else str(heading) for heading in value)
        return value


class BoreForm(forms.ModelForm):
    """A bore whose ground length is measured before the bounds that rest on it are checked."""

    rod_headings_rad = HeadingsField(
        forms.FloatField(required=False),
        required=False,
        label="Rods: heading at each joint, clockwise from north",
        help_text="In radians, between commas; nothing where the bore follows its alignment: 1.571,,1.602",
    )

    class Meta:
        """Every field that a person may write."""

        model = Bore
        fields = "__all__"  # noqa: DJ007 - the admin narrows it

    def clean(self) -> dict[str, Any]:
        """Measure the alignment."""
        cleaned = super().clean() or self.cleaned_data
        alignment, job = cleaned.get("alignment"), cleaned.get("job")
        if alignment is not None and job is not None:
            self.instance.alignment_length_m = alignment_length_m(alignment.coords, job.mean_height_m)
        return cleaned

    def _post_clean(self) -> None:
        """Ask whether the bore may be changed so, for saving it would refuse it without words on the form."""
        super()._post_clean()
        if not self.errors and not self.instance._state.adding:
            try:
                self.instance.ask_guards()
            except ValidationError as error:
                self.add_error(None, error)

    def _get_validation_exclusions(self) -> set[str]:
        # Django leaves out the constraints of fields that a form lacks; this one the form fills in itself.
        excluded: set[str] = super()._get_validation_exclusions()
        if self.instance.alignment_length_m is not None:
            excluded.discard("alignment_length_m")
        return excluded
