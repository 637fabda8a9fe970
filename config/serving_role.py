"""The role that the site asks the database as: it uses the tables, and owns none of them.

After every migration, by the owner: made where it is missing, and given exactly what the site needs. It reads
the record of changes and adds to what is signed; it changes neither, takes away no record of a job, empties
no table and switches no guard off.
"""

from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper
from psycopg import sql

from locates.kept_records import TAKEN_AWAY, sealed_models
from locates.models import RecordEvent

ALL_ROWS = "SELECT, INSERT, UPDATE, DELETE"
KEPT_ROWS = "SELECT, INSERT, UPDATE"
NEW_ROWS = "SELECT, INSERT"
NO_ROWS = "SELECT"

OWN_TABLES = """
SELECT c.relname, c.relkind = 'S' FROM pg_class c
WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p', 'v', 'm', 'S')
AND c.relowner = current_user::regrole
AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = c.oid AND d.classid = 'pg_class'::regclass
    AND d.deptype = 'e')
ORDER BY c.relname
"""
TOO_MUCH = """
SELECT rolsuper OR rolcreaterole OR rolcreatedb OR rolreplication OR rolbypassrls
    OR pg_has_role(oid, current_user, 'MEMBER')
FROM pg_roles WHERE rolname = %s
"""


def grant_after_migrating(**_: Any) -> None:
    """Give the site's role its rights, where the set-up names one besides the owner."""
    site = settings.SERVING_DATABASE
    if site is not None:
        with transaction.atomic(), connection.cursor() as cursor:
            _make_role(cursor, site["USER"], site["PASSWORD"])
            _grant(cursor, site["USER"])


def _make_role(cursor: CursorWrapper, role: str, password: str) -> None:
    cursor.execute(TOO_MUCH, [role])
    found = cursor.fetchone()
    if found is not None:
        if found[0]:
            raise ImproperlyConfigured(
                f"DATABASE_URL names {role}, which may do more than use the tables: accepted is another role "
                "than that of OWNER_DATABASE_URL, no superuser, no member of it, that may make neither roles "
                "nor databases."
            )
        return
    cursor.execute("SELECT rolsuper OR rolcreaterole FROM pg_roles WHERE rolname = current_user")
    if not cursor.fetchone()[0]:
        raise ImproperlyConfigured(
            f"DATABASE_URL names {role}, which is not there, and that of OWNER_DATABASE_URL may not make it."
            f" Type as a superuser of the database: CREATE ROLE {role} LOGIN PASSWORD '...'"
        )
    words = sql.SQL("CREATE ROLE {} LOGIN").format(sql.Identifier(role))
    if password:
        words += sql.SQL(" PASSWORD {}").format(sql.Literal(_hidden(password, role)))
    cursor.execute(words)


def _hidden(password: str, role: str) -> str:
    """The password as the server keeps it, so that no log of statements shows it."""
    encrypt = connection.connection.pgconn.encrypt_password
    hidden: bytes = encrypt(password.encode(), role.encode(), b"scram-sha-256")
    return hidden.decode()


def _grant(cursor: CursorWrapper, role: str) -> None:
    rights = {apps.get_model(label)._meta.db_table: ALL_ROWS for label in TAKEN_AWAY}
    rights |= {model._meta.db_table: NEW_ROWS for model in sealed_models()}
    # Events are written with the owner's rights, by the triggers alone.
    rights |= {RecordEvent._meta.db_table: NO_ROWS, "django_migrations": NO_ROWS}
    cursor.execute(OWN_TABLES)
    for name, is_sequence in cursor.fetchall():
        given = "USAGE, SELECT" if is_sequence else rights.get(name, KEPT_ROWS)
        kind = "SEQUENCE" if is_sequence else "TABLE"
        _run(cursor, f"REVOKE ALL ON {kind} {{name}} FROM PUBLIC, {{role}}", role, name)
        _run(cursor, f"GRANT {given} ON {kind} {{name}} TO {{role}}", role, name)
    # Pages of the past read through temporary views.
    database = connection.settings_dict["NAME"]
    _run(cursor, "GRANT CONNECT, TEMPORARY ON DATABASE {name} TO {role}", role, database)
    _run(cursor, "GRANT USAGE ON SCHEMA public TO {role}", role)
    _run(cursor, "REVOKE CREATE ON SCHEMA public FROM PUBLIC, {role}", role)


def _run(cursor: CursorWrapper, words: str, role: str, name: str = "") -> None:
    cursor.execute(sql.SQL(words).format(role=sql.Identifier(role), name=sql.Identifier(name or "public")))
