"""What time it is, by every clock that could be wrong."""

from datetime import datetime

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
