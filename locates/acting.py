"""Who writes, and from where: told to the database's session, whose triggers put it into the record.

A session is kept from one request to the next, so what it was told is taken back at the end of each. One that
breaks in between is replaced by one that is told the same.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db import DatabaseError, connection
from django.db.backends.base.base import BaseDatabaseWrapper
from psycopg.pq import TransactionStatus

if TYPE_CHECKING:  # the command line says who acts before the apps are there
    from django.contrib.auth.models import AbstractBaseUser

TELL = (
    "SELECT set_config('crosswatch.person', %s, false), set_config('crosswatch.person_name', %s, false),"
    " set_config('crosswatch.source', %s, false)"
)


@dataclass(frozen=True, slots=True)
class Actor:
    """A person, where one is known, and the page, command or task."""

    person_id: int | None = None
    person_name: str = ""
    source: str = ""


NOBODY = Actor()

_actor: ContextVar[Actor] = ContextVar("actor", default=NOBODY)


def act_from(source: str) -> None:
    """Have what this process writes recorded as written from here, where nothing nearer is said."""
    _actor.set(Actor(source=source))


@contextmanager
def acting(source: str, person: "AbstractBaseUser | None" = None) -> Iterator[None]:
    """Have everything written inside recorded as written from here, by this person.

    Parameters
    ----------
    source : str
        Such as ``page /jobs/…``, ``command load_job`` or ``task locates.sweep_tickets``.
    person : AbstractBaseUser, optional
        Who is logged in; none where nobody is, or a machine does the work.
    """
    name = "" if person is None else person.get_full_name() or person.get_username()
    before = _actor.set(Actor(None if person is None else person.pk, name, source))
    _tell(_actor.get())
    try:
        yield
    finally:
        _actor.reset(before)
        _tell(_actor.get())


def tell_new_session(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Tell a session that has just begun, in the middle of the work or before it."""
    actor = _actor.get()
    if actor != NOBODY:
        _say(connection, actor)


def _tell(actor: Actor) -> None:
    """Tell the database that is connected; a later connection is told then, a broken one is let go."""
    if connection.connection is None:
        return
    if connection.connection.info.transaction_status == TransactionStatus.INERROR:
        # Rolling back takes what was told inside along, and nothing can be said before.
        return
    try:
        _say(connection, actor)
    except DatabaseError:
        connection.close()


def _say(session: BaseDatabaseWrapper, actor: Actor) -> None:
    person = "" if actor.person_id is None else str(actor.person_id)
    with session.cursor() as cursor:
        cursor.execute(TELL, [person, actor.person_name, actor.source])
