"""A lock in PostgreSQL that goes with the process that holds it."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection

# A killed process is noticed at once while its session is idle. While a statement of it waits or computes the
# server has to look for itself, and a machine that is cut off has to be asked whether it is still there.
NOTICE_THE_DEAD = """
SELECT set_config('client_connection_check_interval', '1s', false),
       set_config('tcp_keepalives_idle', '10', false),
       set_config('tcp_keepalives_interval', '5', false),
       set_config('tcp_keepalives_count', '3', false)
"""


@contextmanager
def advisory_lock(space: int, key: int) -> Iterator[bool]:
    """Hold the connection's advisory lock of a key for the block; False at once where another holds it.

    A connection that breaks in the block takes the lock with it.
    """
    with connection.cursor() as cursor:
        cursor.execute(NOTICE_THE_DEAD)
        cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", [space, key])
        [is_held] = cursor.fetchone()
    try:
        yield is_held
    finally:
        if is_held:
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_unlock(%s, %s)", [space, key])
