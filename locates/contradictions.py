"""What on a ticket cannot all be true: an answer against the marks, or a known line against who was notified.

The words for people; `locates.models.answer_conflicts` finds the facts.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID


class ContradictionKind(StrEnum):
    """What contradicts what."""

    DENIED = "denied"
    BARE = "bare"
    NOT_NOTIFIED = "not_notified"


@dataclass(frozen=True, slots=True)
class EarlierLine:
    """A line that another job of the organisation knows in a ticket's work area.

    Attributes
    ----------
    job_id, job_name
        That job; of several, the one that saw the line last.
    ref : str
        The mark there.
    more_jobs : int
        How many other jobs know a line of this operator in the area.
    """

    job_id: UUID
    job_name: str
    ref: str
    more_jobs: int


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One contradiction on one ticket. ``earlier`` is there for an operator that was not notified."""

    ticket_id: UUID
    kind: ContradictionKind
    operator: str
    earlier: EarlierLine | None = None

    @property
    def sentence(self) -> str:
        """What contradicts what."""
        if self.earlier is not None:
            return (
                f"{self.operator} was not notified, but job {self.earlier.job_name} has a line of it, mark "
                f"{self.earlier.ref}, in the work area{_and_more(self.earlier.more_jobs)}."
            )
        if self.kind is ContradictionKind.DENIED:
            return f'{self.operator} answered "no facilities", but a mark of it is logged in the work area.'
        return f'{self.operator} answered "marked", but no mark of it is logged in the work area.'

    @property
    def action(self) -> str:
        """What settles it."""
        if self.kind is ContradictionKind.DENIED:
            return (
                "Ask the operator whose line it is. Log its new answer, or correct the mark's operator; "
                "until then treat the line as there."
            )
        if self.kind is ContradictionKind.BARE:
            return "Look on the ground: log the marks, or ask the operator where they are."
        return (
            "Ask the centre why it did not notify this operator. Call the operator yourself, add it to this "
            "ticket, and look for its line on the ground."
        )


def by_ticket(contradictions: Iterable[Contradiction]) -> dict[UUID, list[Contradiction]]:
    """Contradictions under the id of their ticket, each list in the order in which they came."""
    found: dict[UUID, list[Contradiction]] = {}
    for one in contradictions:
        found.setdefault(one.ticket_id, []).append(one)
    return found


def _and_more(jobs: int) -> str:
    if jobs == 0:
        return ""
    return f"; {jobs} more job{'' if jobs == 1 else 's'} know{'s' if jobs == 1 else ''} one there"
