"""What is pulled back through a bore and on what, as the address holds it: nothing of it is stored."""

from typing import Any

from django import forms

from conflicts.pullback.bundle import MOST_CONDUITS, Bundle
from conflicts.pullback.forces import ForceError, format_force, parse_force_n
from conflicts.pullback.pull import Gear, Pull
from conflicts.pullback.pull_load import ON_ROLLERS, STEERED_ROD_M, USUAL_IN_HOLE, USUAL_ON_GROUND, Frictions
from locates.forms.shown_back import LengthField, ShownBackField
from locates.models import Job

# Wider and longer than anything that is pulled through a bore: a slip of the unit is refused.
MOST_ACROSS_M, MOST_ALONG_M = 2.0, 5000.0


class ForceField(ShownBackField):
    """A force with its unit."""

    refused_as = ForceError

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, **kwargs)
        self.widget.attrs |= {"autocomplete": "off", "class": "short"}

    def shown(self, value: float) -> str:
        """In the job's units."""
        return format_force(value, self.show_units)

    def read(self, text: str) -> float:
        """In newtons."""
        return parse_force_n(text)


def _ratio(label: str, initial: float, help_text: str, least: float, most: float) -> forms.FloatField:
    return forms.FloatField(
        label=label,
        initial=initial,
        min_value=least,
        max_value=most,
        help_text=help_text,
        widget=forms.NumberInput(attrs={"class": "short", "step": "any"}),
    )


class PullbackForm(forms.Form):
    """The conduits, the hole's fluid and frictions, and what the gear bears."""

    count = forms.IntegerField(
        label="Conduits in the bundle",
        initial=1,
        min_value=1,
        max_value=MOST_CONDUITS,
        widget=forms.NumberInput(attrs={"class": "short"}),
        help_text="All of one size.",
    )
    outside_diameter_m = LengthField(label="Outside diameter of one")
    dimension_ratio = _ratio(
        "Dimension ratio (DR)", 11.0, "Outside diameter over wall, as printed on it.", 5, 50
    )
    relative_density = _ratio("Relative density of the conduit", 0.955, "Polyethylene: about 0.955.", 0.5, 10)
    mud_relative_density = _ratio(
        "Relative density of the fluid", 1.5, "With cuttings, about 1.5; common practice, no source.", 1, 2.5
    )
    on_ground = _ratio(
        "Friction on the ground",
        USUAL_ON_GROUND,
        f"Dragged: {USUAL_ON_GROUND}; on rollers: {ON_ROLLERS}.",
        0,
        1,
    )
    in_hole = _ratio("Friction in the hole", USUAL_IN_HOLE, f"Usually {USUAL_IN_HOLE}.", 0, 1)
    above_ground_m = LengthField(label="Conduit beyond the hole's length", initial=0.0)
    rod_diameter_m = LengthField(label="Diameter of the rods", initial=STEERED_ROD_M)
    safe_pull_n = ForceField(label="Safe pull of one conduit", help_text="As its maker states it.")
    swivel_n = ForceField(label="Rating of the swivel")
    break_away_n = ForceField(label="Rating of the break-away link")
    grip_least_m = LengthField(label="Least inside diameter the grip takes", required=False)
    grip_greatest_m = LengthField(label="Greatest inside diameter the grip takes", required=False)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, ShownBackField):
                field.of_job(job)
        # Nothing here may be left out where the sheet is to say yes, though the form takes it without.
        for name in Gear.__slots__:
            self.fields[name].needs_words = True
        example = "114.3 mm" if job.show_units == "metric" else "4.5 in"
        self.fields["outside_diameter_m"].help_text = f"With its unit, such as {example}."

    def clean(self) -> dict[str, Any]:
        """Refuse lengths that no conduit or rod has."""
        read = super().clean() or self.cleaned_data
        for name in ("outside_diameter_m", "rod_diameter_m", "grip_least_m", "grip_greatest_m"):
            length_m = read.get(name)
            if length_m is not None and not 0.0 < length_m <= MOST_ACROSS_M:
                self.add_error(name, f"Accepted is more than 0, and at most {MOST_ACROSS_M:g} m.")
        if not 0.0 <= (read.get("above_ground_m") or 0.0) <= MOST_ALONG_M:
            self.add_error("above_ground_m", f"Accepted is 0 or more, and at most {MOST_ALONG_M:,.0f} m.")
        least, greatest = read.get("grip_least_m"), read.get("grip_greatest_m")
        if least is not None and greatest is not None and greatest < least:
            self.add_error("grip_greatest_m", "Accepted is the least inside diameter or more.")
        return read

    def pull(self) -> Pull:
        """What was described."""
        read = self.cleaned_data
        return Pull(
            bundle=Bundle(
                read["count"], read["outside_diameter_m"], read["dimension_ratio"], read["relative_density"]
            ),
            mud_relative_density=read["mud_relative_density"],
            frictions=Frictions(read["on_ground"], read["in_hole"]),
            above_ground_m=read["above_ground_m"],
            rod_diameter_m=read["rod_diameter_m"],
            gear=Gear(**{name: read[name] for name in Gear.__slots__}),
        )
