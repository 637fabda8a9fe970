"""The form of a planned bore: its alignment, its profile as a table, its diameters, its rig and its times."""

import re
from typing import Any, ClassVar

from django.forms import BoundField

from conflicts.alignment import alignment_length_m
from conflicts.exchange.record_beside import bore_faults_beside
from conflicts.forms.station_table import Line, StationTableField, Stored, Vertex
from conflicts.models import Bore
from locates.errors import JobFileError
from locates.forms.placed_form import PlacedForm

_VERTEX = re.compile(r"(?P<start>properties\.(?P<table>profile|ground)(?:\.vertices)?)\[(?P<place>\d+)\]")


class PlannedBoreForm(PlacedForm):
    """A bore whose profile is given by vertices; one that is planned rod by rod keeps its rods meanwhile."""

    profile = StationTableField(
        has_end=True,
        label="Profile",
        help_text=(
            "The centre of the hole: from 0 at the entry to “end”, the end of the alignment, straight in "
            "between. The lines may come in any order; an empty one is none."
        ),
    )
    ground = StationTableField(
        label="Ground along the bore",
        help_text=(
            "Elevations from the job's datum. Empty: as the ground points near the bore say, else flat at 0."
        ),
    )

    shape_field = "alignment"
    draws = ("line",)
    takes_stations = False
    takes_phone = False  # the bore's allowances leave no room for a phone's error
    members: ClassVar = {"": "profile", "rods": "profile"}
    depends = ("profile_by",)
    groups = (("The bore", ("name", "final_diameter_m", "pilot_diameter_m", "product")),)
    later = (
        ("", ("planned_start_at", "planned_finish_at")),
        (
            "The rig",
            (
                "rod_length_m",
                "bend_radius_m",
                "entry_pitch_ratio_min",
                "entry_pitch_ratio_max",
                "exit_pitch_ratio_min",
                "exit_pitch_ratio_max",
                "minimum_cover_m",
            ),
        ),
    )

    class Meta(PlacedForm.Meta):
        """What a person writes of a bore."""

        model = Bore
        fields = (
            "name",
            "final_diameter_m",
            "pilot_diameter_m",
            "product",
            "alignment",
            "profile_by",
            "planned_start_at",
            "planned_finish_at",
            "rod_length_m",
            "bend_radius_m",
            "entry_pitch_ratio_min",
            "entry_pitch_ratio_max",
            "exit_pitch_ratio_min",
            "exit_pitch_ratio_max",
            "minimum_cover_m",
        )
        labels: ClassVar = {
            "final_diameter_m": "Final hole, diameter",
            "pilot_diameter_m": "Pilot hole, diameter",
            "product": "What is pulled in",
            "alignment": "Positions of the alignment, entry first",
            "profile_by": "The lines give",
            "rod_length_m": "Rod length",
            "bend_radius_m": "Least bend radius",
            "entry_pitch_ratio_min": "Least pitch at entry",
            "entry_pitch_ratio_max": "Greatest pitch at entry",
            "exit_pitch_ratio_min": "Least pitch at exit",
            "exit_pitch_ratio_max": "Greatest pitch at exit",
            "minimum_cover_m": "Minimum cover",
        }
        help_texts: ClassVar = {
            "name": "As the crew calls it.",
            "final_diameter_m": "After back-reaming: the hole that counts.",
            "product": "Such as: two 2 in conduits.",
            "entry_pitch_ratio_min": "In percent; down is negative.",
            "profile_by": "Depth below the ground, or elevation from the job's datum.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bore = self.instance
        self.fields["profile_by"].required = False
        self.initial["profile"] = Stored(
            bore.profile_stations_m, bore.profile_values_m, bore.alignment_length_m
        )
        self.initial["ground"] = Stored(bore.ground_stations_m, bore.ground_elevations_m, None)
        self.initial["opened_with"] = self.opened_texts()

    @property
    def rods(self) -> int:
        """How many joints the bore has, where it is planned rod by rod."""
        return len(self.instance.rod_lengths_m)

    def tables(self) -> dict[str, list[Line]]:
        """Lines of both tables, as the page shows them."""
        return {name: self._lines(self[name]) for name in ("profile", "ground")}

    def clean(self) -> dict[str, Any]:
        """Measure the alignment, and read the tables along it."""
        cleaned = super().clean()
        bore, alignment = self.instance, cleaned.get("alignment")
        length_m = None
        if alignment is not None:
            length_m = alignment_length_m(alignment.coords, self.job.mean_height_m)
        self.vertices = {name: self._read(name, length_m) for name in ("ground", "profile")}
        ground, profile = self.vertices["ground"], self.vertices["profile"]
        bore.ground_stations_m = [vertex.station_m for vertex in ground]
        bore.ground_elevations_m = [vertex.value_m for vertex in ground]
        bore.profile_stations_m = [vertex.station_m for vertex in profile]
        bore.profile_values_m = [vertex.value_m for vertex in profile]
        bore.alignment_length_m = length_m
        if profile:
            self._put_in_place_of_rods()
            if not cleaned.get("profile_by"):
                self.add_error("profile_by", "Choose what the lines give beside the station.")
        else:
            cleaned["profile_by"] = ""
        return cleaned

    def faults(self) -> list[JobFileError]:
        """What the job file's rules say of the bore as it is typed."""
        return [self._by_typed_line(fault) for fault in bore_faults_beside(self.instance)]

    def _lines(self, field: BoundField) -> list[Line]:
        return field.field.lines_of(plain_text_of_table(field))

    def _read(self, name: str, length_m: float | None) -> list[Vertex]:
        field = self.fields[name]
        vertices, errors = field.vertices_of(self[name].data or "", self.initial[name], length_m)
        for words in errors:
            self.add_error(name, words)
        return vertices

    def _by_typed_line(self, fault: JobFileError) -> JobFileError:
        """A fault of a vertex, told by the line in which it was typed."""
        match = _VERTEX.match(fault.field)
        if match is None:
            return fault
        typed_at = self.vertices[match["table"]][int(match["place"])].typed_at
        field = f"{match['start']}[{typed_at}]{fault.field[match.end() :]}"
        return JobFileError(found=fault.found, accepted=fault.accepted, field=field, feature=fault.feature)

    def _put_in_place_of_rods(self) -> None:
        bore = self.instance
        bore.rods_entry_elevation_m = None
        bore.rod_lengths_m, bore.rod_pitches_ratio, bore.rod_headings_rad = [], [], []


def plain_text_of_table(field: BoundField) -> str:
    """The text of a table as it was typed or is stored, its first station never taken for a blank."""
    return str(field.value() or "").replace("\r\n", "\n")
