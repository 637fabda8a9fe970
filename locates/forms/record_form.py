"""The base of every form that writes one record of a job."""

import json
import re
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.contrib.gis.db.models import GeometryField
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import models
from django.db.models.fields import BLANK_CHOICE_DASH

from locates.forms.positions import PositionsField
from locates.forms.shown_back import GradeField, LengthField, MomentField, ShownBackField
from locates.models import Job
from locates.models.retirable import Retirable

YES_NO = (("", "not known"), ("yes", "yes"), ("no", "no"))
_UNIT_IN_LABEL = re.compile(r" \(m\)$")


class YesNoUnknownField(forms.TypedChoiceField):
    """A question that nobody may know the answer of."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs |= {"choices": YES_NO, "coerce": lambda text: text == "yes", "empty_value": None}
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        """The stored answer as one of the choices."""
        return {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value


def field_for(column: models.Field, **kwargs: Any) -> forms.Field | None:
    """The field that a column of a record gets: lengths and moments as people write them."""
    if isinstance(column, GeometryField):
        return column.formfield(form_class=PositionsField, **kwargs)
    if "label" not in kwargs:
        name = _UNIT_IN_LABEL.sub("", str(column.verbose_name))
        kwargs["label"] = name[:1].upper() + name[1:]
    kwargs |= {"required": not column.blank, "help_text": kwargs.get("help_text", column.help_text)}
    kwargs.pop("widget", None) if not isinstance(column, models.TextField) else None
    if isinstance(column, models.FloatField):
        return (GradeField if "_ratio" in column.name else LengthField)(**kwargs)
    if isinstance(column, models.DateTimeField):
        return MomentField(**kwargs)
    if isinstance(column, models.BooleanField):
        return YesNoUnknownField(**kwargs)
    field = column.formfield(**kwargs)
    if isinstance(column, models.TextField) and field is not None:
        field.widget.attrs["rows"] = 3
    return field


@dataclass(frozen=True, slots=True)
class Group:
    """Fields under one heading."""

    title: str
    fields: list[forms.BoundField]
    is_folded: bool

    @property
    def is_open(self) -> bool:
        """Whether something in it is to be mended."""
        return any(field.errors for field in self.fields)


class RecordForm(forms.ModelForm):
    """A form of one record, shown in the units and the time zone of its job.

    It carries the version that it was opened on and the texts that it showed then, so that two people who
    edit one record can be told apart. What comes back as it was shown is left as it is stored, to the last
    digit.
    """

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    opened_with = forms.CharField(widget=forms.HiddenInput, required=False)

    groups: ClassVar[tuple[tuple[str, tuple[str, ...]], ...]] = ()
    """Headings and the fields under each, in the order of the page; with none, one group of all."""
    folded: ClassVar[tuple[str, ...]] = ()
    """Headings whose fields show once they are asked for: whoever leaves them as they are does well."""
    filled_in: ClassVar[tuple[str, ...]] = ("job",)
    """Columns that are set before the form is checked, though it has no field for them."""

    class Meta:
        """To be extended by each form with its model and fields."""

        formfield_callback = field_for

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.job = job
        for field in self.fields.values():
            if isinstance(field, ShownBackField):
                field.of_job(job)
            elif isinstance(field, forms.ModelChoiceField) and _is_of_a_job(field.queryset.model):
                field.queryset = field.queryset.filter(job=job)
            call_empty_choice(field)
        self.initial["version"] = self.instance.version
        self.initial["opened_with"] = self.opened_texts()

    def people_write(self) -> list[str]:
        """Names of the fields that a person can write in."""
        hidden = ("version", "opened_with")
        return [name for name, field in self.fields.items() if name not in hidden and not field.disabled]

    def details(self) -> dict[str, Any]:
        """What the verb that saves the record takes besides it."""
        return {}

    def opened_texts(self) -> str:
        """What each field shows, for the hidden field that tells two editors apart."""
        return json.dumps(self.shown_texts())

    def shown_texts(self) -> dict[str, str]:
        """What each field shows of the record as it was read, as a browser would send it back."""
        return {
            name: plain_text(
                self.fields[name].prepare_value(self.get_initial_for_field(self.fields[name], name))
            )
            for name in self.people_write()
        }

    def typed_texts(self) -> dict[str, str]:
        """What came back in each field."""
        return {name: plain_text(self[name].data) for name in self.people_write()}

    def grouped(self) -> list[Group]:
        """Headings and fields, as the page shows them."""
        groups = self.groups or (("", tuple(self.people_write())),)
        return [
            Group(title, [self[name] for name in names if name in self.fields], title in self.folded)
            for title, names in groups
        ]

    def clean(self) -> dict[str, Any]:
        """Leave alone what came back as it was shown."""
        cleaned = super().clean() or self.cleaned_data
        for name in self.people_write():
            field = self.fields[name]
            if isinstance(field, ShownBackField) and not self.instance._state.adding:
                stored = self.get_initial_for_field(field, name)
                if stored is not None and not field.has_changed(stored, self[name].data):
                    cleaned[name] = stored
        return cleaned

    def _get_validation_exclusions(self) -> set[str]:
        # Django leaves out the constraints of columns that have no field; these are set all the same.
        return super()._get_validation_exclusions() - set(self.filled_in)

    def add_error(self, field: str | None, error: Any) -> None:
        """Put what a record's own rules refuse beside the field that they name."""
        if field is not None or not isinstance(error, ValidationError):
            super().add_error(field, error)
            return
        told = error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.error_list}
        for name, errors in told.items():
            for one in errors:
                place, words = self._placed(name, " ".join(one.messages))
                super().add_error(place, ValidationError(words, code=one.code))

    def _placed(self, name: str, words: str) -> tuple[str | None, str]:
        """Field and words of an error that may begin with a column's name and a colon."""
        start, colon, rest = words.partition(": ")
        if colon and (start in self.fields or start == name):
            name, words = start, rest[:1].upper() + rest[1:]
        for other in self.people_write():
            if "_" in other:  # a name of one word may be just that word
                words = re.sub(rf"\b{other}\b", f"\u201c{self[other].label}\u201d", words)
        return (name if name in self.fields else None), words


def call_empty_choice(field: forms.Field) -> None:
    """Words for no choice, in the place of Django's dashes."""
    words = "choose" if field.required else "none"
    if isinstance(field, forms.ModelChoiceField):
        field.empty_label = words
    elif isinstance(field, forms.ChoiceField) and field.choices and field.choices[0] == BLANK_CHOICE_DASH[0]:
        field.choices = [("", words), *field.choices[1:]]


def plain_text(value: Any) -> str:
    """A field's value as text that two requests have alike."""
    return "" if value is None else str(value).replace("\r\n", "\n").strip()


def _is_of_a_job(model: type[models.Model]) -> bool:
    return issubclass(model, Retirable) and any(column.name == "job" for column in model._meta.fields)
