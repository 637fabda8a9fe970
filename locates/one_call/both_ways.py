"""Milestones of a ticket, reckoned once with all doubtful days left out and once with all of them counted.

More days that count never make a milestone later. So each lies between the two, whatever the doubtful days
turn out to be; one that comes out sooner without those days, or hangs on an hour, is doubted.
"""

from collections.abc import Callable
from dataclasses import replace

from locates.one_call.calendar_terms import DoubtfulDay
from locates.one_call.clock_terms import Term
from locates.one_call.clock_words import FROM
from locates.one_call.milestones import Law, Milestone, moment_of, say
from locates.one_call.ticket_span import Moments


class HangsOnADay(str):
    """A doubt in words that comes of a doubtful day: what it is about may be later than either reckoning."""


Reckoning = Callable[[Law, Moments], Milestone]


class BothWays:
    """Milestones by name, each at its latest and at its soonest.

    Parameters
    ----------
    law : Law
        The jurisdiction's.

    Attributes
    ----------
    late, soon : Law
        The same with the doubtful days left out, and with them counted.
    latest, soonest : dict of str to Milestone
        What was reckoned under either.
    """

    def __init__(self, law: Law) -> None:
        self.late, self.soon = (_taking(law, counted=counted) for counted in (False, True))
        self.latest: dict[str, Milestone] = {}
        self.soonest: dict[str, Milestone] = {}

    def reckon(self, name: str, how: Reckoning, term: Term | None = None, base: str = "") -> None:
        """Reckon a milestone both ways.

        Parameters
        ----------
        name : str
            Of the milestone.
        how : callable
            Gives it from a law and the milestones known so far.
        term : Term, optional
            Counted for it. One that ends at the time of day of what it is counted from may end sooner on a
            day when it begins later: it is doubted unless it begins at one moment either way.
        base : str
            What the term is counted from.
        """
        late, soon = how(self.late, self.latest), how(self.soon, self.soonest)
        if term is not None and term.end.at is None and self.latest[base].at != self.soonest[base].at:
            words = f"at what time of day {FROM[base]} is, which hangs on a doubtful day"
            late = late.doubted((HangsOnADay(words),))
        if late.at is not None and soon.at is not None and late.at < soon.at:
            # Such as a call after the cut-off: on a day that counts it is received the next, else at once.
            what = FROM.get(name, f"the {name}")
            late, soon = soon, late
            either = f"{say(moment_of(soon))} or {say(moment_of(late))}"
            late = late.doubted((HangsOnADay(f"whether {what} is {either}, for a day is doubtful"),))
        self.put(name, late, soon)

    def put(self, name: str, late: Milestone, soon: Milestone) -> None:
        """Keep a milestone; what is not known or not sure either way is so in both."""
        unknown = next((one for one in (late, soon) if one.at is None), None)
        if unknown is not None:
            late = soon = unknown.doubted((*late.doubts, *soon.doubts))
        self.latest[name] = late.doubted(_in_words(soon))
        self.soonest[name] = soon.doubted(_in_words(late))


def _taking(law: Law, *, counted: bool) -> Law:
    days = replace(law.clock.working_days, doubtful_days_count=counted)
    return replace(law, clock=replace(law.clock, working_days=days))


def _in_words(milestone: Milestone) -> tuple[str, ...]:
    """All its doubts but the doubtful days."""
    return tuple(doubt for doubt in milestone.doubts if not isinstance(doubt, DoubtfulDay))
