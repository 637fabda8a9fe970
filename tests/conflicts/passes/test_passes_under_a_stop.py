"""The pages at the reamer say what stops the crew, as those at the head do."""

from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.desk.record_watch import record_watch
from conflicts.models import CrossingWatch, Release
from conflicts.release import sign_release
from conflicts.stop_rules import RULE_OF, StopCode
from locates.models import Mark
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

UNRELEASED = RULE_OF[StopCode.NO_RELEASE]
PAGES = ["", "pullback/"]


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def shown(client, bore, tail):
    answer = client.get(f"/bores/{bore.pk}/passes/{tail}")
    assert answer.status_code == 200
    return " ".join(unescape(strip_tags(answer.content.decode())).split())


def release(bore):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    signed = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    return sign_release(signed, by=factories.PersonFactory())


@pytest.mark.parametrize("tail", PAGES)
def test_without_a_release_it_is_said_in_full_and_under_one_it_is_not(foreman, bore, tail):
    unreleased = shown(foreman, bore, tail)
    assert f"{UNRELEASED.when} {UNRELEASED.then} None was signed yet." in unreleased
    release(bore)
    assert UNRELEASED.when not in shown(foreman, bore, tail)
    Mark.objects.filter(job=bore.job).update(is_intact=False)
    lapsed = shown(foreman, bore, tail)
    assert f"{UNRELEASED.when} {UNRELEASED.then} The last release is lapsed: " in lapsed


@pytest.mark.parametrize("tail", PAGES)
def test_a_gap_too_small_stops_the_reamer_and_the_conduits(foreman, bore, tail):
    release(bore)
    seen = {"pass_made": "pilot", "seen": True, "gap_m": 0.1}
    crossing = {"mark": Mark.objects.get(job=bore.job), "kind": "crossing", "station_m": 50.0}
    record_watch(CrossingWatch(bore=bore, **seen, **crossing), by=factories.PersonFactory())
    rule = RULE_OF[StopCode.GAP_SHORT]
    assert f"{rule.when} {rule.then}" in shown(foreman, bore, tail)


@pytest.mark.parametrize("tail", PAGES)
def test_a_drilled_hole_that_is_not_clear_stops_them(foreman, bore, tail):
    release(bore)
    assert "Stopped after the last rod" not in shown(foreman, bore, tail)
    after = None
    for _ in range(4):
        after = factories.DrilledRodFactory(
            bore=bore, after=after, length_m=20.0, depth_m=1.5, logged_at=timezone.now()
        )
    stopped = shown(foreman, bore, tail)
    assert "Stopped after the last rod" in stopped
    assert "The drilled hole is not clear of a line." in stopped
