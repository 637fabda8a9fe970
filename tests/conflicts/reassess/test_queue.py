"""A change queues the bores of its job: once each, whatever came before, heard only when it is committed."""

import pytest
from django.db import IntegrityError, transaction

from conflicts.models import Reassessment
from conflicts.reassess import queue_job, queue_outdated
from locates.changes import job_changed
from tests.factories import BoreFactory

pytestmark = pytest.mark.django_db


def row_of(bore) -> Reassessment:
    return Reassessment.objects.get(bore=bore)


def leave_in(bore, state, **values) -> Reassessment:
    queue_outdated([bore.pk])
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


def test_the_bell_rings_once_for_each_bore_and_only_on_commit(
    bore, messages, django_capture_on_commit_callbacks
):
    BoreFactory(job=bore.job)
    with django_capture_on_commit_callbacks(execute=True):
        queue_job(bore.job_id)
        assert not list(messages.glob("*.msg"))
    assert len(list(messages.glob("*.msg"))) == 2


def test_a_change_that_is_rolled_back_queues_nothing_and_rings_nothing(
    bore, messages, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        queue_job(bore.job_id)
        transaction.set_rollback(True)
    assert not Reassessment.objects.exists()
    assert not list(messages.glob("*.msg"))


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


def test_outdated_bores_are_queued_and_the_bell_rings(bore, messages, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        queue_outdated({bore.pk, BoreFactory().pk})
    assert [row.state for row in Reassessment.objects.all()] == ["queued", "queued"]
    assert len(list(messages.glob("*.msg"))) == 2


@pytest.mark.parametrize("state", ["queued", "running", "refused", "given up"])
def test_asking_for_a_bore_that_waits_runs_or_failed_changes_and_rings_nothing(
    bore, state, messages, django_capture_on_commit_callbacks
):
    leave_in(bore, state, attempts=2, failure="It was so.")
    before = Reassessment.objects.values().get()
    with django_capture_on_commit_callbacks(execute=True):
        queue_outdated([bore.pk])
    assert Reassessment.objects.values().get() == before
    assert not list(messages.glob("*.msg"))


def test_asking_for_no_bore_takes_no_query(db, django_assert_num_queries):
    with django_assert_num_queries(0):
        queue_outdated([])


def test_a_bore_that_is_deleted_takes_its_row_along(bore):
    queue_outdated([bore.pk])
    bore.delete()
    assert not Reassessment.objects.exists()


def test_a_failure_without_a_word_of_why_cannot_be_stored(bore):
    row = leave_in(bore, "queued")
    with pytest.raises(IntegrityError), transaction.atomic():
        Reassessment.objects.filter(pk=row.pk).update(state="given up")
