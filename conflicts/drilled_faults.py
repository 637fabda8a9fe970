"""What of the drilled hole stands in the way of a close-out, in sentences."""

from conflicts.checks import Assessed
from conflicts.drilled import DrilledCrossing
from conflicts.sentences import station_words
from conflicts.variance_reasons import not_excused_drilled
from locates.units import format_length

WAY_OUT = "Mend the records that are wrong, or have a variance signed for the hole as it was drilled there"
DECIDED_BY = "The safety manager decides, by a variance for the hole as it was drilled there"


def drilled_faults(assessed: Assessed) -> list[str]:
    """Sentences on the lines that the drilled hole is not clear of, and that nobody answers for.

    Parameters
    ----------
    assessed : Assessed

    Returns
    -------
    list of str
        One for the rods in the ground, one for each abandoned leg, as many of lines that the records ask less
        of since, and one for each variance that was signed and does not excuse it. Where no path can be told
        that is the one.
    """
    made = assessed.drilled
    if made.problem:
        return [f"What was logged gives no path, so nobody knows what the hole meets: {made.problem}."]
    open_ones: dict[tuple[str, bool], list[DrilledCrossing]] = {}
    for leg, one in made.not_clear:
        if not one.is_answered:
            open_ones.setdefault((leg, one.asked_then is not None), []).append(one)
    faults = [_fault(leg, is_held, found, assessed) for (leg, is_held), found in open_ones.items()]
    return faults + [words for found in open_ones.values() for words in _not_excused(found, assessed)]


def _fault(leg: str, is_held: bool, found: list[DrilledCrossing], assessed: Assessed) -> str:
    hole = f"{leg}, which was pulled back, is" if leg else "The drilled hole is"
    told = "; ".join(_told(one, assessed.scene.inputs.job.show_units) for one in found)
    if is_held:
        return (
            f"{hole} not clear of a line by what was required when it was drilled past: {told}. {DECIDED_BY}."
        )
    return f"{hole} not clear of a line: {told}. {WAY_OUT}."


def _told(one: DrilledCrossing, units: str) -> str:
    return f"{_place(one, units)} ({one.lies.verdict}, {gap_words(one, units)})"


def gap_words(one: DrilledCrossing, units: str) -> str:
    """What is left in the worst case between the drilled hole and a line, and what is required, or was.

    Parameters
    ----------
    one : DrilledCrossing
    units : {"feet", "metric"}
    """
    worst_m = one.lies.worst_case_m
    worst = (
        "its depth is unknown"
        if worst_m is None
        else f"{format_length(worst_m, units, 'down')} in the worst case"
    )
    if one.asked_then is not None:
        return f"{worst}, {one.asked_then.words(units)}"
    return f"{worst}, {format_length(one.lies.required_m, units, 'up')} required"


def _not_excused(found: list[DrilledCrossing], assessed: Assessed) -> list[str]:
    job = assessed.scene.inputs.job
    told = []
    for one in found:
        why = not_excused_drilled(assessed.site, one.lies, assessed.at, job.show_units, job.time_zone)
        if why:
            told.append(f"{_place(one, job.show_units)}: {why}")
    return told


def _place(one: DrilledCrossing, units: str) -> str:
    return f"{one.crossing.mark.ref} at {station_words(one.station_m, units)}"
