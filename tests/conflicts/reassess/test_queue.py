"""A change queues the bores of its job: once each, whatever came before, heard only when it is committed."""

import pytest
from django.conf import settings
from django.db import IntegrityError, transaction

from conflicts.assess import store_assessment
from conflicts.models import Reassessment
from conflicts.reassess import Standing, queue_bore, queue_job, state_of
from locates.changes import job_changed
from tests.factories import BoreFactory, small_job

pytestmark = pytest.mark.django_db

MESSAGES = settings.BROKER_FOLDER / "messages"


@pytest.fixture(autouse=True)
def no_bells():
    """Every test starts with a broker that is empty."""
    for message in MESSAGES.glob("*"):
        message.unlink()


@pytest.fixture
def bore():
    return small_job().bores.get()


def row_of(bore) -> Reassessment:
    return Reassessment.objects.get(bore=bore)


def leave_in(bore, state, **values) -> Reassessment:
    queue_bore(bore.pk)
    Reassessment.objects.filter(bore=bore).update(state=state, **values)
    return row_of(bore)


def test_a_change_of_a_job_queues_each_of_its_bores_and_no_other(bore):
    second = BoreFactory(job=bore.job)
    BoreFactory()
    job_changed(bore.job_id)
    assert {row.bore_id for row in Reassessment.objects.all()} == {bore.pk, second.pk}
    assert {row.state for row in Reassessment.objects.all()} == {"queued"}


def test_queueing_a_job_takes_one_query_however_many_bores_it_has(bore, django_assert_num_queries):
    for _ in range(20):
        BoreFactory(job=bore.job)
    with django_assert_num_queries(1):
        queue_job(bore.job_id)
    with django_assert_num_queries(1):
        queue_job(bore.job_id)
    assert Reassessment.objects.count() == 21


def test_a_job_that_is_gone_queues_nothing(bore):
    job_id = bore.job_id
    bore.job.delete()
    queue_job(job_id)
    assert not Reassessment.objects.exists()


def test_the_bell_rings_once_for_each_bore_and_only_on_commit(bore, django_capture_on_commit_callbacks):
    BoreFactory(job=bore.job)
    with django_capture_on_commit_callbacks(execute=True):
        queue_job(bore.job_id)
        assert not list(MESSAGES.glob("*.msg"))
    assert len(list(MESSAGES.glob("*.msg"))) == 2


def test_a_change_that_is_rolled_back_queues_nothing_and_rings_nothing(
    bore, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        queue_job(bore.job_id)
        transaction.set_rollback(True)
    assert not Reassessment.objects.exists()
    assert not list(MESSAGES.glob("*.msg"))


def test_a_second_change_counts_while_the_first_still_waits(bore):
    queue_job(bore.job_id)
    queue_job(bore.job_id)
    assert (row_of(bore).state, row_of(bore).wanted) == ("queued", 2)


def test_a_change_while_a_bore_is_computed_leaves_it_running_and_counts(bore):
    leave_in(bore, "running", attempts=2)
    queue_job(bore.job_id)
    assert (row_of(bore).state, row_of(bore).wanted, row_of(bore).attempts) == ("running", 2, 0)


@pytest.mark.parametrize("state", ["refused", "given up"])
def test_a_change_gives_a_bore_that_failed_all_its_attempts_back(bore, state):
    leave_in(bore, state, attempts=3, failure="It was so.")
    queue_job(bore.job_id)
    row = row_of(bore)
    assert (row.state, row.attempts, row.failure) == ("queued", 0, "")


@pytest.mark.parametrize("state", ["queued", "running"])
def test_asking_for_a_bore_that_is_in_hand_changes_and_rings_nothing(
    bore, state, django_capture_on_commit_callbacks
):
    before = leave_in(bore, state, attempts=1)
    with django_capture_on_commit_callbacks(execute=True):
        queue_bore(bore.pk)
    after = row_of(bore)
    assert (after.state, after.wanted, after.attempts) == (before.state, before.wanted, before.attempts)
    assert not list(MESSAGES.glob("*.msg"))


def test_asking_for_a_bore_that_was_given_up_does_not_try_it_again(bore):
    leave_in(bore, "given up", attempts=3, failure="The worker ended.")
    queue_bore(bore.pk)
    assert row_of(bore).state == "given up"


def test_asking_for_a_bore_that_was_refused_tries_it_again(bore):
    # Whoever asks found that it can be computed now, by a newer program perhaps.
    leave_in(bore, "refused", failure="It was so.")
    queue_bore(bore.pk)
    assert row_of(bore).state == "queued"


def test_a_bore_that_is_deleted_takes_its_row_along(bore):
    queue_bore(bore.pk)
    bore.delete()
    assert not Reassessment.objects.exists()


def test_a_failure_without_a_word_of_why_cannot_be_stored(bore):
    row = leave_in(bore, "queued")
    with pytest.raises(IntegrityError), transaction.atomic():
        Reassessment.objects.filter(pk=row.pk).update(state="given up")


def test_figures_of_the_present_records_are_current(bore):
    store_assessment(bore.pk)
    assert state_of(bore) == Standing("current")
    assert not Reassessment.objects.exists()


def test_figures_of_older_records_are_queued_by_asking(bore):
    store_assessment(bore.pk)
    bore.job.marks.update(stated_width_m=0.4)
    assert state_of(bore) == Standing("queued")
    assert row_of(bore).state == "queued"


@pytest.mark.parametrize("state", ["queued", "running"])
def test_a_bore_in_hand_stands_as_its_row_says(bore, state):
    leave_in(bore, state)
    assert state_of(bore) == Standing(state)


@pytest.mark.parametrize("state", ["refused", "given up"])
def test_a_bore_that_failed_stands_with_the_reason(bore, state):
    leave_in(bore, state, failure="Its profile stops short.")
    assert state_of(bore) == Standing("failed", "Its profile stops short.")
