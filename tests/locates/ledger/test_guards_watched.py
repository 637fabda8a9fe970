"""A guard of the database that was taken away or switched off is told, also where the chain is sound."""

import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.urls import reverse

from locates.desk.prove_ledger import prove_ledger
from locates.kept_records import expected_guards
from locates.models.guard_watch import guards_fallen
from tests.factories import person_in_role

pytestmark = pytest.mark.django_db

SHOWN = "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal"
ALTERED = [
    ("ALTER TABLE conflicts_dailywalk DISABLE TRIGGER keep_insert", "is switched off."),
    ("ALTER TABLE conflicts_dailywalk ENABLE TRIGGER keep_insert", "does not stand in every session."),
    (
        "ALTER TABLE conflicts_dailywalk ENABLE REPLICA TRIGGER keep_insert",
        "does not stand in every session.",
    ),
    ("DROP TRIGGER keep_insert ON conflicts_dailywalk", "is gone."),
]
NOTHING = "RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NULL; END'"


def run(*statements):
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for one in statements:
            cursor.execute(one)


def test_all_that_the_migrations_made_is_expected_and_stands():
    with connection.cursor() as cursor:
        cursor.execute(SHOWN)
        there = set(cursor.fetchall())
    assert {(guard.table, guard.name) for guard in expected_guards()} == there
    assert guards_fallen(expected_guards()) == []


@pytest.mark.parametrize(("statement", "words"), ALTERED)
def test_a_guard_that_does_not_stand_is_told(chain, statement, words):
    run(statement)
    assert prove_ledger().fault is None
    assert prove_ledger().fallen_guards == (f"The guard keep_insert of conflicts_dailywalk {words}",)


@pytest.mark.parametrize("guard", expected_guards(), ids=lambda guard: f"{guard.table}-{guard.name}")
def test_each_single_guard_is_missed(guard):
    run(f"ALTER TABLE {guard.table} DISABLE TRIGGER {guard.name}")
    assert guards_fallen(expected_guards()) == [f"The guard {guard.name} of {guard.table} is switched off."]


@pytest.mark.parametrize(
    "statements",
    [
        ("CREATE OR REPLACE TRIGGER {0} BEFORE UPDATE ON {1} EXECUTE FUNCTION locates_refuse_rewriting('')",),
        (
            "CREATE OR REPLACE TRIGGER {0} BEFORE DELETE OR UPDATE OR TRUNCATE ON {1}"
            " EXECUTE FUNCTION locates_refuse_forging()",
        ),
        (f"CREATE OR REPLACE FUNCTION locates_refuse_rewriting() {NOTHING}",),
    ],
    ids=["another moment", "another function", "another source"],
)
def test_a_guard_that_was_made_anew_to_do_nothing_is_told(statements):
    names = ("refuse_rewriting", "locates_ledgerentry")
    run(
        *(one.format(*names) for one in statements),
        "ALTER TABLE {1} ENABLE ALWAYS TRIGGER {0}".format(*names),
    )
    assert "The guard refuse_rewriting of locates_ledgerentry is not as it was made." in guards_fallen(
        expected_guards()
    )


def test_what_stands_beside_the_guards_and_could_get_past_them_is_told():
    run(
        "CREATE RULE aside AS ON INSERT TO locates_mark DO INSTEAD NOTHING",
        "CREATE TRIGGER aaa BEFORE UPDATE ON locates_recordevent FOR EACH ROW"
        " EXECUTE FUNCTION suppress_redundant_updates_trigger()",
    )
    assert guards_fallen(expected_guards()) == [
        "The rule aside of locates_mark is none of this program's.",
        "The trigger aaa of locates_recordevent is none of this program's.",
    ]


def test_the_command_names_the_fallen_guards_and_ends_with_one(chain):
    run("ALTER TABLE locates_photo DISABLE TRIGGER refuse_rewriting")
    for format_, read in (("text", str.splitlines), ("json", json.loads)):
        out = io.StringIO()
        with pytest.raises(SystemExit) as left:
            call_command("verify_ledger", format=format_, stdout=out)
        assert left.value.code == 1
        told = read(out.getvalue())
        words = "The guard refuse_rewriting of locates_photo is switched off."
        if format_ == "json":
            assert (told["is_proven"], told["first_fault"], told["fallen_guards"]) == (False, None, [words])
        else:
            assert told[1:] == [words]
            assert told[0].startswith("Not proven. The entries are sound")


def test_the_page_names_them_too(chain, client):
    client.force_login(person_in_role("Safety manager"))
    run("DROP TRIGGER keep_update ON locates_mark")
    page = client.get(reverse("conflicts:ledger"), {"prove": "1"}).content.decode()
    assert "Not proven." in page
    assert "The guard keep_update of locates_mark is gone." in page
    assert "The first bad entry" not in page


def test_a_database_of_another_version_is_refused_in_a_sentence():
    [(_, newest)] = MigrationLoader(connection).graph.leaf_nodes("conflicts")
    MigrationRecorder.Migration.objects.filter(app="conflicts", name=newest).delete()
    with pytest.raises(CommandError) as refused:
        call_command("verify_ledger")
    assert refused.value.returncode == 3
    assert str(refused.value) == (
        "Nothing was proven: the database is not of this version, 1 migration waits, the first being "
        f"conflicts.{newest}. Run `python3 manage.py migrate` first."
    )
