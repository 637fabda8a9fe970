"""The form of a mark."""

from typing import ClassVar

from locates.forms.placed_form import PlacedForm
from locates.models import Mark


class MarkForm(PlacedForm):
    """A painted line, or a painted point."""

    shape_field = "geometry"
    draws = ("line", "point")
    error_field = "horizontal_accuracy_m"
    is_paint = True
    groups = (("The mark", ("ref", "operator", "facility_type", "marked_at", "ticket", "is_intact")),)
    later = (
        ("", ("horizontal_accuracy_m", "located_by")),
        ("What is stated of the line", ("stated_width_m", "stated_height_m", "stated_depth_m")),
        ("Painted again", ("re_marked_at",)),
    )

    class Meta(PlacedForm.Meta):
        """What a person writes of a mark."""

        model = Mark
        fields = (
            "ref",
            "operator",
            "facility_type",
            "marked_at",
            "ticket",
            "is_intact",
            "geometry",
            "horizontal_accuracy_m",
            "located_by",
            "stated_width_m",
            "stated_height_m",
            "stated_depth_m",
            "re_marked_at",
        )
        labels: ClassVar = {
            "marked_at": "Marked",
            "is_intact": "Still there",
            "geometry": "Positions of the paint",
            "horizontal_accuracy_m": "How far the place may be off",
            "stated_depth_m": "Stated depth (hearsay)",
            "re_marked_at": "Painted again",
        }
        help_texts: ClassVar = {
            "ref": "What is written beside it, or a number of your own.",
            "horizontal_accuracy_m": "Empty: the tolerance zone, as paint promises no better.",
            "stated_width_m": "Outside diameter, or width of a duct bank.",
            "stated_height_m": "Of a duct bank.",
            "stated_depth_m": "From records or an instrument. It never makes a crossing clear.",
            "re_marked_at": "A test hole older than this is doubtful.",
        }
