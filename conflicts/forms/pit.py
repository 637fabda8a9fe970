"""The form of a pit at an end of a bore."""

from typing import Any, ClassVar

from conflicts.desk.pit_at_end import pit_at_end
from conflicts.exchange.record_beside import pit_faults_beside
from conflicts.models import Pit
from locates.errors import JobFileError
from locates.forms.placed_form import PlacedForm
from locates.forms.record_form import plain_text
from locates.forms.shown_back import LengthField
from locates.units import format_length

LARGEST_SIDE_M = 50.0  # a longer pit is a slip of the unit; its corners can still be drawn or typed


class PitForm(PlacedForm):
    """A pit: its corners, or its length and width at the end of the bore."""

    pit_length_m = LengthField(
        required=False,
        label="Length, along the bore",
        help_text="It begins at the end of the bore and goes on away from it.",
    )
    pit_width_m = LengthField(required=False, label="Width", help_text="Half to each side of the bore.")

    shape_field = "area"
    draws = ("area",)
    takes_stations = False
    takes_phone = False  # a phone's error is as large as a pit
    otherwise = "pit_length_m"
    way_fields = ("pit_length_m", "pit_width_m")
    filled_in = ("bore",)
    groups = (("The pit", ("end", "depth_m")),)

    class Meta(PlacedForm.Meta):
        """What a person writes of a pit."""

        model = Pit
        fields = ("end", "depth_m", "area")
        labels: ClassVar = {"end": "At the bore's", "depth_m": "Depth", "area": "Corners of the pit"}
        help_texts: ClassVar = {
            "area": "A corner a line, latitude first: 38.030125, -78.480310. GeoJSON is taken as well."
        }

    def is_placed_otherwise(self, cleaned: dict[str, Any]) -> bool:
        """Whether a length or a width is written."""
        return any(plain_text(self[name].data) for name in ("pit_length_m", "pit_width_m"))

    def place_otherwise(self, cleaned: dict[str, Any]) -> None:
        """Put the rectangle of this length and width at the end of the bore."""
        sides_m = {name: cleaned.get(name) for name in ("pit_length_m", "pit_width_m")}
        for name, side_m in sides_m.items():
            if name not in self.errors and (side_m is None or not 0 < side_m <= LARGEST_SIDE_M):
                most = format_length(LARGEST_SIDE_M, self.job.show_units)
                self.add_error(name, f"Accepted is a length above 0, at most {most}.")
        if "end" in self.errors or sides_m.keys() & self.errors.keys():
            return
        area = pit_at_end(self.instance.bore, cleaned["end"], *sides_m.values())
        shape = self.fields[self.shape_field]
        cleaned[self.shape_field] = shape.read(shape.prepare_value(area))

    def faults(self) -> list[JobFileError]:
        """What the job file's rules say of the pit as it is typed."""
        return pit_faults_beside(self.instance)

    def _ways(self) -> str:
        return "Say where it is: write length and width, type its corners, or draw it on the map."
