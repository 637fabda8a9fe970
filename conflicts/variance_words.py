"""A variance in words, wherever one excuses something, and the facts that it is bound to."""

from dataclasses import dataclass

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
    return f"Under a variance signed by {variance.signed_by}, until {until}: {variance.reason.rstrip('. ')}."


UNBOUND = "It is not known what stood when it was signed: it excuses nothing."


def bound_words(subject: str, facts: VarianceFacts, pass_made: str, units: str) -> str:
    """What a signed variance excuses, in words.

    Parameters
    ----------
    subject : str
        "check", "crossing" or "watch".
    facts : VarianceFacts
        Of the moment of its signing.
    pass_made : str
        The pass that a variance for a watch names; empty where it names none.
    units : str
        "feet" or "metres".
    """
    if subject == "watch":
        return _of_pass(pass_made, facts.faults)
    if subject == "check":
        if facts.faults is None:
            return UNBOUND
        told = " ".join(one.words for one in facts.faults)
        return told or "Nothing of this check held: it excuses nothing."
    if not facts.verdict or facts.required_m is None or facts.faults is None:
        return UNBOUND
    if facts.verdict in ("clear", "overlap"):
        return f"The crossing was {facts.verdict}: it excuses nothing."
    worst = "unknown" if facts.worst_case_m is None else format_length(facts.worst_case_m, units, "down")
    records = " ".join(one.words for one in facts.faults)
    return (
        f"{facts.verdict.capitalize()}, with {worst} in the worst case and "
        f"{format_length(facts.required_m, units, 'up')} required. {records} "
        "Another verdict, a lesser gap or margin, or a changed record holds."
    )


def _of_pass(pass_made: str, stops: tuple[Fault, ...] | None) -> str:
    if not pass_made:
        return "It names no pass: it excuses none."
    if stops is None:
        return UNBOUND
    told = " ".join(one.words for one in stops)
    if told:
        return f"The {pass_made} of this crossing alone, with what stopped it. {told}"
    return f"The {pass_made} of this crossing alone, seen or not; a stop that is set off later stands."
