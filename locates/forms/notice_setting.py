"""A person's choices of how to be told."""

from typing import Any

from django import forms

from locates.forms.time_zones import time_zone_choices
from locates.models import NoticeSetting

_NOON = 12


def _hours() -> list[tuple[int, str]]:
    return [(hour, f"{hour % _NOON or _NOON}:00 {'am' if hour < _NOON else 'pm'}") for hour in range(24)]


class NoticeSettingForm(forms.ModelForm):
    """Where the mail goes, which mail, and the hour of the digest."""

    email = forms.EmailField(
        label="Mail address",
        required=False,
        help_text="Where mail to you goes. Without one you find your notices here alone.",
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    digest_hour = forms.TypedChoiceField(label="Hour of the digest", choices=_hours, coerce=int)
    time_zone = forms.ChoiceField(
        label="Time zone of that hour",
        required=False,
        choices=lambda: [("", "that of the job followed first"), *time_zone_choices()],
    )

    class Meta:
        """What a person may choose."""

        model = NoticeSetting
        fields = ("email", "alerts_by_mail", "digest_by_mail", "digest_hour", "time_zone")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["email"].initial = self.instance.person.email

    def save(self, commit: bool = True) -> NoticeSetting:
        """Save the choices, and the address with the person."""
        setting = super().save(commit=commit)
        person = setting.person
        if person.email != self.cleaned_data["email"]:
            person.email = self.cleaned_data["email"]
            person.save(update_fields=["email"])
        return setting
