"""The page of a bore's past tells how its releases stood then, which is not how they stand now."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.models import Release
from conflicts.release import sign_release
from locates.exchange.moments import write_moment
from locates.models import Mark
from locates.past_moments import database_clock
from tests import factories

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def bore():
    """A bore of today, with nothing missing."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    bore = job.bores.get()
    factories.DailyWalkFactory(bore=bore, walked_at=now)
    return bore


def signed(bore):
    now = timezone.now()
    release = Release(
        bore=bore,
        crew="Crew 2",
        rig="Rig 7",
        shift_from=now - timedelta(minutes=1),
        shift_until=now + timedelta(hours=8),
    )
    return sign_release(release, by=factories.person_in_role("Foreman"))


def test_a_release_that_lapsed_since_was_in_force_then_and_before_it_there_was_none(client, bore):
    client.force_login(factories.person_in_role("Safety manager"))

    def page(at):
        address = reverse("conflicts:bore-as-of", args=[bore.pk], query={"at": write_moment(at)})
        response = client.get(address)
        assert response.status_code == 200
        return response.content.decode()

    before = database_clock()
    signed(bore)
    in_force = database_clock()
    Mark.objects.filter(job=bore.job_id).update(is_intact=False)
    lapsed = database_clock()
    Mark.objects.filter(job=bore.job_id).update(is_intact=None)
    changed_back = database_clock()

    assert "No release of this bore was signed by then." in page(before)
    words = page(in_force)
    assert "Was in force then" in words
    assert "crew Crew 2, rig Rig 7" in words
    assert "Had lapsed" not in words
    for at in (lapsed, changed_back):
        words = page(at)
        assert "Had lapsed" in words
        assert "was changed" in words
        assert "Was in force then" not in words


def test_a_walk_that_came_later_does_not_pass_the_check_of_then(client, bore):
    client.force_login(factories.person_in_role("Foreman"))
    before = database_clock()
    factories.DailyWalkFactory(bore=bore, walked_at=timezone.now(), marks_intact=False)
    shown = [
        client.get(reverse("conflicts:bore-as-of", args=[bore.pk], query={"at": write_moment(at)})).content
        for at in (before, database_clock(), before)
    ]
    held = [page.count(b"Held:") for page in shown]
    assert held[0] == held[2] == held[1] - 1
