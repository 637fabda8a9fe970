"""The sweep: it calls out again what nobody has in hand, and finds bores that were never assessed."""

import pytest

from conflicts.models import Reassessment
from conflicts.models.reassessment import LOCK_SPACE
from conflicts.reassess import MOST_A_SWEEP, queue_job, sweep
from tests.database_sessions import held_advisory_lock
from tests.factories import AssessmentFactory, BoreFactory, DrilledRodFactory

pytestmark = pytest.mark.django_db

LONG_AGO = "2026-01-01T00:00Z"


def bells(messages) -> int:
    return len(list(messages.glob("*.msg")))


@pytest.fixture
def waiting(bore) -> Reassessment:
    """A row that was called out long ago, by a bell that nobody heard."""
    queue_job(bore.job_id)
    Reassessment.objects.update(rung_at=LONG_AGO)
    return Reassessment.objects.get()


def test_what_was_called_out_a_moment_ago_is_left_to_whoever_hears_it(bore, messages):
    queue_job(bore.job_id)
    assert (sweep(), bells(messages)) == (0, 0)


@pytest.mark.parametrize("state", ["queued", "running"])
def test_what_nobody_has_in_hand_is_called_out_again(waiting, state, messages):
    Reassessment.objects.update(state=state)
    assert (sweep(), bells(messages)) == (1, 1)


def test_a_row_is_called_out_once_by_two_sweeps_in_a_row(waiting, messages):
    assert [sweep(), sweep()] == [1, 0]
    assert bells(messages) == 1


def test_what_somebody_has_in_hand_is_left_alone_however_long_it_takes(waiting, messages):
    Reassessment.objects.update(state="running")
    with held_advisory_lock(LOCK_SPACE, waiting.pk):
        assert (sweep(), bells(messages)) == (0, 0)
    assert sweep() == 1


@pytest.mark.parametrize("state", ["refused", "given up"])
def test_what_failed_is_not_called_out(waiting, state):
    Reassessment.objects.update(state=state, failure="It was so.")
    assert sweep() == 0


def test_a_bore_that_was_never_assessed_is_queued(bore, messages):
    assert sweep() == 1
    assert Reassessment.objects.get().bore == bore
    assert bells(messages) == 1


def test_a_bore_with_figures_is_not_queued_by_the_sweep(db):
    AssessmentFactory()
    assert sweep() == 0


@pytest.mark.parametrize(("digest", "queued"), [("", 1), ("a" * 64, 0)])
def test_a_bore_with_a_rod_of_which_nobody_computed_what_its_hole_meets_is_queued(db, digest, queued):
    DrilledRodFactory(bore=AssessmentFactory(drilled_digest=digest).bore)
    assert sweep() == queued


def test_a_sweep_takes_a_bounded_number_of_rows_those_called_least_lately_first(bore):
    for _ in range(MOST_A_SWEEP):
        BoreFactory(job=bore.job)
    queue_job(bore.job_id)
    Reassessment.objects.update(rung_at="2026-01-02T00:00Z")
    oldest = Reassessment.objects.last()
    Reassessment.objects.filter(pk=oldest.pk).update(rung_at=LONG_AGO)
    assert Reassessment.objects.call_out_forgotten(1) == [oldest.pk]
    assert sweep() == MOST_A_SWEEP
    assert sweep() == 0


def test_a_sweep_with_nothing_to_do_takes_two_queries(django_assert_num_queries):
    with django_assert_num_queries(2):
        assert sweep() == 0
