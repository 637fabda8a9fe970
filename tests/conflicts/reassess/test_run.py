"""Computing what waits: done once, never lost, refused in the engine's words, given up after three faults."""

import threading

import pytest
from django.db import DatabaseError, connection, transaction

from conflicts.assess import store_assessment, stored_figures
from conflicts.models import Assessment, Bore, Crossing, Reassessment
from conflicts.models.reassessment import LOCK_SPACE, MOST_ATTEMPTS
from conflicts.reassess import queue_job, run, sweep
from locates.advisory_lock import advisory_lock
from locates.changes import job_changed
from locates.models import Job
from tests.database_sessions import held_advisory_lock, locked_row, other_session, waiting_sessions
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PATIENCE_S = 30.0


@pytest.fixture
def row(bore) -> Reassessment:
    """The row of the bore, which waits."""
    queue_job(bore.job_id)
    return Reassessment.objects.get(bore=bore)


@pytest.fixture
def broken_table():
    """A table of assessments that refuses every new one, whatever the records say."""
    with connection.cursor() as cursor:
        cursor.execute(
            "CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql"
            " AS $$ BEGIN RAISE EXCEPTION 'the disk is full'; END $$;"
            "CREATE TRIGGER refuse BEFORE INSERT ON conflicts_assessment EXECUTE FUNCTION refuse()"
        )
    yield
    with connection.cursor() as cursor:
        cursor.execute("DROP FUNCTION refuse() CASCADE")


def run_beside(row: Reassessment) -> threading.Thread:
    """Work on the row in another thread, with its own session."""

    def work() -> None:
        run(row.pk)
        connection.close()

    thread = threading.Thread(target=work)
    thread.start()
    return thread


def finish(thread: threading.Thread) -> None:
    thread.join(PATIENCE_S)
    assert not thread.is_alive()


def test_the_figures_are_stored_and_the_row_goes(bore, row):
    run(row.pk)
    assert stored_figures(bore) is not None
    assert not Reassessment.objects.exists()


def test_figures_that_are_current_already_stay_as_they_are(bore, row):
    store_assessment(bore.pk)
    before = Assessment.objects.get()
    run(row.pk)
    assert Assessment.objects.get() == before
    assert not Reassessment.objects.exists()


def test_a_row_that_is_done_can_be_run_again_without_harm(bore, row):
    run(row.pk)
    before = Assessment.objects.get()
    run(row.pk)
    assert Assessment.objects.get() == before


def test_a_bore_that_is_deleted_while_it_waits_is_no_fault(bore, row):
    bore.delete()
    run(row.pk)
    assert not Assessment.objects.exists()


def test_a_row_that_another_has_in_hand_is_left_alone(bore, row):
    with held_advisory_lock(LOCK_SPACE, row.pk):
        run(row.pk)
        row.refresh_from_db()
        assert (row.state, row.attempts) == ("queued", 0)
    run(row.pk)
    assert stored_figures(bore) is not None


def test_the_lock_is_free_again_after_the_work(bore, row):
    run(row.pk)
    with other_session() as other, other.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", [LOCK_SPACE, row.pk])
        assert cursor.fetchone() == (True,)


def test_a_change_while_a_bore_is_computed_is_not_lost(bore, row):
    with locked_row("conflicts_bore", bore.pk):
        working = run_beside(row)
        wait_until(waiting_sessions, "the figures of the older records are about to be stored", PATIENCE_S)
        bore.job.marks.update(stated_width_m=0.4)
        queue_job(bore.job_id)
        row.refresh_from_db()
        assert (row.state, row.wanted) == ("running", 2)
    finish(working)
    assert stored_figures(bore) is not None
    assert not Reassessment.objects.exists()


def announced_deletion(record, job) -> threading.Thread:
    """Delete a record in another thread, as the admin does."""

    def delete() -> None:
        with transaction.atomic():
            job_changed(job.pk)
            record.delete()
        connection.close()

    thread = threading.Thread(target=delete)
    thread.start()
    return thread


