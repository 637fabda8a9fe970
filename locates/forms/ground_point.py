"""The form of a surveyed point of the ground."""

from typing import ClassVar

from locates.forms.placed_form import PlacedForm
from locates.models import GroundPoint


class GroundPointForm(PlacedForm):
    """How high the ground is at a place."""

    shape_field = "position"
    draws = ("point",)
    takes_phone = False  # a phone knows neither the place nor the height well enough to survey the ground
    groups = (("The ground", ("elevation_m",)),)

    class Meta(PlacedForm.Meta):
        """What a person writes of the ground."""

        model = GroundPoint
        fields = ("elevation_m", "position")
        labels: ClassVar = {"position": "Position of the point"}
        help_texts: ClassVar = {"elevation_m": "From the job's datum."}
