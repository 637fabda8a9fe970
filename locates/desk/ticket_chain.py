"""A ticket with all that it renews or re-marks and all that renews or re-marks it, as one history."""

from collections import defaultdict
from dataclasses import dataclass

from locates.models import Ticket


@dataclass(frozen=True, slots=True)
class Chain:
    """Tickets of one history, in the order in which they were called in.

    ``missing_number`` is the number that the first of them follows and that is not logged on the job.
    """

    tickets: list[Ticket]
    missing_number: str


def chain_of(ticket: Ticket) -> Chain:
    """Read the history of a ticket, in one query; a ring of tickets that follow each other is read once."""
    of_job = Ticket.objects.filter(job=ticket.job_id).defer("area", "computed_dates")
    by_number = {one.number: one for one in of_job}
    first = _first(ticket, by_number)
    successors = defaultdict(list)
    for one in by_number.values():
        successors[one.previous_number].append(one)
    found, waiting = {}, [first]
    while waiting:
        one = waiting.pop()
        if one.number not in found:
            found[one.number] = one
            waiting += successors[one.number]
    missing = "" if first.previous_number in by_number else first.previous_number
    return Chain(sorted(found.values(), key=lambda one: (one.called_at, one.number)), missing)


def _first(ticket: Ticket, by_number: dict[str, Ticket]) -> Ticket:
    """The earliest ticket that a ticket goes back to."""
    first, seen = ticket, {ticket.number}
    while first.previous_number in by_number and first.previous_number not in seen:
        first = by_number[first.previous_number]
        seen.add(first.number)
    return first
