"""How a crossing came to be exposed or not, and to its verdict, step by step in words."""

from dataclasses import dataclass

from conflicts.crossings import FoundCrossing
from conflicts.engine.verdict import Verdict
from conflicts.inputs import JobInput
from locates.units import format_length


@dataclass(frozen=True)
class Step:
    """A verdict in the order of asking: what is asked, and the answer; asked no further once one fits."""

    verdict: str
    asks: str
    answer: str
    is_given: bool
    is_asked: bool


def exposure_words(found: FoundCrossing, job: JobInput) -> list[str]:
    """What the test holes on the line say about the crossing, a sentence each."""
    exposure, units = found.exposure, job.show_units
    reach = format_length(job.reach_m, units)
    sentences = []
    for index, (hole, away_m) in enumerate(zip(found.line.found, exposure.away_m, strict=True)):
        within = "within" if index in exposure.holes else "beyond"
        sentences.append(
            f"Test hole {hole.ref} found the line {format_length(away_m, units)} from the crossing point: "
            f"{within} the expose reach of {reach}."
        )
    for hole in found.mark.holes:
        if not hole.found:
            sentences.append(f"Test hole {hole.ref} did not find the line.")
    if not sentences:
        sentences.append(f"No test hole is logged on this line. One within {reach} would expose it.")
    if exposure.farthest_m is not None:
        sentences.append(_spacing_words(found, job))
    return sentences


def _spacing_words(found: FoundCrossing, job: JobInput) -> str:
    exposure, units = found.exposure, job.show_units
    stretch, rule = format_length(exposure.stretch_m, units), format_length(job.spacing_m, units)
    beside = f"The stretch of the line beside the bore is {stretch} long"
    if exposure.stretch_m <= job.spacing_m:
        return f"{beside}, no longer than the spacing rule of {rule}: one hole is enough."
    farthest = format_length(exposure.farthest_m, units)
    half = format_length(0.5 * job.spacing_m, units)
    return (
        f"{beside}, longer than the spacing rule of {rule}: no point of it may be more than half of that, "
        f"{half}, along the line from a found hole; the farthest is {farthest}."
    )


def verdict_words(found: FoundCrossing, job: JobInput) -> list[Step]:
    """Every verdict in the order of asking; the first whose answer is yes is given."""
    clearance, units = found.clearance, job.show_units
    separation = format_length(clearance.separation_m, units, "down")
    left = format_length(clearance.worst_case_m, units, "down")
    wanted = format_length(found.required_m, units, "up")
    asks = {
        Verdict.OVERLAP: (
            "Is the depth known and the separation below 0?",
            f"the separation is {separation}",
        ),
        Verdict.UNEXPOSED: (
            "Is the line not exposed here?",
            "a test hole exposes it" if found.is_exposed else "no test hole exposes it as the rules ask",
        ),
        Verdict.STALE: (
            "Was the line re-marked since, or is its mark reported gone?",
            found.stale_because or "nothing of the kind is on record",
        ),
        Verdict.SHORT: ("Is the worst case below what is required, or unknown?", f"{left} against {wanted}"),
        Verdict.CLEAR: ("Otherwise clear.", "nothing stands against it"),
    }
    steps, is_asked = [], True
    for verdict, fits in found.steps:
        question, grounds = asks[verdict]
        answer = f"{'Yes' if fits else 'No'}: {grounds}."
        steps.append(Step(str(verdict), question, answer, is_asked and fits, is_asked))
        is_asked = is_asked and not fits
    return steps
