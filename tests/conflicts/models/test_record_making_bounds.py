"""The database holds clearance records to what a record is, and lets nobody change one that was made."""

from hashlib import sha256

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from conflicts.models import RecordMaking
from tests import factories

pytestmark = pytest.mark.django_db

FILE = b"%PDF-1.7 invented"
MADE = {
    "state": "done",
    "finished_at": factories.MARKED_AT,
    "as_of": factories.MARKED_AT,
    "content": FILE,
    "size_bytes": len(FILE),
    "sha256": sha256(FILE).hexdigest(),
    "said_digest": factories.DIGEST,
    "inputs_digest": factories.DIGEST,
    "page_count": 3,
}

REFUSED = [
    ("record_making_state_known", {"state": "lost"}),
    ("record_making_failure_told", {"state": "given up"}),
    ("record_making_done_at_a_moment", {"finished_at": factories.MARKED_AT}),
    ("record_making_done_at_a_moment", {**MADE, "finished_at": None}),
    ("record_making_made_by_name_written", {"made_by_name": " "}),
    ("record_making_done_is_whole", {**MADE, "content": None, "size_bytes": None}),
    ("record_making_done_is_whole", {**MADE, "as_of": None}),
    ("record_making_done_is_whole", {**MADE, "said_digest": ""}),
    ("record_making_done_is_whole", {**MADE, "inputs_digest": "F" * 64}),
    ("record_making_done_is_whole", {**MADE, "page_count": 0}),
    ("record_making_sha256_of_content", {**MADE, "sha256": factories.DIGEST}),
    ("record_making_size_of_content", {**MADE, "size_bytes": 1}),
]


def refusal(action):
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        action()
    return str(caught.value)


@pytest.mark.parametrize(("constraint", "values"), REFUSED)
def test_the_database_refuses(constraint, values):
    row = factories.RecordMakingFactory()
    assert f'"{constraint}"' in refusal(lambda: RecordMaking.objects.filter(pk=row.pk).update(**values))


def test_every_constraint_has_a_case():
    named = {one.name for one in RecordMaking._meta.constraints}
    assert named == {name for name, _ in REFUSED} | {"record_making_one_at_a_time"}


def test_one_record_of_a_bore_is_made_at_a_time():
    row = factories.RecordMakingFactory()
    assert '"record_making_one_at_a_time"' in refusal(lambda: factories.RecordMakingFactory(bore=row.bore))


def test_a_made_record_beside_a_waiting_one_is_no_double():
    row = factories.RecordMakingFactory(**MADE)
    assert factories.RecordMakingFactory(bore=row.bore).is_waiting


def test_one_that_says_the_same_as_another_has_no_bytes_of_its_own():
    made = factories.RecordMakingFactory(**MADE)
    again = {"state": "done", "finished_at": timezone.now(), "same_as": made}
    assert factories.RecordMakingFactory(bore=made.bore, **again).content is None
    assert '"record_making_done_is_whole"' in refusal(
        lambda: factories.RecordMakingFactory(bore=made.bore, **{**MADE, "same_as": made})
    )


def test_a_record_that_was_made_is_never_changed_or_taken_away():
    row = factories.RecordMakingFactory(**MADE)
    rows = RecordMaking.objects.filter(pk=row.pk)
    for action in (lambda: rows.update(made_by_name="somebody else"), rows.delete):
        assert "never changed or taken away" in refusal(action)
    assert RecordMaking.objects.get(pk=row.pk).made_by_name == row.made_by_name


@pytest.mark.parametrize("cascade", ["", " CASCADE"])
def test_nobody_empties_the_table_of_what_was_made(cascade):
    row = factories.RecordMakingFactory(**MADE)
    # A table that foreign keys wait to be checked of cannot be emptied anyway.
    connection.cursor().execute("SET CONSTRAINTS ALL IMMEDIATE")
    assert "never changed or taken away" in refusal(
        lambda: connection.cursor().execute(f"TRUNCATE conflicts_recordmaking{cascade}")
    )
    assert RecordMaking.objects.filter(pk=row.pk).exists()
