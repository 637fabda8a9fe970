"""The form of a test hole, filled in by thumb beside the hole."""

from typing import Any, ClassVar

from django import forms

from locates.forms.placed_form import PlacedForm
from locates.models import TestHole

FOUND = (("yes", "found a line"), ("no", "found nothing"))


class FoundField(forms.TypedChoiceField):
    """What the hole showed: which other fields are needed depends on it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            choices=FOUND,
            coerce=lambda text: text == "yes",
            empty_value=None,
            widget=forms.RadioSelect,
            **kwargs,
        )

    def prepare_value(self, value: Any) -> Any:
        """The stored answer as one of the choices."""
        return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


class TestHoleForm(PlacedForm):
    """What a hole found, how deep, where."""

    __test__ = False  # not a test class, whatever its name says to pytest

    found = FoundField(label="The hole")

    shape_field = "position"
    draws = ("point",)
    error_field = "error_m"
    depends = ("depth_to_top_m", "dug_depth_m")
    groups = (("What it found", ("found", "mark", "depth_to_top_m", "outside_width_m", "dug_depth_m")),)
    later = (
        ("", ("ref", "error_m", "measured_at", "measured_by", "measured_how", "is_open")),
        (
            "Duct bank, material, ground and ticket",
            ("outside_height_m", "material", "ground_elevation_m", "ticket"),
        ),
    )

    class Meta(PlacedForm.Meta):
        """What a person writes of a test hole."""

        model = TestHole
        fields = (
            "ref",
            "mark",
            "found",
            "depth_to_top_m",
            "dug_depth_m",
            "outside_width_m",
            "outside_height_m",
            "position",
            "error_m",
            "measured_at",
            "measured_by",
            "measured_how",
            "is_open",
            "material",
            "ground_elevation_m",
            "ticket",
        )
        labels: ClassVar = {
            "mark": "On the mark",
            "depth_to_top_m": "Depth to the top of the line",
            "dug_depth_m": "Depth dug",
            "outside_width_m": "Outside size",
            "outside_height_m": "Outside height",
            "ground_elevation_m": "Ground elevation",
            "position": "Position of the hole",
            "error_m": "Measured to within",
            "measured_at": "Measured",
            "is_open": "Open, not restored",
        }
        help_texts: ClassVar = {
            "mark": "None: nobody has marked the line. That holds the bore until it is settled.",
            "depth_to_top_m": "From the ground straight above. Needed where it found a line.",
            "dug_depth_m": "To the bottom of the hole. Needed where it found nothing.",
            "outside_width_m": "Diameter as measured with caliper or tape, or width of a duct bank.",
            "outside_height_m": "Of a duct bank.",
            "error_m": (
                "In plan and in depth. Empty: the job's allowance. A phone's position is good to metres and "
                "clears no crossing: measure station and offset by tape, or survey."
            ),
            "measured_how": "Such as: tape from the ground.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["mark"].empty_label = "no mark"
        for name in ("depth_to_top_m", "outside_width_m"):
            self.fields[name].widget.attrs["data-if-found"] = "yes"
            # Lets the style sheet tell a box with something in it, which stays in sight, from an empty one.
            self.fields[name].widget.attrs["placeholder"] = " "
