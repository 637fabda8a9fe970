"""Rows and entries put in by SQL with every trigger on: the record of changes tells who, and from where."""

import io
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from conflicts.models import DailyWalk
from locates.acting import acting
from locates.canonical import digest_of
from locates.chain import entry_digest
from locates.desk.ledger import enter
from locates.desk.prove_ledger import OTHER_SIGNER, prove_ledger
from locates.models import LedgerEntry, RecordEvent
from locates.models.event_witness import BY_OWNER, NO_PAGE, OTHER_PERSON, OTHER_TIME
from locates.signed_kinds import signed_kinds
from tests.factories import DailyWalkFactory, PersonFactory
from tests.signing import signing

pytestmark = pytest.mark.django_db


def put_in(walk, *, entered_at=None):
    """A walk like one that was signed, with an entry that continues the chain, in plain SQL."""
    forged_id = uuid4()
    columns = ", ".join(one.column for one in DailyWalk._meta.concrete_fields if one.column != "id")
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO conflicts_dailywalk (id, {columns}) SELECT %s, {columns} FROM conflicts_dailywalk"  # noqa: S608
            " WHERE id = %s",
            [forged_id, walk.pk],
        )
        old, head = LedgerEntry.objects.get(record_id=walk.pk), LedgerEntry.objects.latest("sequence")
        content = old.content.replace(str(walk.pk), str(forged_id))
        entry = LedgerEntry(
            sequence=head.sequence + 1,
            kind="walk",
            record_id=forged_id,
            job_id=old.job_id,
            content=content,
            content_sha256=digest_of(content),
            previous_sha256=head.entry_sha256,
            entered_at=entered_at or timezone.now(),
            entered_by_id=old.entered_by_id,
        )
        columns = {
            one.column: getattr(entry, one.attname)
            for one in LedgerEntry._meta.concrete_fields
            if one.column != "entry_sha256"
        } | {"entry_sha256": entry_digest(entry)}
        cursor.execute(
            f"INSERT INTO locates_ledgerentry ({', '.join(columns)})"  # noqa: S608
            f" VALUES ({', '.join(['%s'] * len(columns))})",
            list(columns.values()),
        )
    return forged_id


def fault():
    """Why, and at which entry; the page, which proves the last entries alone, says the same."""
    proof = prove_ledger()
    assert prove_ledger(last=3).fault == proof.fault
    return proof.fault and (proof.fault.sequence, proof.fault.why)


def test_a_walk_and_entry_put_in_by_nobody_are_the_first_bad_entry(chain):
    forged_id = put_in(chain[0][0])
    assert RecordEvent.objects.get(record_id=forged_id).source == ""
    assert fault() == (7, NO_PAGE)
    out = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("verify_ledger", stdout=out)
    assert out.getvalue() == f"Not proven. The first bad entry is 7 (walk {forged_id}). {NO_PAGE}\n"


@pytest.mark.parametrize(
    "source", ["command shell", "command migrate", "migration", "task x", "page", "demo_data"]
)
def test_what_is_no_page_and_no_command_that_signs_signs_nothing(chain, source):
    with acting(source, chain[0][0].walked_by):
        put_in(chain[0][0])
    assert fault() == (7, NO_PAGE)


def test_a_page_signs_for_the_person_who_is_logged_in_alone(chain):
    with signing(PersonFactory()):
        put_in(chain[0][0])
    assert fault() == (7, OTHER_PERSON)


def test_a_page_on_which_nobody_is_logged_in_signs_nothing(chain):
    with acting("page /bores/"):
        put_in(chain[0][0])
    assert fault() == (7, OTHER_PERSON)


def test_the_command_of_the_invented_jobs_signs_for_its_people_and_for_no_other(chain):
    with acting("command demo_data"):
        put_in(chain[0][0])
    assert fault() is None
    with acting("command demo_data", PersonFactory()):
        put_in(chain[0][0])
    assert fault() == (8, OTHER_PERSON)


@pytest.mark.parametrize("days", [-3, 3])
def test_an_entry_is_of_the_time_at_which_its_record_was_stored(chain, days):
    with signing(chain[0][0].walked_by):
        put_in(chain[0][0], entered_at=timezone.now() + timedelta(days=days))
    assert fault() == (7, OTHER_TIME)


def test_an_entry_by_another_than_the_signer_is_bad(chain):
    walk = chain[0][0]
    with signing(walk.walked_by):
        second = DailyWalkFactory(bore=walk.bore, walked_by=walk.walked_by)
        enter(second, by=PersonFactory())
    assert fault() == (7, OTHER_SIGNER)


@pytest.fixture
def serving():
    """A role that the program is served as; gives what stands in the events instead of the owner's name."""
    role = f"serving_{uuid4().hex}"
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE ROLE {role} NOLOGIN")
        cursor.execute(f"GRANT SELECT, INSERT ON ALL TABLES IN SCHEMA public TO {role}")
    return role


def test_once_the_program_is_served_as_another_role_the_owner_of_the_tables_signs_nothing(chain, serving):
    walk = chain[0][0]
    with connection.cursor() as cursor, signing(walk.walked_by):
        cursor.execute(f"SET SESSION AUTHORIZATION {serving}")
        put_in(walk)
        cursor.execute("RESET SESSION AUTHORIZATION")
        assert fault() is None
        put_in(walk)
    assert fault() == (8, BY_OWNER)


def test_roles_of_the_machine_that_a_database_came_from_are_nothing_against_it(chain, serving):
    walk = chain[0][0]
    with connection.cursor() as cursor, signing(walk.walked_by):
        cursor.execute(f"SET SESSION AUTHORIZATION {serving}")
        put_in(walk)
        cursor.execute("RESET SESSION AUTHORIZATION")
        cursor.execute(f"DROP OWNED BY {serving}")
        cursor.execute(f"DROP ROLE {serving}")
        put_in(walk)
    assert fault() is None


def test_every_signed_kind_says_who_signed_it():
    """And the column that says so stands in its entry."""
    for model, _ in signed_kinds().values():
        people = [
            column.attname
            for column in model._meta.concrete_fields
            if column.related_model is not None and column.related_model._meta.label == "auth.User"
        ]
        record = model(**dict.fromkeys(people, 7))
        assert (len(people), record.signer_id) == (1, 7)
