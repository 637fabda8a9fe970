"""What time it is, by every clock that could be wrong."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import connection
from django.utils import timezone


def moments_now() -> tuple[datetime, ...]:
    """Tell this moment by the database's clock and by this machine's, the earlier first.

    Whoever asks whether something still holds asks at both: a clock that is wrong then ends it sooner, and
    never keeps it alive.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        [of_database] = cursor.fetchone()
    return tuple(sorted((of_database, timezone.now())))


def dated_after(moments: Sequence[datetime], *before: datetime | None) -> datetime:
    """The moment that something signed at these moments is dated by, the earlier first.

    By the earlier one, so that it counts at once, whichever clock is ahead. What was signed before it stays
    before it, though a clock is behind: the last one counts, and a variance knows of what came before it.
    """
    told = (one + timedelta.resolution for one in before if one is not None and one < moments[-1])
    return max([moments[0], *told])
