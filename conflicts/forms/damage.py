"""The form of a report of damage or a near miss."""

from datetime import datetime
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from conflicts.models import DamageReport
from conflicts.models.damage_report import DamageKind
from locates.forms.photos_field import PhotosMixin
from locates.forms.record_form import call_empty_choice
from locates.forms.shown_back import MomentField
from locates.models import Job

LIVE = ("bore", "mark")


class DamageForm(PhotosMixin, forms.ModelForm):
    """What happened, when, to which line, and who was called."""

    kind = forms.ChoiceField(
        label="Damage or near miss", choices=DamageKind.choices, widget=forms.RadioSelect
    )

    class Meta:
        """What a person tells."""

        model = DamageReport
        fields = (
            "kind",
            "happened_at",
            "facility_type",
            "operator",
            "bore",
            "mark",
            "place",
            "what_happened",
            "who_was_called",
        )
        field_classes: ClassVar = {"happened_at": MomentField}
        labels: ClassVar = {
            "happened_at": "When it happened",
            "facility_type": "What the line is",
            "operator": "Its operator",
            "place": "Where",
            "what_happened": "What happened",
            "who_was_called": "Who was called, and when",
        }
        help_texts: ClassVar = {"bore": "If it was in a bore.", "mark": "If the line was marked."}

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["happened_at"].of_job(job)
        for name in LIVE:
            self.fields[name].queryset = self.fields[name].queryset.filter(job=job)
        self.fields["operator"].widget.attrs |= {"list": "operators", "autocomplete": "off"}
        for field in self.fields.values():
            call_empty_choice(field)
            if isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 4

    def told(self) -> list[forms.BoundField]:
        """The fields below the choice of its kind and above the photos."""
        return [self[name] for name in self.Meta.fields if name != "kind"]

    def clean_happened_at(self) -> datetime:
        """Refuse what is still to come."""
        happened_at = self.cleaned_data["happened_at"]
        if happened_at > timezone.now():
            raise ValidationError("Found a time that is still to come; accepted: when it happened.")
        return happened_at
