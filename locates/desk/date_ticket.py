"""The dates that a jurisdiction's rule gives a ticket."""

from locates.models import JurisdictionRule
from locates.one_call.clock import Call, TicketDates, no_dates, ticket_dates
from locates.one_call.clock_reader import read_clock
from locates.one_call.clock_text import Described, described


def dates_of(rule: JurisdictionRule, call: Call) -> TicketDates:
    """Work out the dates of a call under one version of a rule.

    Parameters
    ----------
    rule : JurisdictionRule
        Its ``clock`` as stored; an empty one gives no date, and says so.
    call : Call
        The notice.

    Returns
    -------
    TicketDates
        See `locates.one_call.clock.ticket_dates`.

    Raises
    ------
    ClockError
        A stored clock that cannot be read, a kind that is none, a moment without an offset.
    """
    if not rule.clock:
        return no_dates(
            f"how {rule.code} counts the dates of a ticket was not read for version {rule.version}"
        )
    return ticket_dates(read_clock(rule.clock), call)


def clock_in_words(rule: JurisdictionRule) -> tuple[Described, ...]:
    """How one version of a rule counts the dates of a ticket; nothing where that was not read."""
    return described(read_clock(rule.clock)) if rule.clock else ()
