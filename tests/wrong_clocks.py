"""Clocks that are wrong: this machine's, and the database's."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from unittest.mock import patch

from django.db import connection
from django.utils import timezone

RIGHT = timezone.now


@contextmanager
def machine_clock_off(by: timedelta) -> Iterator[None]:
    """Set this process's clock ahead, or back where it is negative."""

    def wrong() -> datetime:
        return RIGHT() + by

    with patch.object(timezone, "now", wrong):
        yield


@contextmanager
def database_clock_off(by: timedelta) -> Iterator[None]:
    """Have this connection's database tell a wrong time, by a function that it finds before its own."""
    with connection.cursor() as cursor:
        cursor.execute("CREATE SCHEMA wrong_clock")
        cursor.execute(
            "CREATE FUNCTION wrong_clock.clock_timestamp() RETURNS timestamptz LANGUAGE sql AS "
            f"$$ SELECT pg_catalog.clock_timestamp() + interval '{by.total_seconds()} s' $$"
        )
        cursor.execute("SET search_path TO wrong_clock, pg_catalog, public")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SET search_path TO DEFAULT")
            cursor.execute("DROP SCHEMA wrong_clock CASCADE")
