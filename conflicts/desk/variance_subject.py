"""What a variance is for, as it is now: what whoever signs it answers for, and binds it to."""

from collections.abc import Iterable
from datetime import datetime
from math import isfinite
from typing import NamedTuple

from conflicts.bore_states import computed_states
from conflicts.camera_faults import CAMERA, camera_check
from conflicts.checks import Assessed, crossing_now, excusable_faults, release_checks
from conflicts.closing_faults import RELEASED, stood_check
from conflicts.crossings import FoundCrossing
from conflicts.drilled_faults import gap_words
from conflicts.faults import Fault
from conflicts.models import Bore, Variance, VarianceSubject
from conflicts.site_records import VarianceInput, WatchInput
from conflicts.stop_rules import stop_fault
from conflicts.to_watch import ToWatch, same_place_m
from conflicts.variance_reasons import (
    DRILLED_EXCUSABLE,
    why_not_of_check,
    why_not_of_clearance,
    why_not_of_gone,
    why_not_of_watch,
)
from conflicts.variance_words import VarianceFacts
from conflicts.watch_table import CrossingWatched, lost_stops, watch_table
from locates.local_time import format_moment
from locates.units import format_length

NOWHERE = "No crossing of this line lies there now, so it excuses none."
NOT_DRILLED = "Nothing that was drilled comes near this line there now, so it excuses none."
NO_CROSSING = "no crossing of this line lies there now"


class SubjectNow(NamedTuple):
    """What is told of it, what a signature binds it to, and the place of its crossing where it is of one.

    ``why_not`` says why it excuses nothing though it is signed; empty where it does, and without a signature.
    """

    words: str
    facts: VarianceFacts
    place: int | None = None
    why_not: str = ""


def subject_now(variance: Variance, at: datetime) -> SubjectNow:
    """The check, or the crossing that lies where the variance names it, as the records are now."""
    [now] = subjects_now(variance.bore, [variance], at)
    return now


def subjects_now(bore: Bore, variances: Iterable[Variance], at: datetime) -> list[SubjectNow]:
    """The same for variances of one bore, which is computed once."""
    [state] = computed_states([bore], at)
    if state.assessed is None:
        why = f"it cannot be computed: {state.refusal or 'the bore is retired'}"
        return [
            SubjectNow(f"{why[:1].upper()}{why[1:]}.", VarianceFacts(), why_not=_where_signed(one, why))
            for one in variances
        ]
    return [subject_of(one, state.assessed) for one in variances]


def subject_of(variance: Variance, assessed: Assessed) -> SubjectNow:
    """The same in an assessment."""
    signed = next((one for one in assessed.site.variances if one.variance_id == str(variance.pk)), None)
    if variance.subject == VarianceSubject.CHECK:
        return _of_check(variance, signed, assessed)
    if variance.subject == VarianceSubject.DRILLED:
        return _of_drilled(variance, signed, assessed)
    row = next((one for one in watch_table(assessed, None).rows if _is_of(variance, one.lies)), None)
    if row is None:
        return _of_nothing(variance, assessed)
    if variance.subject == VarianceSubject.GONE:
        return _of_gone(row, signed, assessed)
    if variance.subject == VarianceSubject.WATCH:
        return _of_pass(variance, row, signed, assessed)
    one = assessed.crossings[row.place]
    words = _verdict_words(row, assessed)
    return SubjectNow(words, _facts(one, assessed), row.place, _why_not_crossing(signed, one, assessed))


def _is_of(variance: Variance, lies: ToWatch) -> bool:
    """Whether a crossing is the one that a variance names; what is for a clearance is for no gone one."""
    asks_gone = variance.subject == VarianceSubject.GONE
    return (
        (lies.mark_id, lies.kind) == (str(variance.mark_id), variance.kind)
        and lies.from_m <= variance.station_m <= lies.to_m
        and (
            variance.subject == VarianceSubject.WATCH
            or (lies.is_gone if asks_gone else not (lies.is_gone or lies.is_drilled))
        )
    )


def _of_nothing(variance: Variance, assessed: Assessed) -> SubjectNow:
    """A variance for a place where no crossing is known: it may be for a stop that was set off there."""
    stops = _lost_of(variance, assessed) if variance.subject == VarianceSubject.WATCH else []
    if stops:
        words = f"A stop in the {variance.pass_made}, at a crossing that is not there any more."
        return SubjectNow(words, VarianceFacts(faults=_stop_faults(stops, assessed)))
    is_gone = variance.subject == VarianceSubject.GONE
    why = "no release and no rod names this crossing, or it is there again" if is_gone else NO_CROSSING
    return SubjectNow(NOWHERE, VarianceFacts(), why_not=_where_signed(variance, why))


def _of_check(variance: Variance, signed: VarianceInput | None, assessed: Assessed) -> SubjectNow:
    checks = [*release_checks(assessed), stood_check(assessed), camera_check(assessed)]
    [check] = [one for one in checks if one.code == variance.check_code]
    zone = assessed.scene.inputs.job.time_zone
    # The plan of the bore changes nothing of whether it was released, nor of what a line is.
    faults = check.faults if check.code in (RELEASED, CAMERA) else excusable_faults(assessed, check)
    why_not = ""
    if signed is not None and faults:
        why_not = why_not_of_check(signed, assessed.site, faults, assessed.at, zone)
    return SubjectNow(check.sentence, VarianceFacts(faults=faults), why_not=why_not)


