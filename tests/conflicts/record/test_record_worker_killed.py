"""A real worker killed in the middle of a record: nothing is half-kept, another makes it, once."""

from uuid import uuid4

import pytest

from conflicts.models import RecordMaking
from conflicts.record.ask import ask_for_record
from tests import factories
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

DONE_S = 180.0


def test_a_worker_killed_while_it_lays_out_is_followed_by_another(crew):
    job = factories.small_job()
    bore = job.bores.get()
    for east in range(5, 95, 3):  # enough crossings that laying them out takes a while
        factories.MarkFactory(
            job=job,
            operator=job.operators.first(),
            geometry=factories.line((east + 0.5, -15), (east + 0.5, 15)),
        )
    first = crew.solo_worker()
    row = ask_for_record(bore, uuid4(), by=factories.person_in_role("Coordinator"))
    laying_out = RecordMaking.objects.filter(pk=row.pk, state="running", phase="lay out", attempts=1)
    wait_until(laying_out.exists, "the pages are laid out", DONE_S, crew.said)
    first.kill()
    assert RecordMaking.objects.get(pk=row.pk).content is None
    crew.beat()
    crew.solo_worker()
    done = RecordMaking.objects.filter(pk=row.pk, state="done")
    wait_until(done.exists, "the record is made", DONE_S, crew.said)
    made = done.get()
    assert made.attempts == 2
    assert bytes(made.content).startswith(b"%PDF-")
    assert RecordMaking.objects.count() == 1
