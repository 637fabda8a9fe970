"""A line that only the drilled hole meets: it ends short of the plan, and the dots run through it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.log_rod import withdraw_rods
from conflicts.desk.record_watch import record_camera, record_watch
from conflicts.found_since import found_since
from conflicts.gather import gather
from conflicts.models import Bore, CameraInspection, CrossingWatch, DrilledRod, Release, RodWithdrawal
from conflicts.release import ReleaseState, sign_release, standing_of
from conflicts.watch_table import watch_table
from locates.models import Mark
from tests import factories
from tests.conflicts.audit.signed_stories import close_out
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Where the ends of the rods were dotted, metres east and north of the entry; the plan goes due east.
AWAY = ((20.0, 0.0), (40.0, -2.0), (60.0, -5.0), (80.0, -5.0))
TO_EXIT = (*AWAY, (100.0, -5.0))


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def sewer(bore):
    """A sewer across the dots whose near end is 4 m off the plan."""
    operator = bore.job.operators.get()
    return factories.MarkFactory(
        job=bore.job,
        operator=operator,
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drill(bore, places, after=None, depth_m=2.0):
    """Log rods of 20 m whose ends were dotted at these places."""
    for east_m, north_m in places:
        longitude, latitude = factories.point(east_m, north_m).coords
        after = factories.DrilledRodFactory(
            bore=bore,
            after=after,
            length_m=20.0,
            depth_m=depth_m,
            dot_longitude_deg=longitude,
            dot_latitude_deg=latitude,
        )
    return after


def release(bore):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())
    return Release.objects.with_course().get()


def assessed(bore):
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [state] = computed_states([stored], timezone.now())
    return state.assessed


def test_the_plan_and_its_digest_know_nothing_of_it(bore, sewer):
    before = gather([bore.pk])[bore.pk]
    drill(bore, AWAY)
    after = gather([bore.pk])[bore.pk]
    assert [mark.ref for mark in after.marks_beside] == ["SS9"]
    assert after.digest() == before.digest()
    assert [one.mark.ref for one in assessed(bore).crossings] == [Mark.objects.exclude(pk=sewer.pk).get().ref]


def test_it_is_named_on_the_rods_page_and_stops_the_crew(foreman, bore, sewer):
    drill(bore, AWAY)
    page = foreman.get(f"/bores/{bore.pk}/rods/").content.decode()
    assert "Stop: the hole as drilled is not clear of SS9" in page
    sheet = foreman.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]
    assert any("SS9" in stop["because"] for stop in sheet["stops"])


def test_a_head_that_is_off_the_plan_is_told_of_the_line_ahead_of_it(foreman, bore, sewer):
    """It goes on beside the plan, through a line that the plan does not meet."""
    drill(bore, AWAY[:3])
    sheet = foreman.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]
    assert any("SS9" in row["line"] for row in sheet["rows"])
    assert any("SS9" in stop["because"] for stop in sheet["stops"])


def test_rods_along_the_plan_come_near_no_other_line(foreman, bore, sewer):
    drill(bore, [(20.0, 0.0), (40.0, 0.0), (60.0, 0.0), (80.0, 0.0)])
    assert gather([bore.pk])[bore.pk].marks_beside == ()
    assert "SS9" not in foreman.get(f"/bores/{bore.pk}/rods/").content.decode()


def table_of(bore):
    found = assessed(bore)
    return watch_table(found, bore.pilot_diameter_m)


def faults_of(bore):
    found = assessed(bore)
    return close_out_faults(watch_table(found, bore.pilot_diameter_m), found)


def look_at(bore, row, pass_made):
    watch = CrossingWatch(
        bore=bore,
        mark=Mark.with_retired.get(pk=row.lies.mark_id),
        kind=row.lies.kind,
        station_m=row.lies.station_m,
        pass_made=pass_made,
        seen=True,
        gap_m=0.6,
    )
    return record_watch(watch, by=factories.PersonFactory())


def test_it_stops_the_release(bore, sewer):
    found = release(bore)
    drill(bore, AWAY)
    standing = standing_of(found)
    assert standing.state is ReleaseState.STOPPED
    assert any("SS9" in words for words in standing.reasons)


def test_its_watch_and_its_camera_are_asked_for_until_they_are_there(bore, sewer):
    release(bore)
    drill(bore, TO_EXIT)
    planned, row = table_of(bore).rows
    assert not planned.lies.is_drilled
    assert (row.lies.mark_ref, row.lies.is_drilled, row.lies.is_gone) == ("SS9", True, False)
    assert [one.pass_made for one in row.passes] == ["pilot", "reaming", "pullback"]
    missing = " ".join(faults_of(bore))
    for name in ("pilot", "reaming", "pullback"):
        assert f"No watch of the {name} at: {planned.lies.mark_ref}" in missing
        for one in (planned, row):
            look_at(bore, one, name)
    assert "No camera inspection after the bore of the sewer: SS9." in faults_of(bore)
    assert not any("No watch" in words for words in faults_of(bore))
    look = CameraInspection(
        bore=bore,
        mark=sewer,
        stage="after",
        inspected_at=timezone.now(),
        inspected_by="Cam",
        result="no_damage",
    )
    record_camera(look, by=factories.PersonFactory())
    assert not any("camera" in words for words in faults_of(bore))


def test_what_a_camera_saw_in_it_after_the_close_out_is_told_by_its_reference(bore, sewer):
    drill(bore, AWAY)
    close_out(bore, at=timezone.now())
    CameraInspection.objects.create(
        bore=bore,
        mark=sewer,
        stage="after",
        inspected_at=timezone.now(),
        inspected_by="Cam",
        result="damage",
        recorded_by=factories.PersonFactory(),
        recorded_by_name="R. Pell",
    )
    [words] = found_since(assessed(bore))
    assert words.startswith("The camera saw damage, or a conduit, in SS9, ")


def test_the_pages_name_it_and_its_watch_page_says_that_the_plan_does_not_meet_it(foreman, bore, sewer):
    drill(bore, AWAY)
    table = foreman.get(f"/bores/{bore.pk}/watches/").content.decode()
    assert "Only the drilled hole meets it" in table
    watch = foreman.get(reverse("conflicts:watch", args=[bore.pk, 1, "pilot"]))
    assert watch.status_code == 200
    assert "The plan does not meet this line" in watch.content.decode()
    choices = foreman.get(reverse("conflicts:camera", args=[bore.pk])).content.decode()
    assert "SS9" in choices


def test_an_abandoned_leg_that_alone_met_it_asks_for_the_pilot_and_the_camera(foreman, bore, sewer):
    release(bore)
    drill(bore, AWAY)
    look_at(bore, table_of(bore).rows[1], "pilot")
    second = DrilledRod.objects.get(number=2)
    pulled = RodWithdrawal(rod=second, kind="pull_back", reason="Too far to the right.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    drill(bore, [(40.0, 0.0), (60.0, 0.0), (80.0, 0.0)], after=DrilledRod.objects.get(number=1))
    row = table_of(bore).rows[1]
    assert (row.lies.mark_ref, row.lies.leg) == ("SS9", "Leg 1")
    assert [(one.pass_made, one.is_settled) for one in row.passes] == [("pilot", True)]
    assert any("No camera inspection" in words and "SS9" in words for words in faults_of(bore))
    assert "Only Leg 1, pulled back, meets it" in foreman.get(f"/bores/{bore.pk}/watches/").content.decode()


def test_an_entry_that_was_never_so_asks_for_nothing(bore, sewer):
    last = drill(bore, AWAY)
    rods = [last, *DrilledRod.objects.filter(number__in=(2, 3)).order_by("-number")]
    for rod in rods:
        withdraw_rods(RodWithdrawal(rod=rod, kind="undo"), by=factories.PersonFactory())
    assert [row.lies.mark_ref for row in table_of(bore).rows] == [Mark.objects.exclude(pk=sewer.pk).get().ref]
