"""May I drill? The bore's page, its release and the page for the rig agree after each rod that is logged."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.ahead_stops import LEG_NOT_CLEAR
from conflicts.desk.log_rod import withdraw_rods
from conflicts.models import Release, RodWithdrawal
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.release import ReleaseState, sign_release, standing_of
from tests import factories
from tests.conflicts.audit.signed_stories import close_out
from tests.conflicts.rods.test_drilled_hole_closed_out import assessed, variance_for
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

STOPPED = "Do not drill: a stop rule stands, though the release is in force."


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def signed_release(bore):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())
    return Release.objects.with_course().latest("signed_at")


@pytest.fixture
def release(bore):
    return signed_release(bore)


def drilled(bore, depth_m, count):
    """The rods of a head that goes on level at one depth."""
    rods = []
    for _ in range(count):
        after = rods[-1] if rods else None
        rods.append(factories.DrilledRodFactory(bore=bore, after=after, depth_m=depth_m))
    return rods


def told(client, bore):
    page = client.get(f"/bores/{bore.pk}/").content.decode()
    return " ".join(strip_tags(page.split('id="may-i-drill"')[1].split("</section>")[0]).split())


@pytest.mark.parametrize(
    ("depth_m", "count", "why"),
    [(1.3, 20, "The drilled hole is not clear of a line."), (0.3, 15, "Pull back ")],
)
def test_a_stop_of_the_look_ahead_stops_the_release_until_the_rods_are_pulled_back(
    foreman, bore, release, depth_m, count, why
):
    assert standing_of(release).is_in_force
    rods = drilled(bore, depth_m, count)
    ahead = foreman.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]
    assert ahead["advice"] == "stop"
    found = standing_of(release)
    assert found.state is ReleaseState.STOPPED
    assert any(why in words for words in found.reasons)
    answer = foreman.get(f"/releases/{release.pk}/standing.json").json()
    assert (answer["state"], answer["in_force"]) == ("stopped", False)
    shown = told(foreman, bore)
    assert STOPPED in shown
    assert why in shown
    pulled = RodWithdrawal(rod=rods[0], kind="pull_back", reason="Too shallow.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    if why.startswith("The drilled hole"):
        # The hole that was left is no clearer for it.
        assert [words[: len(LEG_NOT_CLEAR)] for words in standing_of(release).reasons] == [LEG_NOT_CLEAR]
        assert LEG_NOT_CLEAR in told(foreman, bore)
        [leg] = assessed(bore).drilled.legs
        variance_for(bore, leg.drilled)
        # A variance that is signed lapses a release.
        release = signed_release(bore)
    assert standing_of(release).is_in_force
    assert "Yes, Crew 2 with Rig 7" in told(foreman, bore)


def test_rods_that_stop_nothing_leave_the_release_in_force(foreman, bore, release):
    """The first rods along the plan: down from the entry at the grade of its first piece."""
    factories.DrilledRodFactory(bore=bore, depth_m=0.3)
    ahead = foreman.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]
    assert ahead["advice"] != "stop", ahead
    assert standing_of(release).is_in_force
    assert "Yes, Crew 2 with Rig 7" in told(foreman, bore)


def test_a_bore_that_is_stopped_is_not_said_to_lack_a_release(foreman, bore, release):
    """The page for the rig tells what stops it, and no more than that."""
    drilled(bore, 1.3, 20)
    ahead = foreman.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]
    assert not [stop for stop in ahead["stops"] if "No release" in stop["when"]]


def test_without_a_release_the_stop_is_told_besides(foreman, bore):
    drilled(bore, 1.3, 20)
    shown = told(foreman, bore)
    assert "Do not drill: not released. A stop rule stands besides." in shown
    assert "The drilled hole is not clear of a line." in shown


def test_the_first_page_tells_the_stops_of_the_rods_until_the_bore_is_closed_out(
    foreman, bore, django_assert_max_num_queries
):
    why = "The drilled hole is not clear of a line."
    assert why not in foreman.get("/").content.decode()
    drilled(bore, 1.3, 20)
    # Rods of however many bores: at most the three queries of their logs more than without any.
    with django_assert_max_num_queries(50):
        needs = foreman.get("/").content.decode().split('id="needs"')[1]
    assert why in needs.split('class="subject"')[1]
    assert f'href="{reverse("conflicts:ahead", args=[bore.pk])}">To the head' in needs
    close_out(bore)
    assert why not in foreman.get("/").content.decode()


def test_the_cover_of_the_record_tells_the_stop_of_the_rods_until_the_bore_is_closed_out(bore, release):
    def cover():
        return draw_record(read_kept_records(bore.pk)).verdict

    assert cover().headline == "Released"
    drilled(bore, 1.3, 20)
    assert cover().headline == "Stopped: do not drill"
    assert any("The drilled hole is not clear of a line." in why for why in cover().because)
    close_out(bore)
    assert cover().headline == "Drilled and closed out"