def _of_drilled(variance: Variance, signed: VarianceInput | None, assessed: Assessed) -> SubjectNow:
    """The drilled hole past the line that it names, that of the rods in the ground before abandoned legs."""
    made, job = assessed.drilled, assessed.scene.inputs.job
    every = [*made.crossings, *(one.drilled for one in made.legs)]
    here = [
        one
        for one in every
        if (one.lies.mark_id, one.lies.kind) == (str(variance.mark_id), variance.kind)
        and one.lies.from_m <= variance.station_m <= one.lies.to_m
    ]
    if not here:
        why = "nothing that was drilled comes near this line there now"
        return SubjectNow(NOT_DRILLED, VarianceFacts(), why_not=_where_signed(variance, why))
    one = min(here, key=lambda found: found.crossing.is_clear)
    why_not = ""
    if signed is not None and not one.crossing.is_clear:
        why_not = why_not_of_clearance(
            signed, one.lies, assessed.at, job.show_units, job.time_zone, DRILLED_EXCUSABLE
        )
    facts = VarianceFacts(
        one.lies.rests_on, one.lies.verdict, _known(one.lies.worst_case_m), one.lies.required_m
    )
    words = f"As drilled {one.lies.verdict}: {gap_words(one, job.show_units)}."
    return SubjectNow(words, facts, why_not=why_not)


def _of_gone(row: CrossingWatched, signed: VarianceInput | None, assessed: Assessed) -> SubjectNow:
    job, lies = assessed.scene.inputs.job, row.lies
    stand = [fault for one in row.passes for fault in one.faults(job.show_units, job.time_zone)]
    faults = (*lies.rests_on, *stand)
    facts = VarianceFacts(faults, lies.verdict, lies.worst_case_m, lies.required_m)
    why_not = ""
    if signed is not None:
        why_not = why_not_of_gone(signed, lies, faults, assessed.at, job.show_units, job.time_zone)
    return SubjectNow(_verdict_words(row, assessed), facts, why_not=why_not)


def _of_pass(
    variance: Variance, row: CrossingWatched, signed: VarianceInput | None, assessed: Assessed
) -> SubjectNow:
    """A pass of a crossing: its records and figures, and what stands in its way, also at the same place."""
    job, lies = assessed.scene.inputs.job, row.lies
    passed = next((one for one in row.passes if one.pass_made == variance.pass_made), None)
    stand = passed.faults(job.show_units, job.time_zone) if passed is not None else ()
    lost = _stop_faults(_lost_of(variance, assessed), assessed)
    worst_m = _known(lies.worst_case_m)
    facts = VarianceFacts((*lies.rests_on, *stand, *lost), lies.verdict, worst_m, lies.required_m)
    why_not = ""
    if signed is not None and (passed is None or not passed.is_settled):
        why_not = why_not_of_watch(
            signed, lies, (*lies.rests_on, *stand), assessed.at, job.show_units, job.time_zone
        )
    place = None if lies.is_gone or lies.is_drilled else row.place
    return SubjectNow(_verdict_words(row, assessed), facts, place, why_not)


def _verdict_words(row: CrossingWatched, assessed: Assessed) -> str:
    lies, job = row.lies, assessed.scene.inputs.job
    if lies.found is not None:
        return f"{str(lies.found.verdict).capitalize()}. {lies.found.sentence}"
    worst = format_length(lies.worst_case_m, job.show_units, "down")
    required = format_length(lies.required_m, job.show_units, "up")
    when, rod = format_moment(lies.named.named_at, job.time_zone), lies.named.rod
    named = f"It was released {when}" if rod is None else f"Rod {rod}, logged {when}, met it"
    return (
        f"The crossing is not there any more. {named} as {lies.verdict}, with {worst} in the worst case and "
        f"{required} required."
    )


def _why_not_crossing(signed: VarianceInput | None, one: FoundCrossing, assessed: Assessed) -> str:
    job = assessed.scene.inputs.job
    if signed is None or one.is_clear:
        return ""
    return why_not_of_clearance(
        signed, crossing_now(assessed, one), assessed.at, job.show_units, job.time_zone
    )


def _lost_of(variance: Variance, assessed: Assessed) -> list[WatchInput]:
    """The stops of its pass, at its place, that belong to no present crossing."""
    asked, near_m = (str(variance.mark_id), variance.kind, variance.pass_made), same_place_m(assessed)
    return [
        one
        for one in lost_stops(assessed)
        if (one.mark_id, one.kind, one.pass_made) == asked
        and abs(one.station_m - variance.station_m) <= near_m
    ]


def _stop_faults(stops: Iterable[WatchInput], assessed: Assessed) -> tuple[Fault, ...]:
    job = assessed.scene.inputs.job
    return tuple(stop_fault(one, job.show_units, job.time_zone) for one in stops)


def _where_signed(variance: Variance, why: str) -> str:
    return why if hasattr(variance, "signature") else ""


def _facts(one: FoundCrossing, assessed: Assessed) -> VarianceFacts:
    """Records, verdict and figures of a crossing; a worst case that is not a number is kept as unknown."""
    rests_on = crossing_now(assessed, one).rests_on
    return VarianceFacts(rests_on, str(one.verdict), _known(one.clearance.worst_case_m), one.required_m)


def _known(worst_m: float | None) -> float | None:
    return worst_m if worst_m is not None and isfinite(worst_m) else None
