"""The form of a surface feature."""

from typing import Any, ClassVar

from locates.forms.placed_form import PlacedForm
from locates.models import SurfaceFeature


class SurfaceFeatureForm(PlacedForm):
    """A valve, a manhole or another thing that tells of a buried line."""

    shape_field = "position"
    draws = ("point",)
    error_field = "error_m"
    groups = (("The feature", ("ref", "feature_type", "facility_type", "seen_at")),)
    later = (
        ("", ("error_m",)),
        ("Explained or signed off", ("explained_by_mark", "signed_off_reason")),
    )

    class Meta(PlacedForm.Meta):
        """What a person writes of a surface feature."""

        model = SurfaceFeature
        fields = (
            "ref",
            "feature_type",
            "facility_type",
            "seen_at",
            "position",
            "error_m",
            "explained_by_mark",
            "signed_off_reason",
        )
        labels: ClassVar = {
            "feature_type": "What it is",
            "facility_type": "Of what kind of line",
            "seen_at": "Seen",
            "position": "Position of the feature",
            "error_m": "How far the place may be off",
            "explained_by_mark": "Explained by the mark",
            "signed_off_reason": "Or signed off, because",
        }
        help_texts: ClassVar = {
            "error_m": "Empty: unknown.",
            "explained_by_mark": "A mark of the same facility type that leads to it.",
            "signed_off_reason": "Who looked, when, and why no line of the bore's path can belong to it.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["explained_by_mark"].empty_label = "no mark yet"
