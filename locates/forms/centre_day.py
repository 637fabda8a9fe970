"""The form of a day that a one-call centre counts its own way."""

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from locates.models import CentreDay
from locates.one_call.calendar import FIRST_YEAR, LAST_YEAR

WAYS = (("", "Choose"), ("yes", "a working day"), ("no", "no working day"))


class CentreDayForm(forms.ModelForm):
    """Day, how it counts, and who says so; nothing is chosen beforehand."""

    counts = forms.ChoiceField(label="It is", choices=WAYS, help_text="As the centre counts it.")

    class Meta:
        """What a person writes of a day."""

        model = CentreDay
        fields = ("day", "words")
        widgets: ClassVar = {"day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")}
        labels: ClassVar = {"day": "Day", "words": "Why, and who says so"}

    field_order = ("day", "counts", "words")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)

    def clean_day(self) -> date:
        """Refuse a day of a year for which no list is kept, and one of which something is said already."""
        day = self.cleaned_data["day"]
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValidationError(
                f"Found the year {day.year}; accepted is a day of {FIRST_YEAR} to {LAST_YEAR}."
            )
        present = CentreDay.objects.live().filter(
            organisation=self.instance.organisation, code=self.instance.code, day=day
        )
        present = present.first()
        if present is not None:
            how = "a working day" if present.is_working else "no working day"
            raise ValidationError(
                f"Of {day:%a %b} {day.day}, {day.year} it is said already that it is {how} "
                f"({present.words}): retire that first."
            )
        return day

    def clean(self) -> dict[str, Any]:
        """Take the choice for what it says."""
        cleaned = super().clean()
        self.instance.is_working = cleaned.get("counts") == "yes"
        return cleaned
