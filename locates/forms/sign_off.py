"""The form that explains a surface feature, or signs it off with a reason."""

from typing import Any, ClassVar

from locates.forms.record_form import RecordForm
from locates.models import SurfaceFeature


class SignOffForm(RecordForm):
    """Which mark explains the feature, or why none has to."""

    class Meta(RecordForm.Meta):
        """What a person writes to settle a feature."""

        model = SurfaceFeature
        fields = ("explained_by_mark", "signed_off_reason")
        labels: ClassVar = {
            "explained_by_mark": "Explained by the mark",
            "signed_off_reason": "Or signed off, because",
        }
        help_texts: ClassVar = {
            "explained_by_mark": "A mark of the same facility type that leads to it.",
            "signed_off_reason": "Who looked, when, and why no line of the bore's path can belong to it.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["explained_by_mark"].empty_label = "no mark"
        self.fields["signed_off_reason"].widget.attrs["rows"] = 3
