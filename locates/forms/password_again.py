"""The password once more, on a form that signs something."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.core.exceptions import ValidationError
from django.http import HttpRequest

from locates.lockout import lockout_ends_at, minutes_until


class PasswordAgainMixin:
    """A last field for the password of whoever is logged in; put it before the form's own class.

    It is checked as a login is, by every backend and throttle of the site. A wrong one is said beside the
    field; what else was typed stays, the password never comes back. The form takes the request.
    """

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.fields["password"] = forms.CharField(
            label="Your password again",
            help_text=f"Signed as {request.user.get_username()}.",
            strip=False,
            widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        )

    def clean_password(self) -> str:
        """Refuse any password but that of the person who is logged in."""
        password = self.cleaned_data["password"]
        person = self.request.user
        found = authenticate(self.request, username=person.get_username(), password=password)
        if getattr(self.request, "axes_locked_out", False):
            raise ValidationError(
                "Too many wrong passwords in a row. Nothing was signed, and all else that you wrote is still "
                f"here: try again in {minutes_until(lockout_ends_at(self.request))} minutes.",
                code="locked_out",
            )
        if found is None or found.pk != person.pk:
            raise ValidationError(
                f"This is not the password of {person.get_username()}. Nothing was signed; all else that you "
                "wrote is still here.",
                code="wrong_password",
            )
        return password
