"""What an entry holds, and that it belongs to the transaction which stores its record."""

from hashlib import sha256
from json import loads

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.models import BinaryField, DateTimeField
from django.db.transaction import TransactionManagementError
from django.utils import timezone

from conflicts.models import DailyWalk
from locates.canonical import utc_text
from locates.desk.ledger import enter
from locates.errors import UnknownKindError
from locates.models import LedgerEntry
from locates.signed_kinds import signed_kind, signed_kinds
from tests.factories import BoreFactory, DailyWalkFactory, PersonFactory

pytestmark = pytest.mark.django_db


def entered(**values):
    walk = DailyWalkFactory(**values)
    return walk, enter(walk, by=walk.walked_by)


def test_an_entry_says_what_its_record_says():
    walk, entry = entered(remarks="Flag moved at the curb: 4'7\" é", marks_intact=False)
    entry.refresh_from_db()
    walk.refresh_from_db()
    assert loads(entry.content) == walk.ledger_content()
    assert loads(entry.content)["walked_at"] == "2026-11-10T13:00:00.000000Z"
    assert loads(entry.content)["marks_intact"] is False
    assert (entry.kind, entry.record_id, entry.job_id) == ("walk", walk.pk, walk.bore.job_id)
    assert entry.entered_by == walk.walked_by


def test_the_digests_are_those_of_the_texts_written_out_by_hand():
    """The document of an entry, in the order and form of RFC 8785, spelled out here without its library."""
    _, first = entered()
    _, second = entered()
    assert first.previous_sha256 == "0" * 64
    assert (first.sequence, second.sequence) == (1, 2)
    for entry in (first, second):
        entry.refresh_from_db()
        assert entry.content_sha256 == sha256(entry.content.encode()).hexdigest()
        written = (
            f'{{"content_sha256":"{entry.content_sha256}","entered_at":"{utc_text(entry.entered_at)}",'
            f'"entered_by_id":{entry.entered_by_id},"job_id":"{entry.job_id}","kind":"walk",'
            f'"previous_sha256":"{entry.previous_sha256}","record_id":"{entry.record_id}",'
            f'"sequence":{entry.sequence}}}'
        )
        assert entry.entry_sha256 == sha256(written.encode()).hexdigest()
    assert second.previous_sha256 == first.entry_sha256


def test_the_content_is_of_the_row_as_the_database_has_it():
    walk = DailyWalkFactory()
    walk.remarks = "never saved"
    assert loads(enter(walk, by=walk.walked_by).content)["remarks"] == ""


def test_a_signing_that_is_undone_leaves_no_gap():
    entered()
    with transaction.atomic():
        entered()
        transaction.set_rollback(True)
    _, entry = entered()
    assert entry.sequence == 2
    assert DailyWalk.objects.count() == 2


def test_a_record_is_entered_once():
    walk, _ = entered()
    with pytest.raises(IntegrityError, match="ledger_entry_record_once"), transaction.atomic():
        enter(walk, by=walk.walked_by)
    assert LedgerEntry.objects.count() == 1


def test_a_kind_that_nobody_registered_is_refused(monkeypatch):
    walk = DailyWalkFactory()
    monkeypatch.setattr(DailyWalk, "LEDGER_KIND", "stroll")
    with pytest.raises(UnknownKindError, match=r'kind: found "stroll", accepted are .*walk'):
        enter(walk, by=walk.walked_by)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_no_entry_is_made_outside_the_transaction_of_its_record():
    walk = DailyWalkFactory(bore=BoreFactory(), walked_by=PersonFactory())
    assert not connection.in_atomic_block
    with pytest.raises(TransactionManagementError):
        enter(walk, by=walk.walked_by)
    assert not LedgerEntry.objects.exists()


def test_every_registered_kind_has_what_the_ledger_asks_of_it():
    assert "walk" in signed_kinds()
    for kind, (model, rows_of) in signed_kinds().items():
        assert kind == model.LEDGER_KIND
        assert callable(model.ledger_content)
        assert isinstance(getattr(model, "home_job_id", None), property)
        assert list(rows_of([])) == []


@pytest.mark.parametrize("kind", sorted(signed_kinds()))
def test_every_column_of_a_signed_record_stands_in_its_content(kind):
    """So that no edit of one passes; bytes stand in it by their digest, which is a column of its own."""
    model = signed_kind(kind).model
    columns = {
        column.attname for column in model._meta.concrete_fields if not isinstance(column, BinaryField)
    }
    with_moments = {
        column.attname: timezone.now()
        for column in model._meta.concrete_fields
        if isinstance(column, DateTimeField)
    }
    # What came later stands in the content where there is something in it.
    later = dict.fromkeys(getattr(model, "LATER_COLUMNS", ()), "1")
    assert set(model(**later | with_moments).ledger_content()) == columns
