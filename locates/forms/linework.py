"""The form of a piece of the map's base."""

from typing import Any, ClassVar

from django.contrib.gis.geos import GEOSGeometry, Polygon

from locates.exchange.typed_positions import write_positions
from locates.forms.placed_form import PlacedForm
from locates.forms.positions import PositionsField
from locates.models import Linework


class LineOrAreaField(PositionsField):
    """A line, or an area where the last position is the first again."""

    def shown(self, value: GEOSGeometry) -> str:
        """Positions line by line, the first of an area again at its end."""
        if isinstance(value, Polygon) and len(value) == 1:
            return write_positions([value.shell.coords])
        return super().shown(value)

    def read(self, text: str) -> GEOSGeometry:
        """The line, or the area that it closes about."""
        shape = super().read(text)
        if shape is not None and shape.geom_type == "LineString" and shape.coords[0] == shape.coords[-1]:
            return self.as_geojson.to_python(self.as_geojson.prepare_value(Polygon(shape.coords)))
        return shape


class LineworkForm(PlacedForm):
    """A curb, a building or another thing that the map is read by."""

    geometry = LineOrAreaField(
        label="Positions",
        help_text=(
            "A position a line, latitude first: 38.030125, -78.480310. Write the first again at the end to "
            "make it an area. GeoJSON is taken as well."
        ),
    )

    shape_field = "geometry"
    draws = ("line", "area")
    groups = (("What it is", ("feature_type", "label")),)

    class Meta(PlacedForm.Meta):
        """What a person writes of linework."""

        model = Linework
        fields = ("feature_type", "label", "geometry")
        labels: ClassVar = {"feature_type": "What it is"}
        help_texts: ClassVar = {"label": "Such as the number of the house."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["label"].required = False
