"""Forms of what is signed about a bore: releases, variances, and the end of both."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from conflicts.camera_faults import camera_check
from conflicts.checks import Assessed
from conflicts.closing_faults import stood_check
from conflicts.forms.variance_evidence import EvidenceMixin
from conflicts.models import (
    Bore,
    CheckCode,
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
    VarianceSubject,
)
from conflicts.models.crossing_watch import PassMade
from conflicts.site_records import CROSSINGS, WatchInput
from conflicts.to_watch import ToWatch, crossings_to_watch
from conflicts.watch_matching import CrossingPlace
from conflicts.watch_table import lost_stops
from locates.canonical import canonical_text, digest_of
from locates.forms.password_again import PasswordAgainMixin
from locates.forms.record_form import call_empty_choice
from locates.forms.shown_back import MomentField
from locates.models import Job
from locates.units import format_station

# A choice of what is to be excused: a watch that set off a stop rule at a crossing that is there no more.
STOP = "stop"


class SignedForm(forms.ModelForm):
    """A form whose moments are read in the zone of a job."""

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for field in self.fields.values():
            call_empty_choice(field)
            if isinstance(field, MomentField):
                field.of_job(job)
            if isinstance(field.widget, forms.Textarea):
                field.widget.attrs["rows"] = 4


class ReleaseForm(PasswordAgainMixin, SignedForm):
    """For which shift, crew and rig a bore is released."""

    class Meta:
        """What a person writes who signs a release."""

        model = Release
        fields = ("damage_settled", "shift_from", "shift_until", "crew", "rig")
        field_classes: ClassVar = {"shift_from": MomentField, "shift_until": MomentField}
        labels: ClassVar = {"shift_from": "Shift from", "shift_until": "Shift until"}
        help_texts: ClassVar = {
            "shift_from": "Of today: the release ends at midnight, for the walk counts for its day alone.",
            "crew": "Who drills.",
            "rig": "Its name or number.",
        }

    def __init__(self, *args: Any, asks_of_damage: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if asks_of_damage:
            self.fields["damage_settled"].required = True
        else:
            del self.fields["damage_settled"]


class WithdrawalForm(PasswordAgainMixin, SignedForm):
    """Why a release is taken back."""

    class Meta:
        """What a person writes who takes a release back."""

        model = ReleaseWithdrawal
        fields = ("reason",)


class VarianceForm(EvidenceMixin, SignedForm):
    """What is to be excused: a check that may be, or a crossing; and why."""

    what = forms.ChoiceField(label="What is to be excused")

    class Meta:
        """What a person writes who asks for a variance."""

        model = Variance
        fields = ("reason", "evidence")
        help_texts: ClassVar = {
            "reason": "Why the work is safe all the same, and what will be done instead.",
            "evidence": "What shows it, in words; photos and papers go below.",
        }

    def __init__(self, *args: Any, assessed: Assessed, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._assessed, self._lying = assessed, crossings_to_watch(assessed)
        self._drilled = [
            CrossingPlace(one.lies.mark_id, one.lies.kind, one.station_m)
            for _leg, one in assessed.drilled.not_clear
        ]
        self.shown_digest = _digest_of(assessed, [*self._lying, *self._drilled])
        self.fields["what"].choices = [("", "choose"), *_choices(assessed, self._lying)]

    def asked(self) -> list[forms.BoundField]:
        """The fields but those of photos and papers, in their order."""
        return [self[name] for name in ("what", "reason", "evidence")]

    def clean_what(self) -> str:
        """Put the choice in the request: a check by its code, a crossing as it lies, a watch by its pass."""
        kind, _, which = self.cleaned_data["what"].partition(":")
        if kind == STOP:
            lost = next(one for one in lost_stops(self._assessed) if one.watch_id == which)
            self.instance.subject, self.instance.pass_made = VarianceSubject.WATCH, lost.pass_made
            self._name(lost)
            return which
        self.instance.subject = kind
        if kind == VarianceSubject.CHECK:
            self.instance.check_code = which
            return which
        # Its place along the bore is another crossing's once a line is added before it.
        if self.data.get("shown") != self.shown_digest:
            raise forms.ValidationError(
                "The records have changed since this page was shown, and the crossings are listed anew: "
                "choose again which one you mean.",
                code="shown_before",
            )
        place, _, pass_made = which.partition(":")
        self.instance.pass_made = pass_made
        named = self._drilled if kind == VarianceSubject.DRILLED else self._lying
        self._name(named[int(place)])
        return which

    def _name(self, crossing: ToWatch | WatchInput | CrossingPlace) -> None:
        self.instance.mark_id = crossing.mark_id
        self.instance.kind = crossing.kind
        self.instance.station_m = crossing.station_m


def _digest_of(assessed: Assessed, lying: Sequence[ToWatch | CrossingPlace]) -> str:
    """SHA-256 of the records behind the crossings that are listed, and of which of them are listed."""
    places = [[one.mark_id, one.kind, one.station_m] for one in lying]
    return digest_of(canonical_text([assessed.scene.inputs.digest(), places]))


def _choices(assessed: Assessed, lying: Sequence[ToWatch]) -> Sequence[tuple[str, Any]]:
    """What may be excused, the crossings that are not there or not clear first."""
    units = assessed.scene.inputs.job.show_units
    named = [
        (place, f"{one.mark_ref} at {format_station(one.station_m, units)}", one)
        for place, one in enumerate(lying)
        if one.mark_id
    ]
    gone = [
        (f"{VarianceSubject.GONE.value}:{place}", f"{name}: all passes, and its camera")
        for place, name, one in named
        if one.is_gone
    ]
    of_crossings = [
        (f"crossing:{place}", f"{name}: {one.verdict}")
        for place, name, one in named
        if not (one.is_gone or one.is_drilled) and one.verdict not in ("clear", "overlap")
    ]
    of_holes = [
        (
            f"{VarianceSubject.DRILLED.value}:{place}",
            f"{one.crossing.mark.ref} at {format_station(one.station_m, units)}: {one.lies.verdict}"
            f"{f', {leg}' if leg else ''}",
        )
        for place, (leg, one) in enumerate(assessed.drilled.not_clear)
    ]
    of_close_out = ((CheckCode.RELEASE, stood_check(assessed)), (CheckCode.CAMERA, camera_check(assessed)))
    passing = [code for code, check in of_close_out if not check.holds]
    checks = [
        (f"check:{code.value}", str(code.label).capitalize())
        for code in CheckCode
        if code not in (*assessed.site.never_waived, CROSSINGS, *passing)
    ]
    watches = [
        (f"watch:{place}:{one.value}", f"{name}: {one.label}") for place, name, _ in named for one in PassMade
    ]
    stops = [
        (
            f"{STOP}:{one.watch_id}",
            f"{one.mark_ref} at {format_station(one.station_m, units)}, {one.pass_made}",
        )
        for one in lost_stops(assessed)
    ]
    groups = (
        ("A stop at a crossing that is not there any more", stops),
        ("A crossing that was released or drilled past, and is not there any more", gone),
        ("The hole as it was drilled past a line", of_holes),
        ("The clearance of a crossing", of_crossings),
        ("A check", checks),
        ("Seeing one pass of a crossing", watches),
    )
    return [(title, choices) for title, choices in groups if choices]


class VarianceSignatureForm(PasswordAgainMixin, SignedForm):
    """Until when a variance excuses what it is for."""

    class Meta:
        """What a safety manager writes who signs a variance."""

        model = VarianceSignature
        fields = ("valid_from", "valid_until", "remarks")
        field_classes: ClassVar = {"valid_from": MomentField, "valid_until": MomentField}
        labels: ClassVar = {"valid_from": "From", "valid_until": "Until"}
        help_texts: ClassVar = {
            "valid_until": "90 days at most. After it the check holds again by itself.",
            "remarks": "Where no photo and no paper is attached: why there is none.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["valid_from"].required = False
        self.fields["valid_from"].help_text = "Left empty: from now on."

    def asks(self, *, of_day: bool, of_evidence: bool) -> None:
        """Say on the page that a walk is excused for one day, and that missing evidence is explained."""
        if of_day:
            self.fields[
                "valid_until"
            ].help_text = "It excuses the walk of the day on which it is signed, and of no other."
        self.fields["remarks"].needs_words = of_evidence


class VarianceEndForm(PasswordAgainMixin, SignedForm):
    """Why a variance is ended, or refused."""

    class Meta:
        """What a safety manager writes who ends a variance."""

        model = VarianceEnd
        fields = ("reason",)


def crews_and_rigs(bore: Bore) -> tuple[list[str], list[str]]:
    """Crews and rigs that releases of the job named, the last one first."""
    named = Release.objects.filter(bore__job=bore.job_id).order_by("-signed_at").values_list("crew", "rig")
    recent = list(named[:50])
    return list(dict.fromkeys(crew for crew, _ in recent)), list(dict.fromkeys(rig for _, rig in recent))
