"""What a variance is for, as it is now: what whoever signs it answers for, and binds it to."""

from collections.abc import Iterable
from datetime import datetime
from math import isfinite
from typing import NamedTuple

from conflicts.bore_states import computed_states
from conflicts.checks import Assessed, crossing_now, excusable_faults, release_checks
from conflicts.crossings import FoundCrossing
from conflicts.models import Bore, Variance, VarianceSubject
from conflicts.site_records import VarianceInput, WatchInput
from conflicts.stop_rules import stop_fault
from conflicts.variance_reasons import why_not_of_check, why_not_of_clearance
from conflicts.variance_words import VarianceFacts
from conflicts.watch_table import lost_stops, same_place_m, watch_table

NOWHERE = "No crossing of this line lies there now, so it excuses none."


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
    crossing = (str(variance.mark_id), variance.kind, variance.station_m)
    for place, one in enumerate(assessed.crossings):
        lies = one.clearance
        is_it = (one.mark.mark_id, lies.kind) == crossing[:2]
        if is_it and lies.from_m <= variance.station_m <= lies.to_m:
            words = f"{str(one.verdict).capitalize()}. {one.sentence}"
            if variance.subject == VarianceSubject.WATCH:
                return SubjectNow(words, _of_pass(variance, assessed, place), place)
            return SubjectNow(words, _facts(one, assessed), place, _why_not_crossing(signed, one, assessed))
    why_not = _where_signed(variance, "no crossing of this line lies there now")
    stops = _lost_of(variance, assessed) if variance.subject == VarianceSubject.WATCH else []
    if stops:
        words = f"A stop in the {variance.pass_made}, at a crossing that is not there any more."
        return SubjectNow(words, _stopped(stops, assessed))
    return SubjectNow(NOWHERE, VarianceFacts(), why_not=why_not)


def _of_check(variance: Variance, signed: VarianceInput | None, assessed: Assessed) -> SubjectNow:
    [check] = [one for one in release_checks(assessed) if one.code == variance.check_code]
    zone = assessed.scene.inputs.job.time_zone
    why_not, faults = "", excusable_faults(assessed, check)
    if signed is not None and faults:
        why_not = why_not_of_check(signed, assessed.site, faults, assessed.at, zone)
    return SubjectNow(check.sentence, VarianceFacts(faults=faults), why_not=why_not)


def _why_not_crossing(signed: VarianceInput | None, one: FoundCrossing, assessed: Assessed) -> str:
    job = assessed.scene.inputs.job
    if signed is None or one.is_clear:
        return ""
    return why_not_of_clearance(
        signed, crossing_now(assessed, one), assessed.at, job.show_units, job.time_zone
    )


def _of_pass(variance: Variance, assessed: Assessed, place: int) -> VarianceFacts:
    """The stops that stand in the pass of a crossing, and those of a lost one that was at the same place."""
    passes = watch_table(assessed, None).crossings[place].passes
    found = [watch for one in passes if one.pass_made == variance.pass_made for watch in one.stopping]
    return _stopped([*found, *_lost_of(variance, assessed)], assessed)


def _lost_of(variance: Variance, assessed: Assessed) -> list[WatchInput]:
    """The stops of its pass, at its place, that belong to no present crossing."""
    asked, near_m = (str(variance.mark_id), variance.kind, variance.pass_made), same_place_m(assessed)
    return [
        one
        for one in lost_stops(assessed)
        if (one.mark_id, one.kind, one.pass_made) == asked
        and abs(one.station_m - variance.station_m) <= near_m
    ]


def _stopped(stops: Iterable[WatchInput], assessed: Assessed) -> VarianceFacts:
    job = assessed.scene.inputs.job
    return VarianceFacts(faults=tuple(stop_fault(one, job.show_units, job.time_zone) for one in stops))


def _where_signed(variance: Variance, why: str) -> str:
    return why if hasattr(variance, "signature") else ""


def _facts(one: FoundCrossing, assessed: Assessed) -> VarianceFacts:
    """Records, verdict and figures of a crossing; a worst case that is not a number is kept as unknown."""
    worst_m = one.clearance.worst_case_m
    known_m = worst_m if worst_m is not None and isfinite(worst_m) else None
    rests_on = crossing_now(assessed, one).rests_on
    return VarianceFacts(rests_on, str(one.verdict), known_m, one.required_m)
