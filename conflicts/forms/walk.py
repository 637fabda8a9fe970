"""The form of a walk along a bore: three questions, none of them answered beforehand."""

from typing import Any, ClassVar

from django import forms

from conflicts.models import DailyWalk
from locates.forms.photos_field import PhotosMixin

YES_OR_NO = (("yes", "Yes"), ("no", "No"))


class YesOrNoField(forms.TypedChoiceField):
    """A question that has to be answered."""

    widget = forms.RadioSelect

    def __init__(self, **kwargs: Any) -> None:
        unanswered = {"required": "Answer yes or no.", "invalid_choice": "Answer yes or no."}
        super().__init__(
            choices=YES_OR_NO, coerce=lambda text: text == "yes", error_messages=unanswered, **kwargs
        )


class WalkForm(PhotosMixin, forms.ModelForm):
    """What somebody saw who walked along the bore just now, with photos of it."""

    marks_intact = YesOrNoField(label="Are all marks intact?")
    device_checked = YesOrNoField(label="Is the locating device checked today?")
    holes_open = YesOrNoField(label="Are the test holes open?")

    class Meta:
        """What a person answers."""

        model = DailyWalk
        fields = ("marks_intact", "device_checked", "device", "holes_open", "remarks")
        labels: ClassVar = {"device": "Which device"}
        help_texts: ClassVar = {
            "device": "Its name or number, needed with a yes.",
            "remarks": "What is not as it should be, and where.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["device"].widget.attrs |= {"list": "devices", "autocomplete": "off"}
        self.fields["device"].needs_words = True
        self.fields["remarks"].widget.attrs["rows"] = 3

    def questions(self) -> list[forms.BoundField]:
        """The three questions."""
        return [self[name] for name, field in self.fields.items() if isinstance(field, YesOrNoField)]

    def clean(self) -> dict[str, Any]:
        """Refuse a checked device without a name beside the field; sign for the photos by their digests."""
        cleaned = super().clean() or self.cleaned_data
        self.instance.photo_sha256s = sorted(photo.sha256 for photo in cleaned.get("photos", ()))
        if cleaned.get("device_checked") and not cleaned.get("device"):
            self.add_error("device", "Name the device that was checked.")
        return cleaned
