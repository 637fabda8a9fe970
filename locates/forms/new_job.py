"""The form of a job that begins from nothing: its settings, and its first operators and requirements."""

from typing import Any

from django import forms

from locates.forms.job import JobForm
from locates.forms.shown_back import LengthField
from locates.models import FacilityType

FIRST_OPERATORS, FIRST_REQUIREMENTS = 4, 2


class OperatorRow(forms.Form):
    """One owner of buried lines."""

    name = forms.CharField(label="Name", max_length=200)
    emergency_phone = forms.CharField(
        label="Emergency number", required=False, widget=forms.TextInput(attrs={"type": "tel"})
    )
    contact = forms.CharField(label="Contact", required=False)


class RequirementRow(forms.Form):
    """One required clearance, of an operator that is named in the same form."""

    operator_name = forms.CharField(label="Of the operator", required=False, max_length=200)
    facility_type = forms.ChoiceField(
        label="Of the type", required=False, choices=[("", "every type"), *FacilityType.choices]
    )
    crossing_m = LengthField(label="Where crossing")
    alongside_m = LengthField(label="Where alongside")


OperatorRows = forms.formset_factory(OperatorRow, extra=FIRST_OPERATORS)
RequirementRows = forms.formset_factory(RequirementRow, extra=FIRST_REQUIREMENTS)


class NewJobForm(JobForm):
    """A job with rows for its operators and required clearances; rows left empty are none."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        data = self.data if self.is_bound else None
        self.operators = OperatorRows(data, prefix="operators", form_kwargs={"label_suffix": ""})
        self.requirements = RequirementRows(data, prefix="requirements", form_kwargs={"label_suffix": ""})

    def is_valid(self) -> bool:
        """Whether the settings and every row are in order."""
        rows_are_sound = self.operators.is_valid() & self.requirements.is_valid()
        return rows_are_sound and self._rows_agree() and super().is_valid()

    def row_errors(self) -> list[tuple[str, str, str]]:
        """Id, label and words of each error in a row, for the summary."""
        return [
            (form[name].id_for_label, f"{word} {number}, {form[name].label.lower()}", " ".join(words))
            for word, rows in (("Operator", self.operators), ("Required clearance", self.requirements))
            for number, form in enumerate(rows, 1)
            for name, words in form.errors.items()
        ]

    def details(self) -> dict[str, Any]:
        """The rows that were filled in."""
        return {"operators": _filled(self.operators), "requirements": _filled(self.requirements)}

    def _rows_agree(self) -> bool:
        """Whether no operator and no requirement stands twice, and each named operator is there."""
        names: set[str] = set()
        for row in self.operators:
            name = row.cleaned_data.get("name")
            if name in names:
                row.add_error("name", "Accepted is a name that no other operator of the job has.")
            names |= {name} if name else set()
        scopes: set[tuple[str, str]] = set()
        for row in self.requirements:
            if not row.cleaned_data:
                continue
            scope = row.cleaned_data["operator_name"], row.cleaned_data["facility_type"]
            if scope[0] and scope[0] not in names:
                row.add_error(
                    "operator_name", "Accepted is the name of an operator written above, or nothing."
                )
            if scope in scopes:
                row.add_error("operator_name", "Accepted is one requirement for an operator and type.")
            for name in ("crossing_m", "alongside_m"):
                if row.cleaned_data[name] < 0:
                    row.add_error(name, "Accepted is a length, 0 or more.")
            scopes.add(scope)
        return not any(row.errors for row in (*self.operators, *self.requirements))


def _filled(rows: forms.BaseFormSet) -> list[dict[str, Any]]:
    return [row.cleaned_data for row in rows if row.cleaned_data]
