"""A second session of the test database, to hold locks with and to look on from."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection


@contextmanager
def other_session() -> Iterator[Any]:
    """A connection beside the test's own; what it holds goes when the block ends."""
    other = connection.copy()
    try:
        yield other
    finally:
        other.close()


@contextmanager
def locked_row(table: str, key: Any) -> Iterator[None]:
    """Hold a row as a transaction does that has changed it and is not yet at its end."""
    with other_session() as other:
        other.set_autocommit(False)
        with other.cursor() as cursor:
            cursor.execute(f"SELECT FROM {table} WHERE id = %s FOR NO KEY UPDATE", [key])
        yield
        other.rollback()


@contextmanager
def held_advisory_lock(space: int, key: int) -> Iterator[None]:
    """Hold an advisory lock as another process does."""
    with other_session() as other, other.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s, %s)", [space, key])
        yield
        cursor.execute("SELECT pg_advisory_unlock(%s, %s)", [space, key])


WAITING = "FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'"


def waiting_sessions() -> int:
    """How many sessions of this database wait for a lock."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_stat_clear_snapshot()")  # in a transaction the first look would stay
        cursor.execute(f"SELECT count(*) {WAITING}")
        return cursor.fetchone()[0]


def cut_waiting_sessions() -> int:
    """End the sessions of this database that wait for a lock, as a failing network does; gives how many."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT pg_terminate_backend(pid) {WAITING}")
        return len(cursor.fetchall())
