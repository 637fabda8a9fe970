"""Fields that take what people write and show a stored value back in the job's units and time zone."""

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from locates.errors import GradeError, LengthError, LocatesError, MomentError
from locates.local_time import parse_local, write_local
from locates.models import Job
from locates.units import format_grade, format_length, parse_grade_ratio, parse_length_m, with_unit


class ShownBackField(forms.CharField):
    """A text that stands for a value of which it shows less than is stored.

    What comes back as it was shown is the stored value to the last digit: `RecordForm` sees to that.
    """

    refused_as: type[LocatesError]

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.empty_value = None
        self.show_units: str = "feet"
        self.time_zone = "UTC"

    def of_job(self, job: Job) -> None:
        """Show and read as the job does."""
        self.show_units = job.show_units
        self.time_zone = job.time_zone or "UTC"

    def shown(self, value: Any) -> str:
        """The stored value as text."""
        raise NotImplementedError

    def read(self, text: str) -> Any:
        """The value that a text stands for; raises ``refused_as``."""
        raise NotImplementedError

    def prepare_value(self, value: Any) -> Any:
        """A stored value as it is shown; what was typed as it was typed."""
        return value if value is None or isinstance(value, str) else self.shown(value)

    def to_python(self, value: Any) -> Any:
        """The value that was written, or None."""
        text = super().to_python(value)
        if text is None:
            return None
        try:
            return self.read(text)
        except self.refused_as as error:
            raise ValidationError(str(error)) from error

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether other text came back than was shown."""
        return (self.prepare_value(initial) or "") != (data or "").strip()

    def run_validators(self, value: Any) -> None:
        """The value is none of text, so that text's own validators have nothing to say."""


class LengthField(ShownBackField):
    """A length with its unit, in whatever unit a person writes it.

    ``unit_beside`` is that of a bare number, where the form asks for it in a field of its own.
    """

    refused_as = LengthError
    unit_beside = ""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"autocomplete": "off", "autocapitalize": "none", "class": "short"}

    def shown(self, value: float) -> str:
        """In the job's units."""
        return format_length(value, self.show_units)

    def read(self, text: str) -> float:
        """In metres."""
        return parse_length_m(with_unit(text, self.unit_beside))


class GradeField(ShownBackField):
    """A ratio, written in percent."""

    refused_as = GradeError

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"autocomplete": "off", "class": "short"}

    def shown(self, value: float) -> str:
        """In percent."""
        return format_grade(value)

    def read(self, text: str) -> float:
        """As a ratio."""
        return parse_grade_ratio(text)


class MomentInput(forms.DateTimeInput):
    """The browser's own picker of a day and a time; a plain box where the text holds more than it takes."""

    input_type = "datetime-local"
    supports_microseconds = True  # else Django cuts them off what is stored before the form compares

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """Fall back to a box of text for a zone's abbreviation, or for an hour that comes twice."""
        context = super().get_context(name, value, attrs)
        if (value and "T" not in str(value)) or (attrs or {}).get("aria-invalid"):
            context["widget"]["type"] = "text"
        return context

    def format_value(self, value: Any) -> Any:
        """The text as it is."""
        return value


class MomentField(ShownBackField):
    """A day and a time in the job's zone."""

    refused_as = MomentError
    widget = MomentInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"autocomplete": "off", "class": "short"}

    def shown(self, value: datetime) -> str:
        """In the job's zone, to the minute."""
        return write_local(value, self.time_zone)

    def read(self, text: str) -> datetime:
        """In UTC."""
        return parse_local(text, self.time_zone)
