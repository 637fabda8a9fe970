"""What guards the record stands whatever a session says, and nobody but the tables' owner gets past it."""

from uuid import uuid4

import pytest
from django.apps import apps
from django.db import DatabaseError, IntegrityError, ProgrammingError, connection, transaction
from django.utils import timezone

from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.kept_records import APPS, COMPUTED, ITSELF, NOT_KEPT, PRIVATE, QUEUE, kept_models
from locates.models import LedgerEntry, Mark, Notice, OutgoingMail, RecordEvent
from locates.signed_kinds import signed_kinds
from tests import factories
from tests.signed_walks import sign_walks
from tests.signing import signing

pytestmark = pytest.mark.django_db

MODELS = [model for label in APPS for model in apps.get_app_config(label).get_models()]
SIGNED = [model for model in MODELS if hasattr(model, "LEDGER_KIND")]
NEVER_CHANGED = [model for model in MODELS if NOT_KEPT.get(model._meta.label_lower) == ITSELF] + SIGNED
NEVER_EMPTIED = [
    model for model in MODELS if NOT_KEPT.get(model._meta.label_lower) not in {COMPUTED, QUEUE, PRIVATE}
]
# A table that another refers to is emptied with it or not at all.
EMPTYING = "TRUNCATE {0} CASCADE"
WAYS = ("UPDATE {0} SET {1} = {1}", "DELETE FROM {0}", EMPTYING)
BEHIND_THE_BACK = (
    "SET session_replication_role = replica",
    "ALTER TABLE {0} DISABLE TRIGGER ALL",
    "ALTER TABLE {0} DISABLE TRIGGER USER",
    "ALTER TABLE {0} ENABLE REPLICA TRIGGER refuse_rewriting",
    "DROP TRIGGER refuse_rewriting ON {0}",
    "ALTER TABLE {0} RENAME TO another",
    "ALTER TABLE {0} DROP COLUMN {1} CASCADE",
    "DROP TABLE {0} CASCADE",
    "CREATE OR REPLACE FUNCTION locates_refuse_rewriting() RETURNS trigger LANGUAGE sql AS 'SELECT NULL'",
    "CREATE TRIGGER aaa BEFORE UPDATE ON {0} FOR EACH ROW EXECUTE FUNCTION"
    " suppress_redundant_updates_trigger()",
    "CREATE RULE nothing AS ON INSERT TO {0} DO INSTEAD NOTHING",
    EMPTYING,
)


def run(*statements):
    with connection.cursor() as cursor:
        for one in statements:
            cursor.execute(one)


def refused(error, statement, model):
    with pytest.raises(error) as caught, transaction.atomic():
        run(statement.format(model._meta.db_table, model._meta.pk.column))
    return str(caught.value)


@pytest.fixture
def entered(db):
    """A signed walk with its entry, its events and a photo, all checked by their foreign keys."""
    [(walk, _)] = sign_walks(1)
    with signing(walk.walked_by):
        photo = factories.PhotoFactory(job=walk.bore.job, kept_by=walk.walked_by)
        enter(photo, by=photo.kept_by)
    run("SET CONSTRAINTS ALL IMMEDIATE")
    return walk


@pytest.fixture
def serving_role(entered):
    """A role that may use every table but owns none of them."""
    name = f"serving_{uuid4().hex}"
    run(
        f"CREATE ROLE {name} NOLOGIN",
        f"GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO {name}",
        f"REVOKE INSERT, UPDATE, DELETE ON locates_recordevent FROM {name}",
        f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {name}",
    )
    return name


@pytest.fixture
def served(entered, serving_role):
    """The connection as that role until the test is over."""
    run(f"SET LOCAL ROLE {serving_role}")
    return entered


def test_every_signed_model_is_known_to_the_ledger_and_guarded_beside_it_and_the_events():
    assert set(SIGNED) == {kind.model for kind in signed_kinds().values()}
    assert {RecordEvent, LedgerEntry} == set(NEVER_CHANGED) - set(SIGNED)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("model", NEVER_CHANGED)
def test_an_event_an_entry_and_a_signed_record_refuse_every_way_of_changing_them(entered, model, way):
    assert f"is refused on {model._meta.db_table}:" in refused(IntegrityError, way, model)


@pytest.mark.parametrize("model", NEVER_EMPTIED)
def test_no_table_that_keeps_anything_is_emptied(entered, model):
    assert f"TRUNCATE is refused on {model._meta.db_table}:" in refused(IntegrityError, EMPTYING, model)


