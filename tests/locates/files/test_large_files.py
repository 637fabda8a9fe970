"""A large file is checked and stored by a worker, with its progress on a page that works without script."""

import pytest
from django.contrib.gis.geos import Point
from django.urls import reverse
from django.utils import timezone

from locates.desk import work_on_file
from locates.desk.import_progress import progress_of
from locates.exchange.vector_progress import Phase
from locates.models import ImportWork
from locates.tasks import SWEEP_WORK_TASK, sweep_import_work, work_on_large_file
from tests import factories
from tests.database_sessions import held_advisory_lock
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

LARGE = work_on_file.MOST_AT_ONCE + 1


@pytest.fixture
def job():
    return factories.small_job()


@pytest.fixture
def coordinator(client):
    person = factories.person_in_role("Coordinator")
    client.force_login(person)
    return person


@pytest.fixture
def brought(job, coordinator, bring_survey, messages):
    return bring_survey(job, LARGE, by=coordinator, at=timezone.now())


def page(client, brought, name="check", **values):
    address = reverse(f"locates:import-{name}", args=[brought.job_id, brought.pk])
    return client.post(address, values) if values else client.get(address)


def words_of(response):
    return " ".join(response.content.decode().split())


def work_of(brought):
    return ImportWork.objects.get(brought=brought)


def points_of(job):
    return job.ground_points.filter(elevation_m__gte=100).count()


def test_a_file_of_the_most_rows_that_a_page_checks_is_checked_at_once(
    client, coordinator, job, bring_survey
):
    brought = bring_survey(job, LARGE - 1, by=coordinator, at=timezone.now())
    assert f"Store {LARGE - 1} ground points" in words_of(page(client, brought))
    assert not ImportWork.objects.exists()


