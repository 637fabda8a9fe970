"""What is asked of a profile, as the address holds it: nothing of it is stored."""

from dataclasses import replace
from typing import Any

from django import forms

from conflicts.inputs import RigInput
from conflicts.plan_ground import PlanGround
from conflicts.profile_demands import FARTHEST_BACK_M, ProfileWishes
from conflicts.profile_wishes import wishes_of
from locates.angles import parse_pitch_ratio
from locates.forms.record_form import Group
from locates.forms.shown_back import GradeField, LengthField, ShownBackField
from locates.models import Job
from locates.units import format_grade, format_length

SURFACE, AT_DEPTH = "surface", "depth"
EXITS = ((SURFACE, "at the surface"), (AT_DEPTH, "below the ground"))
# A slip of the unit is refused: wider than what any rig, rod or bore of this kind has, m.
MOST_M = {
    "rod_length_m": 30.0,
    "bend_radius_m": 2000.0,
    "minimum_cover_m": 30.0,
    "rig_back_m": FARTHEST_BACK_M,
    "rig_ahead_m": 1000.0,
    "entry_depth_least_m": 30.0,
    "entry_depth_greatest_m": 30.0,
    "exit_depth_least_m": 30.0,
    "exit_depth_greatest_m": 30.0,
    "greatest_depth_m": 60.0,
    "unexposed_down_to_m": 60.0,
    "enough_margin_m": 10.0,
}
ABOVE_0 = ("rod_length_m", "bend_radius_m", "greatest_depth_m")
PAIRS = (
    ("entry_depth_least_m", "entry_depth_greatest_m"),
    ("exit_depth_least_m", "exit_depth_greatest_m"),
    ("entry_pitch_ratio_min", "entry_pitch_ratio_max"),
    ("exit_pitch_ratio_min", "exit_pitch_ratio_max"),
)
ENTRY = (*PAIRS[0], *PAIRS[2], "rig_back_m", "rig_ahead_m")
RIG = (
    "rod_length_m",
    "bend_radius_m",
    "entry_pitch_ratio_min",
    "entry_pitch_ratio_max",
    "exit_pitch_ratio_min",
    "exit_pitch_ratio_max",
    "minimum_cover_m",
)


class PitchField(GradeField):
    """A pitch in percent or in degrees."""

    def read(self, text: str) -> float:
        """As a ratio."""
        return parse_pitch_ratio(text)


