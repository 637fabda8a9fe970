"""The form of a planned bore: its alignment, its profile as a table, its diameters, its rig and its times."""

import re
from typing import Any, ClassVar

from django.forms import BoundField, ChoiceField, RadioSelect

from conflicts.alignment import alignment_length_m
from conflicts.exchange.record_beside import bore_faults_beside
from conflicts.forms.rod_table import CellError, Joint, RodTableField, StoredRods
from conflicts.forms.station_table import Line, StationTableField, Stored, Vertex
from conflicts.models import Bore
from locates.errors import JobFileError
from locates.forms.file_rules import for_people
from locates.forms.placed_form import PlacedForm

_VERTEX = re.compile(r"(?P<start>properties\.(?P<table>profile|ground)(?:\.vertices)?)\[(?P<place>\d+)\]")
_JOINT = re.compile(r"properties\.rods\.joints(?:\[(?P<place>\d+)\](?:\.(?P<part>length|pitch|heading))?)?")
BY_VERTICES, BY_RODS = "vertices", "rods"
PLAN_BY = ((BY_VERTICES, "vertices of its profile"), (BY_RODS, "rod by rod"))
LEAST_JOINTS = 2


class PlannedBoreForm(PlacedForm):
    """A bore planned by vertices of its profile or rod by rod: which of the two counts is chosen."""

    plan_by = ChoiceField(label="Planned by", choices=PLAN_BY, widget=RadioSelect)
    rods = RodTableField(
        label="Rods",
        required=False,
        strip=False,
        help_text=(
            "A line a joint, from the entry on. Length: from the joint before, 0 ft at the first. Pitch: "
            "such as -12.5 % or -7.1 deg, down is negative. Heading: degrees clockwise from true north; "
            "empty follows the alignment."
        ),
    )
    profile = StationTableField(
        has_end=True,
        label="Profile",
        help_text=(
            "The centre of the hole: from 0 at the entry to “end”, the end of the alignment, straight in "
            "between. The lines may come in any order; an empty one is none. A rough one will do to begin "
            "with: “Plan the profile” on the bore's page searches for one that clears the lines."
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
    members: ClassVar = {"": "profile"}
    depends = ("profile_by", "rods_entry_elevation_m", "plan_by")
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
                "bit_lead_m",
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
            "rods_entry_elevation_m",
            "planned_start_at",
            "planned_finish_at",
            "rod_length_m",
            "bend_radius_m",
            "entry_pitch_ratio_min",
            "entry_pitch_ratio_max",
            "exit_pitch_ratio_min",
            "exit_pitch_ratio_max",
            "minimum_cover_m",
            "bit_lead_m",
        )
        labels: ClassVar = {
            "final_diameter_m": "Final hole, diameter",
            "pilot_diameter_m": "Pilot hole, diameter",
            "product": "What is pulled in",
            "alignment": "Positions of the alignment, entry first",
            "profile_by": "The lines give",
            "rods_entry_elevation_m": "Elevation at the entry",
            "rod_length_m": "Rod length",
            "bend_radius_m": "Least bend radius",
            "entry_pitch_ratio_min": "Least pitch at entry",
            "entry_pitch_ratio_max": "Greatest pitch at entry",
            "exit_pitch_ratio_min": "Least pitch at exit",
            "exit_pitch_ratio_max": "Greatest pitch at exit",
            "minimum_cover_m": "Minimum cover",
            "bit_lead_m": "From the antenna to the bit",
        }
        help_texts: ClassVar = {
            "name": "As the crew calls it.",
            "final_diameter_m": "After back-reaming: the hole that counts.",
            "product": "Such as: two 2 in conduits.",
            "entry_pitch_ratio_min": "In percent; down is negative. Two without a minus are both down.",
            "bit_lead_m": "The head is located at its antenna. Empty: 3 ft counts while drilling.",
            "profile_by": "Depth below the ground, or elevation from the job's datum.",
            "rods_entry_elevation_m": "Of the hole's centre at the first joint, from the job's datum.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        bore = self.instance
        self.fields["profile_by"].required = False
        self.initial["profile"] = Stored(
            bore.profile_stations_m, bore.profile_values_m, bore.alignment_length_m
        )
        self.initial["rods"] = StoredRods(bore.rod_lengths_m, bore.rod_pitches_ratio, bore.rod_headings_rad)
        self.initial["plan_by"] = BY_RODS if bore.rod_lengths_m else BY_VERTICES
        self.cell_errors: list[CellError] = []
        self.initial["ground"] = Stored(bore.ground_stations_m, bore.ground_elevations_m, None)
        self.initial["opened_with"] = self.opened_texts()

    def tables(self) -> dict[str, list[Line]]:
        """Lines of both tables, as the page shows them."""
        return {name: self._lines(self[name]) for name in ("profile", "ground")}

    def joints(self) -> list[Joint]:
        """Lines of the rods, as the page shows them."""
        return self.fields["rods"].lines_of(plain_text_of_table(self["rods"]), self.cell_errors)

    def rods_errors(self) -> list[str]:
        """What is wrong with the rods as a whole: the rest stands beside its box."""
        beside = {str(error) for error in self.cell_errors}
        return [words for words in self["rods"].errors if words not in beside]

    def clean(self) -> dict[str, Any]:
        """Measure the alignment, and read the tables along it."""
        cleaned = super().clean()
        bore, alignment = self.instance, cleaned.get("alignment")
        length_m = None
        if alignment is not None:
            length_m = alignment_length_m(alignment.coords, self.job.mean_height_m)
        is_by_rods = cleaned.get("plan_by") == BY_RODS
        tables = ("ground",) if is_by_rods else ("ground", "profile")
        self.vertices = {name: self._read(name, length_m) for name in tables}
        ground, profile = self.vertices["ground"], self.vertices.get("profile", [])
        bore.ground_stations_m = [vertex.station_m for vertex in ground]
        bore.ground_elevations_m = [vertex.value_m for vertex in ground]
        bore.profile_stations_m = [vertex.station_m for vertex in profile]
        bore.profile_values_m = [vertex.value_m for vertex in profile]
        bore.alignment_length_m = length_m
        if is_by_rods:
            cleaned["profile_by"] = ""
            self._read_rods(cleaned)
        else:
            self._leave_rods(cleaned)
            if not profile:
                cleaned["profile_by"] = ""
            elif not cleaned.get("profile_by"):
                self.add_error("profile_by", "Choose what the lines give beside the station.")
        return cleaned

    def faults(self) -> list[JobFileError]:
        """What the job file's rules say of the bore as it is typed."""
        faults = bore_faults_beside(self.instance)
        of_rods = [fault for fault in faults if fault.field.startswith("properties.rods")]
        for fault in of_rods:
            self._tell_of_rods(fault)
        return [self._by_typed_line(fault) for fault in faults if fault not in of_rods]

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

    def _read_rods(self, cleaned: dict[str, Any]) -> None:
        """Put the joints in place of a profile, with what is wrong beside each box."""
        bore = self.instance
        text = plain_text_of_table(self["rods"])
        joints, errors = self.fields["rods"].joints_of(text, self.initial["rods"])
        for error in errors:
            self._tell_of_cell(error)
        if len(joints) < LEAST_JOINTS:
            self.add_error(
                "rods", f"Write {LEAST_JOINTS} joints or more: the entry, and the end of each rod."
            )
        if cleaned.get("rods_entry_elevation_m") is None and "rods_entry_elevation_m" not in self.errors:
            self.add_error("rods_entry_elevation_m", "Write how high the hole begins, from the job's datum.")
        bore.rod_lengths_m = [length_m for length_m, _, _ in joints]
        bore.rod_pitches_ratio = [pitch_ratio for _, pitch_ratio, _ in joints]
        bore.rod_headings_rad = [heading_rad for _, _, heading_rad in joints]

    def _leave_rods(self, cleaned: dict[str, Any]) -> None:
        bore = self.instance
        self.errors.pop("rods_entry_elevation_m", None)
        cleaned["rods_entry_elevation_m"] = None
        bore.rod_lengths_m, bore.rod_pitches_ratio, bore.rod_headings_rad = [], [], []

    def _tell_of_rods(self, fault: JobFileError) -> None:
        """A fault of the rods, beside its box where it has one."""
        match, words = _JOINT.match(fault.field), for_people(fault, self.job.show_units)
        if match and match["part"]:
            self._tell_of_cell(CellError(int(match["place"]), match["part"], words))
        else:
            is_height = fault.field.endswith("entry_elevation_m")
            self.add_error("rods_entry_elevation_m" if is_height else "rods", words)

    def _tell_of_cell(self, error: CellError) -> None:
        self.cell_errors.append(error)
        self.add_error("rods", str(error))


def plain_text_of_table(field: BoundField) -> str:
    """The text of a table as it was typed or is stored, its first station never taken for a blank."""
    return str(field.value() or "").replace("\r\n", "\n")
