"""The form of a job: its jurisdiction, zone, units, tolerance, allowances and assumed sizes."""

from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from locates.forms.record_form import RecordForm
from locates.forms.shown_back import LengthField
from locates.forms.time_zones import time_zone_choices
from locates.models import FacilityType, Job, JurisdictionRule
from locates.units import format_length

OUTSIDE = "outside_"


class RuleField(forms.ModelChoiceField):
    """A jurisdiction's rule, with the width that it gives."""

    def label_from_instance(self, obj: JurisdictionRule) -> str:
        """Code and tolerance zone."""
        width = "no width" if obj.tolerance_zone_m is None else format_length(obj.tolerance_zone_m, "feet")
        unsure = "" if obj.tolerance_is_sure else ", not certain"
        own = "" if obj.organisation_id is None else ", own version"
        return f"{obj.code}{own}: tolerance zone {width}{unsure}"


class JobForm(RecordForm):
    """A job's settings; operators and required clearances have their own forms."""

    time_zone = forms.ChoiceField(help_text="Every time on the job's pages is in this zone.")

    groups = (
        ("The job", ("name", "jurisdiction", "time_zone", "show_units")),
        ("Tolerance and test holes", ("tolerance_zone_m", "expose_reach_m", "test_hole_spacing_m")),
        ("Elevations", ("datum", "mean_height_m")),
        (
            "Allowances: how far things may be from where they are recorded",
            (
                "bore_horizontal_m",
                "bore_vertical_m",
                "drilled_fixed_m",
                "drilled_depth_ratio",
                "test_hole_m",
                "slope_ratio",
            ),
        ),
        (
            "Outside sizes to assume where nobody states or measures one",
            tuple(f"{OUTSIDE}{kind}" for kind in FacilityType.values),
        ),
    )
    folded = tuple(title for title, _ in groups[2:])
    filled_in = ()

    class Meta(RecordForm.Meta):
        """What a person writes of a job."""

        model = Job
        fields = (
            "name",
            "jurisdiction",
            "time_zone",
            "show_units",
            "tolerance_zone_m",
            "expose_reach_m",
            "test_hole_spacing_m",
            "datum",
            "mean_height_m",
            "bore_horizontal_m",
            "bore_vertical_m",
            "drilled_fixed_m",
            "drilled_depth_ratio",
            "test_hole_m",
            "slope_ratio",
        )
        field_classes: ClassVar = {"jurisdiction": RuleField}
        labels: ClassVar = {
            "name": "Name",
            "show_units": "Units to show",
            "bore_horizontal_m": "Planned bore, horizontal",
            "bore_vertical_m": "Planned bore, vertical",
            "drilled_fixed_m": "Drilled bore, fixed",
            "drilled_depth_ratio": "Drilled bore, share of depth",
            "test_hole_m": "Test hole",
            "slope_ratio": "Slope of a line between holes",
        }
        help_texts: ClassVar = {
            "name": "Street and place, as the crew calls it.",
            "jurisdiction": "Whose one-call law holds here. The rule in force there decides.",
            "show_units": "Lengths are taken in any unit, whatever is shown.",
            "tolerance_zone_m": "Empty: the jurisdiction's. From the outside edge of the line.",
            "expose_reach_m": "Empty: the tolerance zone. How far along a line a test hole speaks.",
            "test_hole_spacing_m": "Empty: 100 ft (30.48 m). Along a line beside the bore.",
            "datum": "Empty: the job's own. What elevations are measured from.",
        }

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, job=job, **kwargs)
        self.fields["time_zone"].choices = [("", "choose"), *time_zone_choices()]
        self._offer_rules()
        self._fix_mean_height()
        for kind in FacilityType:
            self._ask_size(kind)
        self.initial["opened_with"] = self.opened_texts()

    def clean(self) -> dict[str, Any]:
        """Gather the assumed sizes, and ask for a tolerance zone where the rule gives none."""
        cleaned = super().clean()
        sizes = {kind.value: cleaned.get(f"{OUTSIDE}{kind.value}") for kind in FacilityType}
        self.instance.default_outside_m = {kind: size for kind, size in sizes.items() if size is not None}
        for kind, size_m in sizes.items():
            if size_m is not None and size_m <= 0:
                self.add_error(f"{OUTSIDE}{kind}", "Accepted is a size above 0.")
        rule = cleaned.get("jurisdiction")
        if rule and rule.tolerance_zone_m is None and cleaned.get("tolerance_zone_m") is None:
            self.add_error("tolerance_zone_m", f"The rule of {rule.code} gives no width: write one here.")
        return cleaned

    def _offer_rules(self) -> None:
        """The rules that the job's company goes by, and the one that the job stands under."""
        field = self.fields["jurisdiction"]
        in_use = JurisdictionRule.objects.in_use_by(self.instance.organisation_id)
        offered = Q(pk__in=in_use.values("pk")) | Q(pk=self.instance.jurisdiction_id)
        field.queryset = JurisdictionRule.objects.filter(offered)

    def _fix_mean_height(self) -> None:
        """The stations of a bore were measured at the mean height, so it stays once there is one."""
        is_new = self.instance._state.adding
        self.fields["mean_height_m"].disabled = not is_new
        self.fields["mean_height_m"].help_text = (
            "Height of the site above the ellipsoid. It stays as it is later: bores are measured at it."
            if is_new
            else "It stays as it is: the stations of the job's bores were measured at it."
        )

    def _ask_size(self, kind: FacilityType) -> None:
        name = f"{OUTSIDE}{kind.value}"
        field = LengthField(required=False, label=kind.label.capitalize())
        field.of_job(self.job)
        self.fields[name] = field
        self.initial[name] = self.instance.default_outside_m.get(kind.value)
