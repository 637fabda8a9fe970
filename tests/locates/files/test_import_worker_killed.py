"""Real workers killed in the middle of a large file: nothing is half-stored, another does it, once."""

import pytest
from django.utils import timezone

from locates.desk.work_on_file import ask_for
from locates.models import GroundPoint, ImportWork, VectorImport
from locates.models.import_work import WorkKind
from tests import factories
from tests.database_sessions import locked_row
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

MANY = 10_000
# A sweep each 3 s calls out what was called 5 s ago; the work takes seconds, on a busy machine many.
DONE_S = 180.0


@pytest.fixture
def job():
    """A job without a bore, whose reassessment would keep the one worker from the file."""
    job = factories.small_job()
    job.bores.all().delete()
    return job


@pytest.fixture
def brought(job, bring_survey):
    return bring_survey(job, MANY, by=factories.person_in_role("Coordinator"), at=timezone.now())


def in_the_middle(crew, **where):
    """Wait until a worker has told of some rows."""
    wait_until(
        ImportWork.objects.filter(state="running", rows_done__gt=0, **where).exists,
        "the work is under way",
        DONE_S,
        crew.said,
    )


def over(crew, **where):
    """Wait until the work is done."""
    done = ImportWork.objects.filter(state="done", **where)
    wait_until(done.exists, "the work is done", DONE_S, crew.said)
    return done.get()


def stored():
    return GroundPoint.objects.filter(elevation_m__gte=100).count()


def test_a_worker_killed_in_the_middle_of_a_check_is_followed_by_another(brought, crew):
    first = crew.solo_worker()
    ask_for(brought, WorkKind.CHECK)
    in_the_middle(crew, attempts=1)
    first.kill()
    assert ImportWork.objects.get().state == "running"
    crew.beat()
    second = crew.solo_worker()
    work = over(crew, kind="check")
    assert (work.attempts, work.rows_total, work.outcome["count"]) == (2, MANY, MANY)
    assert work.outcome["may_store"]
    assert f"File {brought.pk}: check done" in second.said()
    assert "check done" not in first.said()
    assert stored() == 0


def test_a_worker_killed_while_it_stores_leaves_nothing_and_another_stores_all_once(brought, crew):
    first = crew.solo_worker()
    ask_for(brought, WorkKind.STORE)
    in_the_middle(crew, attempts=1, phase="store")
    first.kill()
    assert stored() == 0
    assert VectorImport.objects.get(pk=brought.pk).stored_at is None
    crew.beat()
    crew.solo_worker()
    assert over(crew, kind="store").attempts == 2
    assert stored() == MANY
    assert VectorImport.objects.get(pk=brought.pk).stored_count == MANY


def test_a_worker_killed_after_storing_before_it_said_so_stores_nothing_twice(brought, crew):
    first = crew.solo_worker()
    with locked_row("locates_job", brought.job_id):
        ask_for(brought, WorkKind.STORE)
        running = ImportWork.objects.filter(state="running", attempts=1)
        wait_until(running.exists, "the work waits for the job", DONE_S, crew.said)
        first.kill()
    VectorImport.objects.filter(pk=brought.pk).update(stored_at=timezone.now(), stored_count=7, content=b"")
    crew.beat()
    crew.solo_worker()
    assert over(crew, kind="store").attempts == 2
    assert stored() == 0
