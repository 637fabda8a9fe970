"""A variance in words, wherever one excuses something, and the facts that it is bound to."""

from collections.abc import Iterable
from dataclasses import dataclass

from conflicts.evidence import NONE_ATTACHED
from conflicts.faults import Fault
from conflicts.site_records import VarianceInput
from locates.canonical import canonical_text, digest_of
from locates.local_time import format_moment
from locates.units import format_length


@dataclass(frozen=True)
class VarianceFacts:
    """A check's faults or a pass's stops; or records, verdict, worst case and required of a crossing, m.

    ``faults`` is None and ``verdict`` empty where nothing is known of them: that excuses nothing.
    """

    faults: tuple[Fault, ...] | None = None
    verdict: str = ""
    worst_case_m: float | None = None
    required_m: float | None = None

    @property
    def digest(self) -> str:
        """SHA-256 of the facts, by which a page that was shown is held against those at signing."""
        faults = None if self.faults is None else [list(one) for one in self.faults]
        return digest_of(canonical_text([faults, self.verdict, self.worst_case_m, self.required_m]))


def variance_words(variance: VarianceInput, time_zone: str) -> str:
    """A sentence on who signed a variance, until when, and why.

    Parameters
    ----------
    variance : VarianceInput
    time_zone : str
        IANA name.
    """
    until = format_moment(variance.until, time_zone)
    told = f"Under a variance signed by {variance.signed_by}, until {until}: {variance.reason.rstrip('. ')}."
    return f"{told} {NONE_ATTACHED.capitalize()}: words alone." if variance.is_none_attached else told


OF_GONE = "A stop that is set off later, or a crossing that comes back, holds."
UNBOUND = "It is not known what stood when it was signed: it excuses nothing."


def bound_words(subject: str, facts: VarianceFacts, pass_made: str, units: str) -> str:
    """What a signed variance excuses, in words.

    Parameters
    ----------
    subject : str
        "check", "crossing", "watch", "gone" or "drilled".
    facts : VarianceFacts
        Of the moment of its signing.
    pass_made : str
        The pass that a variance for a watch names; empty where it names none.
    units : str
        "feet" or "metres".
    """
    if subject == "watch":
        return _of_pass(pass_made, facts, units)
    if subject == "check":
        if facts.faults is None:
            return UNBOUND
        told = " ".join(one.words for one in facts.faults)
        return told or "Nothing of this check held: it excuses nothing."
    if subject == "gone":
        if facts.faults is None:
            return UNBOUND
        return f"All passes of it, and its camera where it is a sewer. {_words(facts.faults)} {OF_GONE}"
    if not facts.verdict or facts.required_m is None or facts.faults is None:
        return UNBOUND
    if subject == "drilled":
        return _of_drilled(facts, units)
    if facts.verdict in ("clear", "overlap"):
        return f"The crossing was {facts.verdict}: it excuses nothing."
    return (
        f"{facts.verdict.capitalize()}, with {_figures(facts, units)} {_words(facts.faults)} "
        "Another verdict, a lesser gap or margin, or a changed record holds."
    )


def _of_drilled(facts: VarianceFacts, units: str) -> str:
    if facts.verdict == "clear":
        return "The drilled hole was clear: it excuses nothing."
    told = f"As drilled {facts.verdict}, with {_figures(facts, units)} {_words(facts.faults or ())}"
    met = " It meets the line, so this lifts no stop." if facts.verdict == "overlap" else ""
    return f"{told} Another verdict, a lesser gap or margin, or a changed record holds.{met}"


def _of_pass(pass_made: str, facts: VarianceFacts, units: str) -> str:
    if not pass_made:
        return "It names no pass: it excuses none."
    if facts.faults is None:
        return UNBOUND
    told = _words(facts.faults)
    if facts.verdict:
        return (
            f"The {pass_made} of this crossing alone, seen or not, while it is {facts.verdict}, with "
            f"{_figures(facts, units)} {told} A worse verdict, a lesser gap or margin, a changed record, or "
            "a stop that is set off later holds."
        )
    return f"The {pass_made} of this crossing alone, with what stopped it. {told}" if told else UNBOUND


def _figures(facts: VarianceFacts, units: str) -> str:
    worst = "unknown" if facts.worst_case_m is None else format_length(facts.worst_case_m, units, "down")
    return f"{worst} in the worst case and {format_length(facts.required_m, units, 'up')} required."


def _words(faults: Iterable[Fault]) -> str:
    return " ".join(one.words for one in faults)
