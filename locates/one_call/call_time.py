"""When a call to the one-call centre can have been made: never later than now."""

from datetime import datetime, timedelta

from locates.local_time import format_moment

# Clocks of a phone, a browser and a server differ by minutes. Common practice, no source.
CLOCK_SKEW = timedelta(minutes=5)


def call_accepted_instead(called_at: datetime, at: datetime, time_zone: str) -> str:
    """What is accepted in place of the time of a call that cannot have been made yet.

    Every date of a ticket counts from its call: one that is to come would date the ticket from a notice that
    nobody has given.

    Parameters
    ----------
    called_at, at : datetime
        When the ticket is said to have been called in, and now, with an offset.
    time_zone : str
        IANA name of the zone in which the words give now.

    Returns
    -------
    str
        Words for the person; "" where the call can have been made.
    """
    if called_at <= at + CLOCK_SKEW:
        return ""
    return f"the time at which the ticket was called in, not later than now, {format_moment(at, time_zone)}"
