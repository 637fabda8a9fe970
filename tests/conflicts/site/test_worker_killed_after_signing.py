"""A worker killed in a job that follows signing: taken up again, nothing by halves, no release reads yes."""

import shutil
from datetime import timedelta
from uuid import uuid4

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import stored_figures
from conflicts.models import Assessment, Reassessment, RecordMaking, Release
from conflicts.record.ask import ask_for_record
from conflicts.release import ReleaseState, sign_release, standing_of
from locates.desk.prove_ledger import prove_ledger
from locates.desk.save_record import save_record
from locates.models import TestHole
from tests import factories
from tests.celery_crew import crew_in
from tests.database_sessions import locked_row
from tests.pdf_reading import page_texts, squeezed
from tests.polling import wait_until
from tests.signing import signing
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# A sweep each 3 s calls out what was called 5 s ago, and a dead session is noticed within 1 s.
RECOVERY_S = 90.0


@pytest.fixture
def crew(tmp_path, transactional_db):
    """Real workers and beat over an empty broker."""
    shutil.rmtree(settings.BROKER_FOLDER, ignore_errors=True)
    for name in ("messages", "control"):
        (settings.BROKER_FOLDER / name).mkdir(parents=True)
    with crew_in(tmp_path) as workers:
        yield workers


@pytest.fixture
def foreman(client):
    person = factories.person_in_role("Foreman")
    client.force_login(person)
    return person


@pytest.fixture
def release(foreman, django_db_serialized_rollback):
    """A release of today that is in force."""
    now = timezone.now()
    signed = Release(
        bore=bore_of_today(),
        crew="Crew 2",
        rig="Rig 7",
        shift_from=now - timedelta(minutes=1),
        shift_until=now + timedelta(hours=4),
    )
    with signing(foreman):
        sign_release(signed, by=foreman)
    assert standing(signed).is_in_force
    return signed


def standing(release):
    return standing_of(Release.objects.with_course().get(pk=release.pk))


def turn_to_the_hole(release, foreman, *, is_open):
    """Log whether the hole of the one crossing is open, as its form does."""
    hole = TestHole.objects.get(job=release.bore.job)
    hole.is_open = is_open
    save_record(hole, by=foreman, opened_version=hole.version)


def assert_no(client, release):
    """Every way to ask says no."""
    assert standing(release).state is ReleaseState.LAPSED
    told = client.get(reverse("conflicts:release-standing", args=[release.pk])).json()
    assert (told["state"], told["in_force"]) == ("lapsed", False)
    for name, key in (("release", release.pk), ("bore", release.bore_id)):
        text = client.get(reverse(f"conflicts:{name}", args=[key])).content.decode()
        assert "Yes, Crew 2" not in text
        assert "In force, until" not in text


def test_a_worker_killed_while_it_reassesses_leaves_the_release_lapsed(client, crew, foreman, release):
    bore, before = release.bore, Assessment.objects.get()
    first = crew.solo_worker()
    with locked_row("conflicts_bore", bore.pk):
        turn_to_the_hole(release, foreman, is_open=False)
        running = Reassessment.objects.filter(bore=bore, state="running", attempts=1)
        wait_until(running.exists, "the bore is in hand", RECOVERY_S, crew.said)
        first.kill()
        assert (Assessment.objects.get().pk, stored_figures(bore)) == (before.pk, None)
        assert_no(client, release)
    crew.beat()
    crew.solo_worker()
    done = Reassessment.objects.filter(bore=bore)
    wait_until(lambda: not done.exists(), "the bore is done", RECOVERY_S, crew.said)
    assert len(stored_figures(bore).crossings) == Assessment.objects.count() == 1
    assert_no(client, release)
    # Opened again, the figures are those of the signing once more; the release stays at its end.
    turn_to_the_hole(release, foreman, is_open=True)
    wait_until(lambda: stored_figures(bore) is not None, "the bore is done again", RECOVERY_S, crew.said)
    assert stored_figures(bore).assessment.inputs_digest == release.inputs_digest
    assert_no(client, release)
    assert prove_ledger().fault is None


def test_a_worker_killed_while_it_makes_the_record_is_followed_by_one_that_tells_of_the_end(
    client, crew, foreman, release
):
    first = crew.solo_worker()
    row = ask_for_record(release.bore, uuid4(), by=foreman)
    laying_out = RecordMaking.objects.filter(pk=row.pk, state="running", phase="lay out", attempts=1)
    wait_until(laying_out.exists, "the pages are laid out", RECOVERY_S, crew.said)
    first.kill()
    assert RecordMaking.objects.get().content is None
    turn_to_the_hole(release, foreman, is_open=False)
    assert_no(client, release)
    crew.beat()
    crew.solo_worker()
    done = RecordMaking.objects.filter(pk=row.pk, state="done")
    wait_until(done.exists, "the record is made", RECOVERY_S, crew.said)
    made = done.get()
    shown = "".join(page_texts(bytes(made.content)))
    assert squeezed("Open them for the crossing watch.") in shown
    assert squeezed("Not released: do not drill") in shown
    assert made.inputs_digest != release.inputs_digest
    assert (made.attempts, RecordMaking.objects.count()) == (2, 1)
    assert_no(client, release)
    assert prove_ledger().fault is None
