"""What a variance is for, as it is now: what whoever signs it answers for."""

from datetime import datetime
from typing import NamedTuple

from conflicts.bore_states import computed_states
from conflicts.checks import release_checks
from conflicts.models import Variance, VarianceSubject
from conflicts.stop_rules import stops_of_watch
from conflicts.watch_table import lost_stops


class SubjectNow(NamedTuple):
    """What is told of it, and the place of its crossing along the bore where it is of one."""

    words: str
    place: int | None = None


def subject_now(variance: Variance, at: datetime) -> SubjectNow:
    """The check, or the crossing that lies where the variance names it, as the records are now."""
    [state] = computed_states([variance.bore], at)
    if state.assessed is None:
        return SubjectNow(f"It cannot be computed: {state.refusal or 'the bore is retired'}.")
    if variance.subject == VarianceSubject.CHECK:
        [check] = [one for one in release_checks(state.assessed) if one.code == variance.check_code]
        return SubjectNow(check.sentence)
    for place, one in enumerate(state.assessed.crossings):
        lies = one.clearance
        is_it = (one.mark.mark_id, lies.kind) == (str(variance.mark_id), variance.kind)
        if is_it and lies.from_m <= variance.station_m <= lies.to_m:
            return SubjectNow(f"{str(one.verdict).capitalize()}. {one.sentence}", place)
    for stop in lost_stops(state.assessed):
        if variance.subject == VarianceSubject.WATCH and (stop.mark_id, stop.kind, stop.station_m) == (
            str(variance.mark_id),
            variance.kind,
            variance.station_m,
        ):
            rules = " ".join(rule.when for rule in stops_of_watch(stop))
            return SubjectNow(
                f"A stop in the {stop.pass_made}, at a crossing that is not there any more. {rules}"
            )
    return SubjectNow("No crossing of this line lies there now, so it excuses none.")
