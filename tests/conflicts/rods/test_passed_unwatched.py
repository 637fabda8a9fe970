"""A line that the head is past by the log with no watch of the pilot: said wherever the crew looks."""

from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.assess import store_assessment
from conflicts.desk.record_watch import record_watch
from conflicts.models import CrossingWatch, Release
from conflicts.release import sign_release
from locates.models import Mark
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

TOLD = "and nobody signed a watch there. Look in the test hole before the next rod"
PAGES = ["", "rods/", "ahead/"]


@pytest.fixture
def bore():
    """A bore with one line across, at 50 m, released for now."""
    stored = bore_of_today()
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=stored, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())
    return stored


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drill(bore, count):
    """Rods of 10 m along the plan."""
    after = bore.drilled_rods.order_by("-number").first()
    for number in range(0 if after is None else after.number, count):
        depth_m = min(2.0, 1.0 + number)
        after = factories.DrilledRodFactory(
            bore=bore, after=after, length_m=10.0, depth_m=depth_m, logged_at=timezone.now()
        )


def see(bore):
    seen = {"pass_made": "pilot", "seen": True, "gap_m": 0.6}
    crossing = {"mark": Mark.objects.get(job=bore.job), "kind": "crossing", "station_m": 50.0}
    record_watch(CrossingWatch(bore=bore, **seen, **crossing), by=factories.PersonFactory())


def shown(client, bore, tail):
    store_assessment(bore.pk)
    answer = client.get(f"/bores/{bore.pk}/{tail}")
    assert answer.status_code == 200
    return " ".join(unescape(strip_tags(answer.content.decode())).split())


@pytest.mark.parametrize("tail", PAGES)
def test_it_is_told_once_the_head_is_past_and_until_it_is_seen(foreman, bore, tail):
    ref = Mark.objects.get(job=bore.job).ref
    assert TOLD not in shown(foreman, bore, tail)
    drill(bore, 4)
    assert TOLD not in shown(foreman, bore, tail)
    drill(bore, 7)
    assert f"The head is past {ref} at station 1+64.0, {TOLD}" in shown(foreman, bore, tail)
    see(bore)
    assert TOLD not in shown(foreman, bore, tail)
