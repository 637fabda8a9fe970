"""What to write of a job, in which format and coordinate system."""

from django import forms

from locates.exchange.coordinate_systems import WGS_84_CODE
from locates.exchange.vector_export import FORMATS
from locates.exchange.vector_kinds import KINDS


class ExportForm(forms.Form):
    """Kind, format and coordinate system."""

    kind = forms.ChoiceField(label="Records", choices=[(kind.name, kind.plural) for kind in KINDS.values()])
    format = forms.ChoiceField(label="Format", choices=[(name, one.label) for name, one in FORMATS.items()])
    epsg = forms.CharField(
        label="Coordinate system (EPSG code)",
        initial=str(WGS_84_CODE),
        max_length=20,
        help_text="4326 is longitude and latitude. GeoJSON, KML and GPX are always in it.",
    )
