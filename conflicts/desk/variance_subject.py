"""What a variance is for, as it is now: what whoever signs it answers for, and binds it to."""

from datetime import datetime
from math import isfinite
from typing import NamedTuple

from conflicts.bore_states import computed_states
from conflicts.checks import Assessed, release_checks
from conflicts.crossings import FoundCrossing
from conflicts.models import Variance, VarianceSubject
from conflicts.site_records import WatchInput
from conflicts.stop_rules import stops_of_watch
from conflicts.variance_words import VarianceFacts
from conflicts.watch_table import lost_stops


class SubjectNow(NamedTuple):
    """What is told of it, what a signature binds it to, and the place of its crossing where it is of one."""

    words: str
    facts: VarianceFacts
    place: int | None = None


def subject_now(variance: Variance, at: datetime) -> SubjectNow:
    """The check, or the crossing that lies where the variance names it, as the records are now."""
    [state] = computed_states([variance.bore], at)
    if state.assessed is None:
        words = f"It cannot be computed: {state.refusal or 'the bore is retired'}."
        return SubjectNow(words, VarianceFacts())
    return subject_of(variance, state.assessed)


def subject_of(variance: Variance, assessed: Assessed) -> SubjectNow:
    """The same in an assessment. A watch has no facts: it is bound to its pass."""
    if variance.subject == VarianceSubject.CHECK:
        [check] = [one for one in release_checks(assessed) if one.code == variance.check_code]
        return SubjectNow(check.sentence, VarianceFacts(faults=check.faults))
    for place, one in enumerate(assessed.crossings):
        lies = one.clearance
        is_it = (one.mark.mark_id, lies.kind) == (str(variance.mark_id), variance.kind)
        if is_it and lies.from_m <= variance.station_m <= lies.to_m:
            is_watch = variance.subject == VarianceSubject.WATCH
            facts = VarianceFacts() if is_watch else _facts(one)
            return SubjectNow(f"{str(one.verdict).capitalize()}. {one.sentence}", facts, place)
    for stop in lost_stops(assessed):
        if _is_of(variance, stop):
            rules = " ".join(rule.when for rule in stops_of_watch(stop))
            words = f"A stop in the {stop.pass_made}, at a crossing that is not there any more. {rules}"
            return SubjectNow(words, VarianceFacts())
    return SubjectNow("No crossing of this line lies there now, so it excuses none.", VarianceFacts())


def _is_of(variance: Variance, stop: WatchInput) -> bool:
    """Whether a variance is for the watch of a crossing that is not there any more."""
    asked = (str(variance.mark_id), variance.kind, variance.station_m, variance.pass_made)
    return variance.subject == VarianceSubject.WATCH and asked == (
        stop.mark_id,
        stop.kind,
        stop.station_m,
        stop.pass_made,
    )


def _facts(one: FoundCrossing) -> VarianceFacts:
    """Verdict and figures of a crossing; a worst case that is not a number is kept as unknown."""
    worst_m = one.clearance.worst_case_m
    known_m = worst_m if worst_m is not None and isfinite(worst_m) else None
    return VarianceFacts(verdict=str(one.verdict), worst_case_m=known_m, required_m=one.required_m)
