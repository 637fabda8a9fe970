"""A stop that a watch sets off after the close-out is seen; one from before it, which was settled, is not."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.bore_states import computed_states
from conflicts.models import Bore
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.route_sheet import read_route
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_closing_faults import PASSES, close
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import database_clock_off, machine_clock_off

pytestmark = pytest.mark.django_db

SINCE = "A watch signed since set off a stop."


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """A bore over one gas line that is drilled, watched and closed out; 0.305 m was required."""
    stored = bore_of_today()
    stood(stored)
    for pass_made in PASSES:
        see(stored, person, pass_made, gap_m=0.4)
    close(stored, person)
    return stored


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def text_of(client, bore, name):
    return " ".join(client.get(reverse(f"conflicts:{name}", args=[bore.pk])).content.decode().split())


PAGES = ("bore", "close-out", "watches", "rods")


@pytest.mark.parametrize("name", PAGES)
def test_each_page_of_the_bore_shows_it_until_it_is_settled(foreman, bore, person, name):
    assert SINCE not in text_of(foreman, bore, name)
    see(bore, person, "pullback", gap_m=0.05)
    text = text_of(foreman, bore, name)
    assert SINCE in text
    assert f"Stop: {bore.job.marks.get().ref} at" in text
    assert "The bore was closed out before" in text
    see(bore, person, "pullback", gap_m=0.4)
    assert SINCE not in text_of(foreman, bore, name)


def test_the_pass_can_be_watched_again_while_such_a_stop_stands(foreman, bore, person):
    again = reverse("conflicts:watch", args=[bore.pk, 0, "pullback"])
    assert again not in text_of(foreman, bore, "watches")
    see(bore, person, "pullback", gap_m=0.05)
    assert again in text_of(foreman, bore, "watches")
    sent_as_shown(foreman, again, {"seen": "yes", "gap_m": "2 ft"})
    assert SINCE not in text_of(foreman, bore, "watches")
    assert again not in text_of(foreman, bore, "watches")


def test_the_look_ahead_says_stop(foreman, bore, person):
    assert "Nothing lies ahead" in text_of(foreman, bore, "ahead")
    see(bore, person, "pullback", gap_m=0.05)
    sheet = foreman.get(reverse("conflicts:ahead-state", args=[bore.pk])).json()["sheet"]
    assert sheet["advice"] == "stop"
    assert [stop["when"] for stop in sheet["stops"]] == ["A watch stopped the bore."]
    assert SINCE in text_of(foreman, bore, "ahead")


def test_the_cover_of_the_record_and_the_route_say_so(bore, person):
    assert not draw_record(read_kept_records(bore.pk)).verdict.stops
    closed_at = timezone.now()
    see(bore, person, "pullback", gap_m=0.05)
    verdict = draw_record(read_kept_records(bore.pk)).verdict
    assert (verdict.headline, verdict.stops) == ("Drilled and closed out; a stop was set off since", True)
    assert "less than required" in " ".join(verdict.because)
    # A record as of the moment before knows nothing of it.
    assert not draw_record(read_kept_records(bore.pk, closed_at)).verdict.stops
    at = timezone.now()
    [now] = read_route(bore.job, computed_states([bore], at)).bores.values()
    assert "less than required" in " ".join(now.reasons)


@pytest.mark.parametrize("name", PAGES)
def test_more_required_after_the_close_out_stops_nobody(foreman, bore, person, name):
    bore.job.requirements.update(crossing_m=0.6)
    assert SINCE not in text_of(foreman, bore, name)
    assert "Stop: " not in text_of(foreman, bore, name)
    # A watch since is held to what is required now, and tells of itself alone.
    see(bore, person, "pilot", gap_m=0.4)
    text = text_of(foreman, bore, name)
    assert text.count("Stop: ") == 1
    assert ", pilot</h2>" in text


@pytest.mark.parametrize("clock_off", [machine_clock_off, database_clock_off])
def test_a_watch_signed_by_a_clock_that_is_behind_still_comes_after_the_close_out(
    foreman, bore, person, clock_off
):
    with clock_off(timedelta(minutes=-10)):
        see(bore, person, "pullback", gap_m=0.05)
    assert SINCE in text_of(foreman, bore, "bore")


@pytest.mark.parametrize("days", [0, -9])
def test_the_first_page_names_it_whatever_the_dates_of_its_bore(foreman, bore, person, days):
    start = timezone.now() + timedelta(days=days)
    Bore.objects.update(planned_start_at=start, planned_finish_at=start)
    short = "The gap measured in the test hole is less than required."
    store_assessment(bore.pk)
    assert short not in foreman.get("/").content.decode()
    see(bore, person, "pullback", gap_m=0.05)
    assert short in foreman.get("/").content.decode()
