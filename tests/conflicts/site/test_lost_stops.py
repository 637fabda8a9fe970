"""A stop does not go with its crossing: it stands until a variance for its watch is signed."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.bore_states import computed_states
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.drill_answer import drill_answer
from conflicts.errors import ReleaseHeldError, WatchAskedError
from conflicts.models import CloseOut, CrossingWatch, Release, Variance, VarianceSignature
from conflicts.release import sign_release
from conflicts.watch_table import watch_table
from locates.desk.retire import retire
from locates.models import Mark, SurfaceFeature, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

PILOT = "pilot"
RULE = "Do not enlarge the hole past this line."


@pytest.fixture
def bore():
    """A bore with one gas line at 50 m; 0.305 m is required."""
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory()


def see(
    bore,
    person,
    pass_made=PILOT,
    *,
    mark=None,
    station_m=50.0,
    gap_m: float | None = 0.6,
    confirmed=(),
    **read,
):
    crossing = {"mark": mark or Mark.objects.get(), "kind": "crossing", "station_m": station_m}
    seen = {"seen": gap_m is not None, "gap_m": gap_m, **read}
    watch = CrossingWatch(bore=bore, pass_made=pass_made, **seen, **crossing)
    return record_watch(watch, by=person, confirmed=confirmed)


def see_though_asked(bore, person, pass_made=PILOT, **read):
    """A watch that is asked about where the log is short of the line, and kept all the same."""
    try:
        return see(bore, person, pass_made, **read)
    except WatchAskedError as asked:
        tokens = [one.token for one in asked.oddities]
    return see(bore, person, pass_made, confirmed=tokens, **read)


def assessed_of(bore):
    [state] = computed_states([bore], timezone.now())
    return state.assessed


def table_of(bore):
    return watch_table(assessed_of(bore), bore.pilot_diameter_m)


def stops_of(bore):
    return [(one.mark_ref, one.passed.watch.watch_id, one.is_lost) for one in table_of(bore).stopped]


def move_away(bore, east=300):
    TestHole.objects.all().delete()
    for mark in Mark.objects.all():
        mark.geometry = factories.line((50, east), (50, east + 100))
        mark.save()
    store_assessment(bore.pk)


def log_anew(bore, person, station_m=50.0):
    """The same line under another record, the old one retired."""
    old = Mark.objects.get()
    line = factories.line((station_m, -15), (station_m, 15))
    new = factories.MarkFactory(
        job=bore.job, operator=old.operator, geometry=line, facility_type=old.facility_type
    )
    TestHole.objects.update(mark=new)
    SurfaceFeature.objects.all().delete()
    retire(old, by=person)
    store_assessment(bore.pk)
    return new


def excuse(bore, watch):
    asked = Variance(bore=bore, subject="watch", mark=watch.mark, kind=watch.kind,
                     station_m=watch.station_m, pass_made=watch.pass_made,
                     reason="The hole was dug wide.")  # fmt: skip
    request_variance(asked, by=factories.PersonFactory())
    until = timezone.now() + timedelta(days=2)
    return sign_variance(
        VarianceSignature(variance=asked, valid_until=until), by=person_in_role("Safety manager")
    )


def release(bore, person):
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    return sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person)


def test_a_stop_stands_though_its_line_lies_elsewhere_now(bore, person):
    short = see(bore, person, gap_m=0.1)
    move_away(bore)
    assert stops_of(bore) == [(short.mark.ref, str(short.pk), True)]


def test_a_stop_stands_though_the_line_was_logged_anew_and_watched_under_the_new_record(bore, person):
    short = see(bore, person, gap_m=0.1)
    new = log_anew(bore, person)
    see(bore, person, mark=new)
    assert stops_of(bore) == [(short.mark.ref, str(short.pk), True)]


def test_it_is_shown_in_full_and_asked_for_on_every_page_of_the_bore(client, bore, person):
    short = see(bore, person, gap_m=0.1)
    move_away(bore)
    client.force_login(person_in_role("Foreman"))
    for name in ("bore", "watches"):
        text = client.get(reverse(f"conflicts:{name}", args=[bore.pk])).content.decode()
        shown = text.split("When to stop")[0]
        assert f"Stop: {short.mark.ref} at" in shown
        assert RULE in shown
        assert "this crossing is not there any more" in shown


def test_no_release_says_yes_beside_it(bore, person):
    see(bore, person, gap_m=0.1)
    log_anew(bore, person)
    release(bore, person)
    answer = drill_answer(bore, table_of(bore), assessed_of(bore))
    assert (answer.is_stopped, answer.is_yes) == (True, False)


def test_it_holds_the_close_out_until_its_variance_is_signed_which_the_grounds_name(bore, person):
    short = see(bore, person, gap_m=0.1)
    new = log_anew(bore, person)
    for pass_made in ("pilot", "reaming", "pullback"):
        see(bore, person, pass_made, mark=new)
    with pytest.raises(
        ReleaseHeldError, match=f"is less than required.* It stands at: {short.mark.ref} at .*, pilot"
    ):
        close_out(CloseOut(bore=bore), by=person)
    signature = excuse(bore, short)
    assert stops_of(bore) == []
    stood(bore)
    grounds = close_out(CloseOut(bore=bore), by=person).grounds
    assert grounds["excused_stops"] == [[str(short.pk), str(signature.variance_id)]]


def test_a_bore_that_meets_nothing_any_more_is_held_by_it_too(bore, person):
    see(bore, person, gap_m=0.1)
    move_away(bore)
    with pytest.raises(ReleaseHeldError, match="less than required"):
        close_out(CloseOut(bore=bore), by=person)


def test_a_variance_of_before_of_another_place_or_of_another_pass_settles_it_not(bore, person):
    before = see(bore, person)
    excuse(bore, before)
    short = see(bore, person, gap_m=0.1)
    move_away(bore)
    assert len(stops_of(bore)) == 1
    short.station_m = 80.0
    excuse(bore, short)
    assert len(stops_of(bore)) == 1
    short.station_m, short.pass_made = 50.0, "reaming"
    excuse(bore, short)
    assert len(stops_of(bore)) == 1
    short.pass_made = PILOT
    excuse(bore, short)
    assert stops_of(bore) == []


def test_what_was_seen_to_pass_well_before_the_crossing_went_stays_settled(bore, person):
    see(bore, person, gap_m=0.1)
    see(bore, person, "reaming", gap_m=0.1)
    see(bore, person)
    move_away(bore)
    assert [one.passed.pass_made for one in table_of(bore).stopped] == ["reaming"]


def test_its_variance_is_asked_for_on_the_form_and_says_what_it_is_for(client, bore, person):
    short = see(bore, person, gap_m=0.1)
    move_away(bore)
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    assert f'value="stop:{short.pk}"' in client.get(address).content.decode()
    typed = {"what": f"stop:{short.pk}", "reason": "The hole was dug wide."}
    sent = sent_as_shown(client, address, typed, follow=True)
    asked = Variance.objects.get()
    assert (asked.subject, asked.mark_id, asked.station_m) == ("watch", short.mark_id, short.station_m)
    assert asked.pass_made == PILOT
    assert "A stop in the pilot, at a crossing that is not there any more." in sent.content.decode()


def survey_at(bore, east):
    """The same line, surveyed at another station, with its hole."""
    for mark in Mark.objects.all():
        mark.geometry = factories.line((east, -15), (east, 15))
        mark.save()
    TestHole.objects.update(position=factories.point(east, 0))
    store_assessment(bore.pk)


def test_a_watch_proves_nothing_of_the_same_line_elsewhere(bore, person):
    watched = see(bore, person)
    survey_at(bore, 90)
    table = table_of(bore)
    assert [one.watch_id for one in table.lost] == [str(watched.pk)]
    assert table.crossings[0].first_open.pass_made == PILOT


def test_a_stop_stays_where_it_was_though_the_same_line_is_seen_well_elsewhere(bore, person):
    short = see(bore, person, gap_m=0.1)
    survey_at(bore, 90)
    see(bore, person, station_m=90.0)
    assert stops_of(bore) == [(short.mark.ref, str(short.pk), True)]


def test_a_watch_is_its_crossings_as_far_as_the_bore_steers_and_the_zone_reaches_beyond_it(bore, person):
    see(bore, person)
    [state] = computed_states([bore], timezone.now())
    extent, job = state.assessed.crossings[0].clearance, state.assessed.scene.inputs.job
    half_m = (extent.to_m - extent.from_m) / 2
    reach_m = half_m + job.bore_horizontal_m + job.tolerance_zone_m
    for off_m, lost in ((reach_m - 0.01, 0), (reach_m + 0.01, 1)):
        survey_at(bore, 50 + off_m)
        assert len(table_of(bore).lost) == lost
