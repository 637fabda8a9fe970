"""Whatever is written over in a signed record in SQL, of whatever kind it is, its entry tells."""

import json
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.db import connection, models, transaction

from conflicts.models import CameraInspection, LocatorCheck
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.signed_kinds import signed_kinds
from tests import factories
from tests.conflicts.audit import signed_stories
from tests.rewriting import rewriting_allowed
from tests.signing import signing

pytestmark = pytest.mark.django_db

CONSTRAINTS = """
SELECT conrelid::regclass::text, quote_ident(conname) FROM pg_constraint
WHERE contype IN ('c', 'f') AND %s::regclass IN (conrelid, confrelid)
"""


def one_of_each_kind():
    """A signed record of every kind, each with its entry, about one bore, all by one person."""
    person, name = signed_stories.signer(), "Ada Fenwick"
    with signing(person), transaction.atomic():
        return {record.LEDGER_KIND: (record, enter(record, by=person)) for record in written(person, name)}


def written(person, name):
    """These records, each signed by the person."""
    bore, mark = signed_stories.bore_with_mark()
    released = signed_stories.release(bore, [signed_stories.crossing("G-1")])
    asked = signed_stories.variance(bore, mark)
    reamed = factories.HolePassFactory(bore=bore, logged_by=person, logged_by_name=name)
    drilled = signed_stories.rod(bore, by=name)
    return [
        released,
        signed_stories.withdraw(released),
        asked,
        factories.VariancePaperFactory(variance=asked, added_by=person),
        signed_stories.sign_variance(asked, by=name),
        signed_stories.end_variance(asked),
        factories.DailyWalkFactory(bore=bore, walked_by=person),
        signed_stories.watch(bore, mark, head_depth_m=1.2, hole_bottom_m=1.4, by=name),
        CameraInspection.objects.create(
            bore=bore,
            mark=mark,
            stage="after",
            inspected_at=signed_stories.AT,
            inspected_by="Odell Farrow",
            result="no_damage",
            recorded_by=person,
            recorded_by_name="Ada Fenwick",
        ),
        reamed,
        factories.HolePassWithdrawalFactory(hole_pass=reamed, withdrawn_by=person, withdrawn_by_name=name),
        drilled,
        signed_stories.take_out(drilled),
        LocatorCheck.objects.create(
            bore=bore,
            hole=factories.TestHoleFactory(job=bore.job, mark=mark),
            device="receiver 7",
            read_depth_m=1.1,
            measured_depth_m=1.0,
            checked_by=person,
            checked_by_name="Ada Fenwick",
            checked_at=signed_stories.AT,
        ),
        signed_stories.close_out(bore),
        signed_stories.damage(bore, mark),
        factories.PhotoFactory(job=bore.job, kept_by=person),
    ]


def another(field, value):
    """Another value of a column, whatever it holds."""
    if isinstance(field, models.BooleanField):
        return not value
    if isinstance(field, models.DateTimeField):
        return signed_stories.AT if value is None else value + timedelta(microseconds=1)
    if isinstance(value, UUID) or field.get_internal_type() == "UUIDField":
        return uuid4()
    if isinstance(value, int | float):
        return value + 1
    if isinstance(field, models.JSONField):
        return json.dumps({"another": 1})
    if isinstance(value, list):
        return ["another"]
    if isinstance(field, models.CharField | models.TextField):
        return "another"
    if isinstance(field, models.BinaryField):
        return b"another"
    if isinstance(field, models.ForeignKey):
        return uuid4() if field.target_field.get_internal_type() == "UUIDField" else 1
    if isinstance(field, models.FloatField | models.IntegerField):
        return 1
    return None


def write_over(record, column, value):
    """Write over a column as the owner of the tables can, past every constraint and guard."""
    table = record._meta.db_table
    with rewriting_allowed(), connection.cursor() as cursor:
        cursor.execute(CONSTRAINTS, [table])
        for held, name in cursor.fetchall():
            cursor.execute(f"ALTER TABLE {held} DROP CONSTRAINT {name}")
        cursor.execute(f"UPDATE {table} SET {column} = %s WHERE id = %s", [value, record.pk])  # noqa: S608


def test_every_kind_is_among_them():
    assert set(one_of_each_kind()) == set(signed_kinds())
    assert prove_ledger().is_proven


@pytest.mark.parametrize("kind", sorted(signed_kinds()))
def test_another_value_in_any_column_is_found_at_its_entry(kind):
    record, entry = one_of_each_kind()[kind]
    record.refresh_from_db()
    for field in record._meta.concrete_fields:
        with transaction.atomic():
            write_over(record, field.column, another(field, getattr(record, field.attname)))
            fault = prove_ledger().fault
            assert fault is not None, field.column
            assert (fault.kind, fault.sequence) == (kind, entry.sequence), field.column
            transaction.set_rollback(True)
    assert prove_ledger().is_proven
