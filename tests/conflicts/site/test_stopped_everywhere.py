"""While a stop stands, nothing that speaks of the bore says that it may be drilled."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.models import (
    Bore,
    CloseOut,
    CrossingWatch,
    Release,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.release import ReleaseState, sign_release, standing_of
from locates.models import Mark, Organisation
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

RULE = "The gap measured in the test hole is less than required."
GOOD_M, SHORT_M = 0.6, 0.1


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def see(bore, by, gap_m, pass_made="pilot"):  # noqa: S107 - a pass of the bore
    crossing = {"mark": Mark.objects.get(job=bore.job), "kind": "crossing", "station_m": 50.0}
    watch = CrossingWatch(bore=bore, pass_made=pass_made, seen=True, gap_m=gap_m, **crossing)
    return record_watch(watch, by=by)


@pytest.fixture
def release(bore, person):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    return sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person)


def told(client, release):
    return client.get(reverse("conflicts:release-standing", args=[release.pk])).json()


def page(client, name, key):
    return " ".join(client.get(reverse(f"conflicts:{name}", args=[key])).content.decode().split())


def test_a_program_is_told_no_until_the_pass_is_seen_well(foreman, bore, release, person):
    see(bore, person, SHORT_M)
    found = told(foreman, release)
    assert (found["state"], found["in_force"]) == ("stopped", False)
    assert RULE in found["reasons"][0]
    see(bore, person, GOOD_M)
    found = told(foreman, release)
    assert (found["state"], found["in_force"], found["reasons"]) == ("in_force", True, [])


def test_before_its_shift_begins_it_names_the_stop_too(bore, person):
    see(bore, person, SHORT_M)
    now = timezone.now()
    shift = {"shift_from": now + timedelta(minutes=20), "shift_until": now + timedelta(hours=4)}
    signed = sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person)
    found = standing_of(Release.objects.with_course().get(pk=signed.pk))
    assert found.state is ReleaseState.NOT_YET
    assert RULE in found.reasons[1]


def test_the_pages_of_release_and_bore_say_stopped_and_not_lapsed(foreman, bore, release, person):
    see(bore, person, SHORT_M)
    text = page(foreman, "release", release.pk)
    assert "Do not drill on it: stopped." in text
    assert "In force, until" not in text
    assert RULE in text
    assert "a stop rule stands, though the release is in force" in page(foreman, "bore", bore.pk)
    assert (
        "No release is in force for this bore." not in page(foreman, "watches", bore.pk).split("When to")[0]
    )


def test_the_page_of_the_crossing_begins_with_it(foreman, bore, person):
    see(bore, person, SHORT_M)
    address = reverse("conflicts:crossing", args=[bore.pk, 0])
    text = " ".join(foreman.get(address).content.decode().split())
    assert RULE in text.split(">What to do<")[0]
    see(bore, person, GOOD_M)
    assert RULE not in foreman.get(address).content.decode()


def test_the_sheet_of_the_next_release_shows_it(foreman, bore, person):
    see(bore, person, SHORT_M)
    assert RULE in page(foreman, "release-sign", bore.pk)
    see(bore, person, GOOD_M)
    assert RULE not in page(foreman, "release-sign", bore.pk)


@pytest.mark.parametrize("days", [0, -9, 40, None])
def test_the_first_page_begins_with_it_whatever_the_dates_of_its_bore(foreman, bore, person, days):
    see(bore, person, SHORT_M)
    other = bore_of_today()
    other.job.test_holes.all().delete()
    if days is not None:
        start = timezone.now() + timedelta(days=days)
        Bore.objects.filter(pk=bore.pk).update(planned_start_at=start, planned_finish_at=start)
    else:
        Bore.objects.filter(pk=bore.pk).update(planned_start_at=None, planned_finish_at=None)
    for one in (bore, other):
        store_assessment(one.pk)
    from_needs = " ".join(foreman.get("/").content.decode().split()).split('id="needs"')[1]
    first = from_needs.split('class="subject"')[1]
    assert bore.job.name in first
    assert RULE in first
    see(bore, person, GOOD_M)
    assert RULE not in foreman.get("/").content.decode()


def test_the_first_page_of_another_company_shows_it_not(client, bore, person):
    see(bore, person, SHORT_M)
    stranger = Organisation.objects.create(name="Fenway Boring")
    client.force_login(person_in_role("Foreman", organisation=stranger))
    assert RULE not in client.get("/").content.decode()


@pytest.mark.parametrize("is_released", [True, False])
def test_the_cover_of_the_clearance_record_says_stopped(bore, person, is_released, request):
    if is_released:
        request.getfixturevalue("release")
    see(bore, person, SHORT_M)
    verdict = draw_record(read_kept_records(bore.pk)).verdict
    assert (verdict.headline, verdict.stops) == ("Stopped: do not drill", True)
    assert RULE in verdict.because[0]
    see(bore, person, GOOD_M)
    verdict = draw_record(read_kept_records(bore.pk)).verdict
    assert verdict.stops is not is_released


@pytest.mark.parametrize("is_closed", [True, False])
def test_a_stop_whose_variance_ended_stops_nobody_any_more_once_the_bore_is_closed_out(
    foreman, bore, person, is_closed
):
    see(bore, person, SHORT_M)
    crossing = {"subject": "watch", "mark": bore.job.marks.get(), "kind": "crossing", "station_m": 50.0}
    asked = Variance(bore=bore, pass_made="pilot", reason="Dug by hand.", **crossing)  # noqa: S106 - a pass of the bore
    request_variance(asked, by=person)
    until = timezone.now() + timedelta(days=1)
    sign_variance(VarianceSignature(variance=asked, valid_until=until), by=factories.PersonFactory())
    for pass_made in ("reaming", "pullback"):
        see(bore, person, GOOD_M, pass_made)
    if is_closed:
        stood(bore)
        close_out(CloseOut(bore=bore), by=person)
    end_variance(VarianceEnd(variance=asked, reason="The hole is filled."), by=person)
    addresses = [reverse(f"conflicts:{name}", args=[bore.pk]) for name in ("bore", "watches")]
    for address in (*addresses, reverse("conflicts:crossing", args=[bore.pk, 0])):
        order = f"Stop: {asked.mark.ref} at"
        assert (order in foreman.get(address).content.decode()) is not is_closed
