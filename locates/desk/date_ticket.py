"""The dates that a jurisdiction's rule gives a ticket."""

from dataclasses import replace

from locates.models import JurisdictionRule
from locates.one_call.calendar_terms import CentreDay
from locates.one_call.clock import Call, TicketDates, no_dates, ticket_dates
from locates.one_call.clock_reader import read_clock
from locates.one_call.clock_text import Described, described


def dates_of(rule: JurisdictionRule, call: Call, *, own_days: tuple[CentreDay, ...]) -> TicketDates:
    """Work out the dates of a call under one version of a rule.

    Parameters
    ----------
    rule : JurisdictionRule
        Its ``clock`` as stored; an empty one gives no date, and says so.
    call : Call
        The notice.
    own_days : tuple of CentreDay
        Days that the centre counts its own way, as the company knows them; they go before the clock's.

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
    clock = read_clock(rule.clock)
    days = clock.working_days
    told = (*own_days, *days.centre_days)
    return ticket_dates(replace(clock, working_days=replace(days, centre_days=told)), call)


def clock_in_words(rule: JurisdictionRule) -> tuple[Described, ...]:
    """How one version of a rule counts the dates of a ticket; nothing where that was not read."""
    return described(read_clock(rule.clock)) if rule.clock else ()