class ProfileSearchForm(forms.Form):
    """Where the rig stands, what it can do, where the bore ends, and what is wanted besides."""

    rig_back_m = LengthField(label="Rig may stand behind the recorded entry by", required=False)
    rig_ahead_m = LengthField(label="Or after it by", required=False)
    entry_depth_least_m = LengthField(label="Least depth at entry")
    entry_depth_greatest_m = LengthField(label="Greatest depth at entry")
    entry_pitch_ratio_min = PitchField(label="Least pitch at entry")
    entry_pitch_ratio_max = PitchField(label="Greatest pitch at entry")
    exits = forms.ChoiceField(label="The bore ends", choices=EXITS)
    exit_depth_least_m = LengthField(label="Least depth at the end", required=False)
    exit_depth_greatest_m = LengthField(label="Greatest depth at the end", required=False)
    exit_pitch_ratio_min = PitchField(label="Least pitch at the end")
    exit_pitch_ratio_max = PitchField(label="Greatest pitch at the end")
    rod_length_m = LengthField(label="Rod length")
    bend_radius_m = LengthField(label="Least bend radius")
    most_change_ratio = PitchField(label="Largest pitch change a rod", required=False)
    minimum_cover_m = LengthField(label="Least cover")
    steepest_pitch_ratio = PitchField(label="Steepest pitch anywhere", required=False)
    greatest_depth_m = LengthField(label="Greatest depth", required=False)
    unexposed_down_to_m = LengthField(label="No unexposed line lies deeper than", required=False)
    enough_margin_m = LengthField(label="Room that is enough", required=False)
    kept = forms.CharField(required=False, widget=forms.HiddenInput)

    groups = (
        ("Entry", ENTRY),
        ("End", ("exits", *PAIRS[1], *PAIRS[3])),
        ("Rods and cover", ("rod_length_m", "bend_radius_m", "most_change_ratio", "minimum_cover_m")),
    )
    besides = ("steepest_pitch_ratio", "greatest_depth_m", "unexposed_down_to_m", "enough_margin_m")

    def __init__(self, *args: Any, job: Job, ground: PlanGround, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.show_units = job.show_units
        self.ground = ground
        if ground.head is not None:
            # The profile begins at the bit: nothing of the entry is left to ask for.
            for name in ENTRY:
                del self.fields[name]
        for field in self.fields.values():
            if isinstance(field, ShownBackField):
                field.of_job(job)
        self.initial |= _initial(ground)
        self._say_what_is_meant()

    def _say_what_is_meant(self) -> None:
        units = self.show_units
        words = {
            "entry_depth_least_m": "Of the hole's centre, from the ground down.",
            "entry_pitch_ratio_min": (
                "In percent or degrees, such as -20 % or -11 deg; down is negative. Two without a minus are "
                "both down."
            ),
            "exits": "Below the ground: in a pit, or at the end of another bore.",
            "rig_back_m": f"In line with the first stretch, {format_length(FARTHEST_BACK_M, units)} at most.",
            "most_change_ratio": "Where less than the bend radius gives.",
            "minimum_cover_m": "From the hole's top to the ground.",
            "steepest_pitch_ratio": "Empty: as steep as the steeper end.",
            "unexposed_down_to_m": (
                "On your word: a line of unknown depth then blocks all above it. Empty: it blocks every "
                "depth. It stays unexposed all the same."
            ),
            "enough_margin_m": "Past it the shorter profile is the better one.",
        }
        for name, text in words.items():
            if name in self.fields:
                self.fields[name].help_text = text

    def shown_groups(self) -> list[Group]:
        """What is asked for, in order, the rest folded."""
        besides = [self[name] for name in self.besides]
        is_told = self.is_bound and any(
            field.field.has_changed(self.initial.get(field.name), field.data) for field in besides
        )
        return [
            *(
                Group(title, [self[name] for name in names], is_folded=False)
                for title, names in self.groups
                if names[0] in self.fields
            ),
            Group("More demands", besides, is_folded=not is_told),
        ]

    def clean(self) -> dict[str, Any]:
        """Take back what was shown to its last digit, and refuse what no bore has."""
        read = super().clean() or self.cleaned_data
        for name, field in self.fields.items():
            was = self.initial.get(name)
            if isinstance(field, ShownBackField) and was is not None and name in read:
                read[name] = read[name] if field.has_changed(was, self[name].data) else was
        for name, most_m in MOST_M.items():
            self._bound(read, name, most_m)
        if read.get("exits") == AT_DEPTH:
            for name in PAIRS[1]:
                if read.get(name) is None and name not in self.errors:
                    self.add_error(name, "Write how deep the bore ends, from the ground down.")
        for least, greatest in PAIRS:
            self._order(read, least, greatest)
        change, steepest = read.get("most_change_ratio"), read.get("steepest_pitch_ratio")
        if change is not None and not 0.0 < change <= 1.0:
            self.add_error("most_change_ratio", "Accepted is more than 0 %, and at most 100 %.")
        if steepest is not None and not 0.0 < abs(steepest) <= 1.0:
            self.add_error("steepest_pitch_ratio", "Accepted is more than 0 %, and at most 100 %.")
        return read

    def _bound(self, read: dict[str, Any], name: str, most_m: float) -> None:
        value, least_m = read.get(name), 0.0
        if value is None:
            return
        recorded = self.initial.get(name)
        if value == recorded and name not in ABOVE_0:
            return
        if not least_m <= value <= most_m or (name in ABOVE_0 and value == 0.0):
            least = "more than 0" if name in ABOVE_0 else "0 or more"
            most = format_length(most_m, self.show_units)
            found = format_length(value, self.show_units)
            self.add_error(name, f"Found {found}; accepted is {least}, and at most {most}.")

    def _order(self, read: dict[str, Any], least: str, greatest: str) -> None:
        low, high = read.get(least), read.get(greatest)
        if low is not None and high is not None and high < low:
            show = format_grade if "ratio" in least else lambda one: format_length(one, self.show_units)
            self.add_error(greatest, f"Accepted is the least, {show(low)}, or more.")

    def wishes(self) -> ProfileWishes:
        """What is asked for besides the rig's limits."""
        read = self.cleaned_data
        is_at_surface = read["exits"] == SURFACE
        is_at_bit = self.ground.head is not None
        return wishes_of(
            entry_depth_m=None
            if is_at_bit
            else (read["entry_depth_least_m"], read["entry_depth_greatest_m"]),
            exit_depth_m=(0.0, 0.0)
            if is_at_surface
            else (read["exit_depth_least_m"], read["exit_depth_greatest_m"]),
            most_change_ratio=read["most_change_ratio"],
            **{name: read.get(name) for name in ("rig_back_m", "rig_ahead_m", *self.besides)},
        )

    def rig(self) -> RigInput:
        """The limits to plan with."""
        return replace(
            self.ground.rig, **{name: self.cleaned_data[name] for name in RIG if name in self.fields}
        )


def _initial(ground: PlanGround) -> dict[str, Any]:
    """What the records say: the rig's limits, and where the planned profile begins and ends."""
    rig = {name: getattr(ground.rig, name) for name in RIG}
    is_at_surface = ground.ends_at_surface
    return {
        **rig,
        "rig_back_m": 0.0,
        "rig_ahead_m": 0.0,
        "entry_depth_least_m": ground.entry_depth_m,
        "entry_depth_greatest_m": ground.entry_depth_m,
        "exits": SURFACE if is_at_surface else AT_DEPTH,
        "exit_depth_least_m": None if is_at_surface else ground.exit_depth_m,
        "exit_depth_greatest_m": None if is_at_surface else ground.exit_depth_m,
        "enough_margin_m": ground.enough_margin_m,
    }