@pytest.mark.parametrize("doomed", ["bore", "mark", "job"])
def test_a_record_deleted_while_its_bore_is_stored_is_gone_without_fault_to_either(bore, row, doomed):
    store_assessment(bore.pk)
    bore.job.marks.update(stated_width_m=0.4)
    job = bore.job
    record = {"bore": bore, "mark": job.marks.get(), "job": job}[doomed]
    with locked_row("conflicts_bore", bore.pk):
        working = run_beside(row)
        wait_until(waiting_sessions, "the new figures are about to be stored", PATIENCE_S)
        deleting = announced_deletion(record, job)
        wait_until(lambda: waiting_sessions() == 2, "the deletion waits for its turn", PATIENCE_S)
    finish(working)
    finish(deleting)
    assert not type(record).objects.filter(pk=record.pk).exists()
    assert Bore.objects.filter(pk=bore.pk).exists() == (doomed == "mark")


@pytest.mark.parametrize("doomed", ["bore", "mark"])
def test_a_record_deleted_before_its_bore_is_stored_lets_nothing_be_stored_of_it(bore, row, doomed):
    job = bore.job
    record = {"bore": bore, "mark": job.marks.get()}[doomed]
    with transaction.atomic():
        Job.objects.select_for_update().get(pk=job.pk)
        working = run_beside(row)
        wait_until(waiting_sessions, "the figures of the older records are about to be stored", PATIENCE_S)
        job_changed(job.pk)
        record.delete()
    finish(working)
    assert not Crossing.objects.exists()
    assert Assessment.objects.filter(bore=bore.pk).exists() == (doomed == "mark")


def take_tolerance_zone_from(bore) -> None:
    rule = bore.job.jurisdiction
    rule.tolerance_zone_m, rule.tolerance_is_sure = None, False
    rule.save()


def test_records_that_cannot_be_computed_are_refused_with_the_engines_words(bore, row):
    take_tolerance_zone_from(bore)
    run(row.pk)
    row.refresh_from_db()
    assert (row.state, row.attempts) == ("refused", 1)
    assert "the rule of VA has no tolerance zone; enter one in the job" in row.failure


def test_what_was_refused_is_not_tried_again_until_a_record_changes(bore, row):
    take_tolerance_zone_from(bore)
    run(row.pk)
    Reassessment.objects.update(rung_at="2026-01-01T00:00Z")
    assert sweep() == 0
    run(row.pk)
    row.refresh_from_db()
    assert row.attempts == 1
    bore.job.tolerance_zone_m = 0.6
    bore.job.save()
    queue_job(bore.job_id)
    run(row.pk)
    assert stored_figures(bore) is not None


def test_a_fault_is_raised_noted_and_left_for_another_attempt(bore, row, broken_table):
    with pytest.raises(DatabaseError, match="the disk is full"):
        run(row.pk)
    row.refresh_from_db()
    assert (row.state, row.attempts) == ("queued", 1)
    assert "the disk is full" in row.failure


def test_after_three_faults_the_bore_is_given_up_with_words_to_act_on(bore, row, broken_table):
    for _ in range(MOST_ATTEMPTS):
        with pytest.raises(DatabaseError):
            run(row.pk)
    row.refresh_from_db()
    assert row.state == "given up"
    assert "the disk is full" in row.failure
    assert "Tried 3 times." in row.failure
    assert "save any record of the job" in row.failure
    run(row.pk)
    row.refresh_from_db()
    assert row.attempts == MOST_ATTEMPTS


def test_a_lock_is_given_to_one_at_a_time():
    with advisory_lock(LOCK_SPACE, 1) as is_ours, other_session() as other, other.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", [LOCK_SPACE, 1])
        assert (is_ours, cursor.fetchone()) == (True, (False,))