def test_a_large_file_waits_is_checked_by_a_worker_and_stored_by_one(
    client, job, brought, messages, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        waiting = page(client, brought)
        assert page(client, brought).status_code == 200
    assert len(list(messages.glob("*.msg"))) == 1
    assert "Waiting to be checked" in words_of(waiting)
    assert f"{LARGE:,} rows wait for a worker." in words_of(waiting)
    work_on_large_file(work_of(brought).pk)
    checked = words_of(page(client, brought))
    assert f"Store {LARGE} ground points" in checked
    assert "As the job was when the check ended" in checked
    assert "The nearest lies" in checked
    assert points_of(job) == 0

    assert "Waiting to be stored" in words_of(client.get(page(client, brought, do="store").url))
    assert page(client, brought, do="store").status_code == 302
    work_on_large_file(work_of(brought).pk)
    assert page(client, brought).url == reverse("locates:import-result", args=[job.pk, brought.pk])
    assert f"Stored: {LARGE} ground points" in words_of(page(client, brought, "result"))
    assert points_of(job) == LARGE
    work_on_large_file(work_of(brought).pk)
    assert points_of(job) == LARGE


def test_one_wrong_row_of_many_is_named_and_nothing_is_stored(
    client, coordinator, job, bring_survey, messages
):
    brought = bring_survey(job, LARGE, by=coordinator, at=timezone.now(), wrong_row=900)
    page(client, brought)
    work_on_large_file(work_of(brought).pk)
    checked = words_of(page(client, brought))
    assert "row 902, column elevation_m: found 99999" in checked
    assert 'value="store"' not in checked
    page(client, brought, do="store")
    work_on_large_file(work_of(brought).pk)
    assert "row 902, column elevation_m: found 99999" in words_of(page(client, brought))
    assert points_of(job) == 0


def test_what_changed_in_the_job_after_the_check_is_found_by_storing(client, job, brought):
    page(client, brought)
    work_on_large_file(work_of(brought).pk)
    assert 'value="store"' in words_of(page(client, brought))
    job.bores.all().delete()
    for records in ("marks", "test_holes", "surface_features", "ground_points", "linework", "tickets"):
        getattr(job, records).all().delete()
    factories.GroundPointFactory(job=job, position=Point(-70, 38, srid=4326))
    page(client, brought, do="store")
    work_on_large_file(work_of(brought).pk)
    assert "positions far away" in words_of(page(client, brought))
    assert points_of(job) <= 1
    assert page(client, brought, do="check").status_code == 302
    assert (work_of(brought).kind, work_of(brought).state) == ("check", "queued")


def test_columns_chosen_anew_do_away_with_what_was_found(client, job, brought):
    page(client, brought)
    first = work_of(brought)
    columns = reverse("locates:import-columns", args=[job.pk, brought.pk])
    client.post(columns, form_of(client, columns))
    assert not ImportWork.objects.exists()
    work_on_large_file(first.pk)
    page(client, brought)
    assert work_of(brought).pk != first.pk


def test_nothing_can_be_chosen_while_the_file_is_being_stored(client, job, brought):
    page(client, brought, do="store")
    before = brought.mapping
    for name in ("columns", "values"):
        there = reverse("locates:import-check", args=[job.pk, brought.pk])
        assert page(client, brought, name).url == there
        assert page(client, brought, name, epsg="2284").url == there
    brought.refresh_from_db()
    assert brought.mapping == before


@pytest.mark.parametrize(
    ("phase", "done", "words"),
    [
        (Phase.READ, 12_000, "Read 12,000 of 50,000 rows."),
        (Phase.FORM, 500, "Checked 500 of 50,000 rows."),
        (Phase.TOGETHER, 50_000, "50,000 rows are read and checked one by one."),
        (Phase.STORE, 49_500, "Stored 49,500 of 50,000 rows."),
    ],
)
def test_the_page_and_its_answer_say_how_many_rows_are_done(client, job, brought, phase, done, words):
    page(client, brought)
    ImportWork.objects.update(
        state="running", attempts=2, phase=phase, rows_done=done, rows_total=50_000, started_at=timezone.now()
    )
    told = page(client, brought, "state").json()
    assert told["words"] == f"{words} Attempt 2: the one before ended too early."
    assert told["rows_done"] == (None if phase == Phase.TOGETHER else done)
    assert (told["rows_total"], told["is_settled"]) == (50_000, False)
    shown = words_of(page(client, brought))
    assert words in shown
    assert ('max="50000" value=' in shown) == (phase != Phase.TOGETHER)


def test_every_phase_is_told_in_its_order_and_no_row_twice(job, brought):
    told = []
    work_on_file.store_file(
        brought,
        by=brought.made_by,
        at=timezone.now(),
        told=lambda phase, rows: told.append((phase, rows)),
    )
    assert [phase for phase, _ in told] == sorted((phase for phase, _ in told), key=list(Phase).index)
    assert {phase for phase, _ in told} == set(Phase)
    for phase in Phase:
        counts = [rows for one, rows in told if one == phase]
        assert counts == sorted(set(counts))
        assert counts[-1] <= LARGE
    assert told[-1] == (Phase.STORE, LARGE)


def test_a_work_that_another_holds_is_left_alone(brought, client):
    page(client, brought)
    work = work_of(brought)
    with held_advisory_lock(work_on_file.LOCK_SPACE, work.pk):
        work_on_file.run(work.pk)
    assert work_of(brought).attempts == 0


def test_a_work_whose_workers_died_is_given_up_said_and_asked_for_again(client, brought):
    page(client, brought)
    ImportWork.objects.update(state="running", attempts=3)
    work_on_file.run(work_of(brought).pk)
    shown = words_of(page(client, brought))
    assert "The worker ended in the middle of the work. Tried 3 times; nothing is stored." in shown
    assert progress_of(work_of(brought))["is_settled"]
    page(client, brought, do="check")
    assert (work_of(brought).state, work_of(brought).attempts) == ("queued", 0)


def test_the_sweep_rings_for_forgotten_work_alone(brought, client, messages, settings):
    assert SWEEP_WORK_TASK in {entry["task"] for entry in settings.CELERY_BEAT_SCHEDULE.values()}
    page(client, brought)
    sweep_import_work()
    assert not list(messages.glob("*.msg"))
    ImportWork.objects.update(rung_at="2026-01-01T00:00Z")
    sweep_import_work()
    sweep_import_work()
    assert len(list(messages.glob("*.msg"))) == 1


def test_nobody_sees_how_far_another_persons_file_is(client, brought):
    page(client, brought)
    client.force_login(factories.person_in_role("Coordinator"))
    assert page(client, brought, "state").status_code == 404
    client.force_login(factories.person_in_role("Safety manager"))
    assert page(client, brought, "state").status_code == 403