def test_every_guard_stands_whatever_the_session_replicates():
    """A trigger that is not always enabled is silent where `session_replication_role` says replica."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal"
            " AND tgrelid::regclass::text ~ '^(locates|conflicts)_' AND tgenabled <> 'A'"
        )
        assert cursor.fetchall() == []


def test_a_session_that_replicates_changes_nothing_and_is_recorded(entered):
    mark = factories.MarkFactory(job=entered.bore.job)
    run("SET LOCAL session_replication_role = replica")
    for model in NEVER_CHANGED:
        for way in WAYS:
            assert "is refused on" in refused(IntegrityError, way, model)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE locates_mark SET located_by = 'nobody' WHERE id = %s", [mark.pk])
    assert RecordEvent.objects.filter(record_id=mark.pk).latest("id").after["located_by"] == "nobody"


@pytest.mark.parametrize("model", NEVER_CHANGED)
def test_a_role_that_only_uses_the_tables_gets_past_no_guard(served, model):
    for statement in BEHIND_THE_BACK:
        words = refused(ProgrammingError, statement, model)
        assert "permission denied" in words or "must be owner" in words, statement
    for way in WAYS[:2]:
        words = refused(DatabaseError, way, model)
        assert "is refused on" in words or "permission denied" in words
    assert prove_ledger().is_proven


def test_a_role_that_only_uses_the_tables_works_and_is_recorded(served):
    mark = factories.MarkFactory(job=served.bore.job)
    Mark.objects.filter(pk=mark.pk).update(located_by="anybody")
    with signing(served.walked_by):
        walk = factories.DailyWalkFactory(bore=served.bore, walked_by=served.walked_by)
    assert prove_ledger().fault.why == "A signed record has no entry."
    enter(walk, by=walk.walked_by)
    assert prove_ledger().is_proven
    assert [one.action for one in RecordEvent.objects.filter(record_id=mark.pk).order_by("id")] == [
        "insert",
        "update",
    ]
    assert RecordEvent.objects.filter(record_id=walk.pk).count() == 1


def test_a_trigger_of_ones_own_does_not_pass_for_that_of_a_kept_table(serving_role):
    """An event is told from a forged one by the depth of triggers, and by whose rights it is written with."""
    run(f"GRANT INSERT ON locates_recordevent TO {serving_role}", f"SET LOCAL ROLE {serving_role}")
    run(
        "CREATE TEMPORARY TABLE own (id int)",
        "CREATE FUNCTION pg_temp.forge() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
        " INSERT INTO public.locates_recordevent (happened_at, transaction_id, transaction_began_at,"
        " table_name, record_id, action, after, person_name, source, database_role)"
        " VALUES (now(), 1, now(), 'locates_mark', gen_random_uuid(), 'insert', '{}', '', '', '');"
        " RETURN NULL; END $$",
        "CREATE TRIGGER forging AFTER INSERT ON own FOR EACH ROW EXECUTE FUNCTION pg_temp.forge()",
    )
    with (
        pytest.raises(IntegrityError, match="INSERT is refused on locates_recordevent"),
        transaction.atomic(),
    ):
        run("INSERT INTO own VALUES (1)")


def test_what_somebody_was_told_is_never_written_over():
    told = factories.NoticeFactory()
    Notice.objects.filter(pk=told.pk).update(read_at=timezone.now())
    for column, value in (("words", "Go on digging."), ("subject", "Well"), ("due_at", timezone.now())):
        with pytest.raises(IntegrityError, match="told is never written over"), transaction.atomic():
            Notice.objects.filter(pk=told.pk).update(**{column: value})


def test_words_are_written_into_a_notice_that_has_none_yet():
    waiting = factories.NoticeFactory(subject="", words="")
    Notice.objects.filter(pk=waiting.pk).update(subject="Gone", words="A mark is gone.")
    assert Notice.objects.get(pk=waiting.pk).words == "A mark is gone."


def test_a_mail_that_was_sent_is_never_written_over():
    mail = factories.OutgoingMailFactory()
    mails = OutgoingMail.objects.filter(pk=mail.pk)
    mails.update(state="sent", sent_at=timezone.now())
    for column, value in (("body", "Go on."), ("to_address", "x@example.com"), ("attempts", 7)):
        with (
            pytest.raises(IntegrityError, match="sent to somebody is never written over"),
            transaction.atomic(),
        ):
            mails.update(**{column: value})
    mails.update(person=None)
    assert mails.get().body == mail.body


def test_a_kept_models_events_are_written_with_the_rights_of_the_tables_owner():
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT proname, prosecdef, proconfig FROM pg_proc WHERE proname LIKE 'keep\\_record\\_of\\_%'"
        )
        found = cursor.fetchall()
    assert {name for name, *_ in found} == {
        f"keep_record_of_{model._meta.db_table}" for model in kept_models()
    }
    assert all(is_definer for _, is_definer, _ in found)
    assert all("search_path=pg_catalog, pg_temp" in settings for *_, settings in found)
