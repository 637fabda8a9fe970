"""While a bore is being recalculated its page says whether to drill, and what stops the crew."""

from datetime import timedelta

import pytest
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.desk.record_watch import record_watch
from conflicts.models import Assessment, CrossingWatch, Release
from conflicts.release import sign_release
from locates.models import Mark
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """Whose figures were never stored."""
    found = bore_of_today()
    Assessment.objects.filter(bore=found).delete()
    return found


@pytest.fixture
def told(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))

    def shown():
        page = client.get(f"/bores/{bore.pk}/").content.decode()
        return " ".join(strip_tags(page).split())

    return shown


def release(bore):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())


def test_without_a_release_it_is_no(told):
    text = told()
    assert "Being recalculated" in text
    assert "Do not drill: no release was signed yet." in text


def test_a_release_in_force_says_yes_and_one_that_lapsed_says_why_not(bore, told):
    release(bore)
    assert "Yes, Crew 2 with Rig 7" in told()
    Mark.objects.update(stated_width_m=0.4)
    text = told()
    assert "Being recalculated" in text
    assert "Do not drill: the last release is lapsed." in text
    assert "was changed" in text


def test_a_stop_that_stands_is_told_in_full(bore, told):
    release(bore)
    passed = {"mark": Mark.objects.get(), "kind": "crossing", "station_m": 50.0, "pass_made": "pilot"}
    record_watch(CrossingWatch(bore=bore, **passed, seen=True, gap_m=0.05), by=factories.PersonFactory())
    text = told()
    assert "Being recalculated" in text
    assert "Do not drill: a stop rule stands, though the release is in force." in text
    assert "It stands until the pass is seen again with nothing wrong" in text
