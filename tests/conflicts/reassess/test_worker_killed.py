"""Real workers over a broker of files, killed in the middle: the bore is assessed all the same, once."""

import pytest

from conflicts.assess import store_assessment, stored_figures
from conflicts.bell import ring
from conflicts.models import Assessment, Reassessment
from conflicts.reassess import queue_job
from tests.celery_crew import Crew
from tests.database_sessions import cut_waiting_sessions, locked_row
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# A sweep each 3 s calls out what was called 5 s ago, and a dead session is noticed within 1 s.
RECOVERY_S = 60.0


@pytest.fixture
def bore(bore):
    """A bore with figures of older records, which no sweep queues of its own accord."""
    store_assessment(bore.pk)
    bore.job.marks.update(stated_width_m=0.4)
    return bore


def attempt_in_hand(bore, attempt: int, crew: Crew) -> None:
    """Wait until the attempt of this number waits for the bore's row."""
    running = Reassessment.objects.filter(bore=bore, state="running", attempts=attempt)
    wait_until(running.exists, f"attempt {attempt} is in hand", RECOVERY_S, crew.said)


def assessed(bore, crew: Crew) -> Assessment:
    """Wait until the bore's figures are current and nothing is left to do."""
    wait_until(
        lambda: not Reassessment.objects.filter(bore=bore).exists(), "the bore is done", RECOVERY_S, crew.said
    )
    figures = stored_figures(bore)
    assert figures is not None, crew.said()
    assert len(figures.crossings) == 1
    return figures.assessment


def test_a_bore_whose_worker_is_killed_is_assessed_by_another_worker_once(bore, crew):
    first = crew.solo_worker()
    with locked_row("conflicts_bore", bore.pk):
        queue_job(bore.job_id)
        attempt_in_hand(bore, 1, crew)
        first.kill()
        crew.beat()
        second = crew.solo_worker()
        attempt_in_hand(bore, 2, crew)
        assert stored_figures(bore) is None
    assessed(bore, crew)
    assert Assessment.objects.count() == 1
    assert second.said().count("new figures stored") == 1
    assert "new figures stored" not in first.said()


def test_a_bore_that_ends_its_worker_each_time_is_given_up_after_three_attempts(bore, crew):
    crew.beat()
    with locked_row("conflicts_bore", bore.pk):
        queue_job(bore.job_id)
        for attempt in (1, 2, 3):
            worker = crew.solo_worker()
            attempt_in_hand(bore, attempt, crew)
            worker.kill()
        crew.solo_worker()
        given_up = Reassessment.objects.filter(bore=bore, state="given up")
        wait_until(given_up.exists, "the bore is given up", RECOVERY_S, crew.said)
    assert "The worker ended while it computed this bore. Tried 3 times." in given_up.get().failure
    queue_job(bore.job_id)
    assessed(bore, crew)


def test_what_waited_while_no_worker_ran_is_taken_up_at_the_start_without_beat(bore, crew, messages):
    queue_job(bore.job_id)
    for message in messages.glob("*.msg"):
        message.unlink()
    Reassessment.objects.update(rung_at="2026-01-01T00:00Z")
    crew.solo_worker()
    assessed(bore, crew)


def test_a_bell_that_rings_twice_changes_nothing_the_second_time(bore, crew):
    row_ids = Reassessment.objects.queue_bores_of_job(bore.job_id)
    crew.beat()
    worker = crew.solo_worker()
    ring([*row_ids, *row_ids])
    first = assessed(bore, crew)
    wait_until(
        lambda: worker.said().count("Task conflicts.reassess") >= 4,
        "both bells are heard",
        RECOVERY_S,
        crew.said,
    )
    assert stored_figures(bore).assessment.pk == first.pk
    assert worker.said().count("new figures stored") == 1


def test_a_database_session_cut_in_the_middle_costs_one_attempt(bore, crew):
    crew.beat()
    crew.solo_worker()
    with locked_row("conflicts_bore", bore.pk):
        queue_job(bore.job_id)
        attempt_in_hand(bore, 1, crew)
        wait_until(cut_waiting_sessions, "the worker's session waits", RECOVERY_S, crew.said)
        attempt_in_hand(bore, 2, crew)
    assessed(bore, crew)
