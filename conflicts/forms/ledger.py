"""What somebody looks for in the ledger, and a head to prove it against."""

from typing import Any, ClassVar
from urllib.parse import urlencode

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef, QuerySet

from locates.models import Job, LedgerEntry


class SignedJobField(forms.ModelChoiceField):
    """A job of which something was signed; whatever else an address says is refused in the same words."""

    default_error_messages: ClassVar = {
        "invalid_choice": "Accepted is a job of the list, of which something was signed."
    }

    def to_python(self, value: Any) -> Job | None:
        """The job, if it is one of the list."""
        try:
            return super().to_python(value)
        except ValidationError as error:
            raise ValidationError(self.error_messages["invalid_choice"], code="invalid_choice") from error


class LedgerForm(forms.Form):
    """The job whose entries are shown, as the address holds it."""

    job = SignedJobField(queryset=None, required=False, empty_label="every job")

    def __init__(self, data: object, jobs: QuerySet[Job]) -> None:
        super().__init__(data, label_suffix="")
        signed = LedgerEntry.objects.filter(job=OuterRef("pk"))
        self.fields["job"].queryset = jobs.filter(Exists(signed)).order_by("name")

    def query(self) -> str:
        """What is chosen as an address has it."""
        job = self.cleaned_data.get("job")
        return urlencode({"job": job.pk}) if job else ""


class ProofForm(forms.Form):
    """A head that was noted before."""

    head = forms.RegexField(
        r"^\s*[0-9a-f]{64}\s*$",
        label="A head noted before, if there is one",
        required=False,
        help_text="64 digits of 0 to 9 and a to f; some entry has to have it.",
        error_messages={"invalid": "Accepted are 64 digits of 0 to 9 and a to f."},
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )

    def __init__(self, data: object) -> None:
        super().__init__(data, label_suffix="")
