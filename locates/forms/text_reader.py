"""The form of a reader of confirmations: a pattern for each thing that it finds, and a sample."""

from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from locates.intake.errors import PatternError
from locates.intake.patterns import LONGEST_PATTERN, make_ready
from locates.intake.text_fields import TEXT_FIELDS
from locates.models import TextReader

PREFIX = "find-"


class TextReaderForm(forms.ModelForm):
    """Name, sample and one box a pattern; ``opened_version`` tells two editors apart."""

    opened_version = forms.IntegerField(widget=forms.HiddenInput)

    class Meta:
        """What a person writes of a reader."""

        model = TextReader
        fields = ("name", "sample", "is_in_use")
        widgets: ClassVar = {"sample": forms.Textarea(attrs={"rows": 12, "spellcheck": "false"})}
        labels: ClassVar = {"sample": "Sample", "is_in_use": "In use"}
        help_texts: ClassVar = {
            "name": "Such as the layout it is for.",
            "sample": "The text of a confirmation, to try the patterns on.",
            "is_in_use": "Offered where a ticket is logged from a text.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        # What blanks a sample ends with is part of the text.
        self.fields["sample"].strip = False
        self.initial["opened_version"] = self.instance.version
        for field in TEXT_FIELDS:
            self.fields[PREFIX + field.name] = forms.CharField(
                label=field.words,
                required=False,
                max_length=LONGEST_PATTERN,
                initial=self.instance.patterns.get(field.name, ""),
                widget=forms.TextInput(attrs={"spellcheck": "false", "autocapitalize": "off"}),
            )

    @property
    def pattern_fields(self) -> list[forms.BoundField]:
        """The boxes of the patterns, in order."""
        return [self[PREFIX + field.name] for field in TEXT_FIELDS]

    @property
    def plain_fields(self) -> list[forms.BoundField]:
        """The boxes that say which reader it is."""
        return [self[name] for name in ("name",)]

    def patterns(self) -> dict[str, str]:
        """The patterns of valid data."""
        typed = {field.name: self.cleaned_data.get(PREFIX + field.name, "") for field in TEXT_FIELDS}
        return {name: pattern for name, pattern in typed.items() if pattern}

    def clean(self) -> dict[str, Any]:
        """Refuse each pattern that cannot be used, beside its box."""
        cleaned = super().clean()
        for field in TEXT_FIELDS:
            pattern = cleaned.get(PREFIX + field.name, "")
            if not pattern:
                continue
            try:
                make_ready(field, pattern)
            except PatternError as error:
                words = f"{error.reason}. Accepted is {error.accepted}."
                self.add_error(PREFIX + field.name, ValidationError(words))
        self.instance.patterns = self.patterns()
        return cleaned
