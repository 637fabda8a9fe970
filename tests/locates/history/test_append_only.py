"""What is kept or signed refuses to be changed, deleted and emptied, by the models and by plain SQL."""

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from conflicts.models import DailyWalk
from locates.kept_records import APPS, NOT_KEPT, kept_models, kept_tables
from locates.models import LedgerEntry, Mark, RecordEvent
from locates.signed_kinds import signed_kinds
from tests import factories
from tests.rewriting import rewriting_allowed

pytestmark = pytest.mark.django_db


def triggers_of(model):
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT tgname FROM pg_trigger"
            " WHERE tgrelid = %s::regclass AND NOT tgisinternal AND tgenabled = 'A'",
            [model._meta.db_table],
        )
        return {name for (name,) in cursor.fetchall()}


def refused(statement):
    with connection.cursor() as cursor:
        # A table that foreign keys wait to be checked of cannot be emptied anyway.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    with pytest.raises(IntegrityError) as caught, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    return str(caught.value)


def test_every_model_is_kept_or_named_with_the_reason_why_not():
    models = {model for label in APPS for model in apps.get_app_config(label).get_models()}
    kept = {model for model in models if {"keep_insert", "keep_update", "keep_delete"} <= triggers_of(model)}
    assert {model._meta.label for model in models - kept} == {
        apps.get_model(label)._meta.label for label in NOT_KEPT
    }
    assert kept == set(kept_models())
    assert {model._meta.db_table for model in kept} == set(kept_tables())
    assert all("refuse_emptying" in triggers_of(model) for model in kept)


def test_every_column_of_a_kept_table_stands_in_its_events():
    for model in kept_models():
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT prosrc FROM pg_proc WHERE proname = %s", [f"keep_record_of_{model._meta.db_table}"]
            )
            [source] = cursor.fetchone()
        written = {column.column for column in model._meta.concrete_fields}
        missing = {name for name in written if f"n.{name}" not in source and f'n."{name}"' not in source}
        assert missing == set(), (
            f"{model._meta.db_table}: a migration has to call locates_keep_record_of again"
        )


def sealed():
    return [RecordEvent, LedgerEntry, *(kind.model for kind in signed_kinds().values())]


def test_all_that_is_signed_is_sealed():
    assert {model for model in sealed() if "refuse_rewriting" not in triggers_of(model)} == set()


def test_what_is_sealed_refuses_every_way_of_changing_it():
    factories.DailyWalkFactory()
    for model in sealed():
        table, column = model._meta.db_table, model._meta.pk.column
        for words in ("UPDATE {0} SET {1} = {1}", "DELETE FROM {0}", "TRUNCATE {0} CASCADE"):
            assert "is refused on" in refused(words.format(table, column))


@pytest.mark.parametrize("model", [RecordEvent, DailyWalk])
def test_the_models_refuse_as_the_database_does(model):
    factories.DailyWalkFactory()
    record = model.objects.latest("pk")
    for attempt in (
        record.save,
        record.delete,
        model.objects.all().delete,
        lambda: model.objects.update(id=record.pk),
    ):
        with pytest.raises(IntegrityError, match="is refused on"), transaction.atomic():
            attempt()
    assert model.objects.filter(pk=record.pk).exists()


def test_nobody_writes_an_event_by_hand():
    mark = factories.MarkFactory()
    copied = RecordEvent.objects.get(record_id=mark.pk)
    copied.pk, copied.person_name = None, "somebody else"
    with pytest.raises(IntegrityError, match="INSERT is refused on"), transaction.atomic():
        copied.save(force_insert=True)
    assert RecordEvent.objects.filter(record_id=mark.pk).count() == 1


def test_no_setting_of_a_session_passes_by_the_record():
    mark = factories.MarkFactory()
    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE locates_recordevent (LIKE public.locates_recordevent)")
        cursor.execute("SET LOCAL search_path TO pg_temp, public")
        cursor.execute("UPDATE public.locates_mark SET ref = 'M99' WHERE id = %s", [mark.pk])
        cursor.execute("DROP TABLE pg_temp.locates_recordevent; SET LOCAL search_path TO public")
    assert RecordEvent.objects.filter(record_id=mark.pk, action="update").get().after["ref"] == "M99"


def test_a_table_of_records_is_never_emptied_at_once():
    factories.MarkFactory()
    assert "TRUNCATE is refused on" in refused("TRUNCATE locates_mark CASCADE")
    assert Mark.objects.exists()


def test_the_tests_own_way_of_emptying_leaves_the_refusals_in_place():
    event = RecordEvent.objects.latest("id")
    with rewriting_allowed():
        RecordEvent.objects.filter(pk=event.pk).update(source="written over")
    assert "UPDATE is refused on" in refused("UPDATE locates_recordevent SET source = ''")


def test_a_save_asks_the_database_nothing_more():
    mark = factories.MarkFactory()
    with CaptureQueriesContext(connection) as asked:
        Mark.objects.filter(pk=mark.pk).update(located_by="anybody")
    assert len(asked) == 1
