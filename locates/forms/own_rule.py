"""The form of a company's own version of a rule, filled with the one that it goes by now."""

import json
from typing import Any, ClassVar

from django import forms
from django.forms.fields import InvalidJSONInput

from locates.forms.shown_back import LengthField
from locates.models import JurisdictionRule

COUNTING_ROWS = 16
YES_OR_NO = (("no", "no"), ("yes", "yes"))


class YesOrNoField(forms.TypedChoiceField):
    """A question that one list answers."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=YES_OR_NO, coerce=lambda text: text == "yes", **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """A stored answer as the list has it; what was chosen as it was chosen."""
        return {True: "yes", False: "no"}.get(value, value)


class CountingField(forms.JSONField):
    """JSON in lines that a person can read."""

    def prepare_value(self, value: Any) -> Any:
        """What is stored, in lines; what cannot be read as it was typed."""
        if isinstance(value, InvalidJSONInput):
            return value
        return json.dumps(value, ensure_ascii=False, indent=1)


class OwnRuleForm(forms.ModelForm):
    """All that a rule says; what nobody may waive stays as it is shipped."""

    boring_must_be_declared = YesOrNoField(label="Boring must be declared on the ticket")
    every_line_must_be_exposed = YesOrNoField(label="Every line in the path must be exposed")
    sewer_camera_required = YesOrNoField(label="Gravity sewers looked into by camera")
    tolerance_is_sure = YesOrNoField(
        label="The width is certain", help_text="Two readings agree, and the width was read, not remembered."
    )

    groups = (
        (
            "Where it was read, and how sure that is",
            ("citation", "checked_on", "certainty", "readings_agree", "second_reading"),
        ),
        ("Tolerance zone", ("tolerance_zone_m", "tolerance_is_sure", "tolerance_basis")),
        (
            "Trenchless work",
            (
                "trenchless_rule",
                "boring_must_be_declared",
                "every_line_must_be_exposed",
                "sewer_camera_required",
            ),
        ),
        (
            "Notice, life and renewal, in words",
            (
                "notice_value",
                "notice_unit",
                "notice_count_rule",
                "ticket_life_value",
                "ticket_life_unit",
                "life_counted_from",
                "renewal_rule",
            ),
        ),
        ("How the dates of a ticket are counted", ("clock",)),
    )

    class Meta:
        """What a person writes of an own version."""

        model = JurisdictionRule
        fields = (
            "citation",
            "checked_on",
            "certainty",
            "readings_agree",
            "second_reading",
            "tolerance_zone_m",
            "tolerance_is_sure",
            "tolerance_basis",
            "trenchless_rule",
            "boring_must_be_declared",
            "every_line_must_be_exposed",
            "sewer_camera_required",
            "notice_value",
            "notice_unit",
            "notice_count_rule",
            "ticket_life_value",
            "ticket_life_unit",
            "life_counted_from",
            "renewal_rule",
            "clock",
        )
        field_classes: ClassVar = {"tolerance_zone_m": LengthField, "clock": CountingField}
        widgets: ClassVar = {
            "checked_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "clock": forms.Textarea(attrs={"spellcheck": "false", "autocapitalize": "off"}),
        }
        labels: ClassVar = {
            "citation": "Citation",
            "checked_on": "Last checked on",
            "certainty": "How it was read",
            "readings_agree": "Readings",
            "second_reading": "Second reading",
            "tolerance_zone_m": "Tolerance zone",
            "tolerance_basis": "Measured",
            "notice_value": "Notice",
            "notice_unit": "Unit of the notice",
            "notice_count_rule": "How the notice is counted",
            "ticket_life_value": "Ticket life",
            "ticket_life_unit": "Unit of the life",
            "life_counted_from": "Life counted from",
            "renewal_rule": "Renewal",
            "trenchless_rule": "Trenchless work",
            "clock": "Counting",
        }
        help_texts: ClassVar = {
            "citation": "The text that your company read.",
            "checked_on": "The day on which somebody read it.",
            "certainty": "Who read it, and how sure that is.",
            "tolerance_zone_m": "From the outside edge of the line, with its unit: 24 in, 1.5 ft or 0.61 m.",
            "clock": (
                "Dates are worked out from this, not from the words above: JSON as the shipped rule has it. "
                "An empty object, {}, gives no date, and the desk asks for each."
            ),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.fields["citation"].required = self.fields["certainty"].required = True
        self.fields["tolerance_zone_m"].required = False
        for field in self.fields.values():
            if isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = COUNTING_ROWS if field is self.fields["clock"] else 3

    def grouped(self) -> list[dict[str, Any]]:
        """Headings and fields, as the page shows them."""
        return [{"title": title, "fields": [self[name] for name in names]} for title, names in self.groups]

    def clean_tolerance_zone_m(self) -> float | None:
        """A width that came back as it was shown is the stored one, to the last digit."""
        stored, field = self.initial.get("tolerance_zone_m"), self.fields["tolerance_zone_m"]
        if stored is not None and not field.has_changed(stored, self["tolerance_zone_m"].data):
            return stored
        return self.cleaned_data["tolerance_zone_m"]

    def clean_clock(self) -> dict[str, Any]:
        """An emptied box is a counting that was not read."""
        return self.cleaned_data["clock"] or {}
