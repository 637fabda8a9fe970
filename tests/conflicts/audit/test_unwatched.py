"""Crossings of drilled bores where nobody is recorded to have seen a pass."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db.models import Subquery
from django.utils import timezone

from conflicts.models import Bore
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_unwatched import count_unwatched, unwatched
from locates.models import Organisation
from tests import factories
from tests.conflicts.audit.signed_stories import (
    AT,
    bore_with_mark,
    close_out,
    crossing,
    release,
    rod,
    sign_variance,
    take_out,
    variance,
    watch,
    withdraw,
)
from tests.factories import AssessmentFactory, CrossingFactory, MarkFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

ALL_PASSES = ["pilot", "reaming", "pullback"]


def missing(job, /, **filters):
    chosen = AuditFilters(job.organisation_id, **filters)
    found = unwatched(chosen, None, 100)
    assert count_unwatched(chosen) == len(found)
    return {(one.mark_ref, one.station_m): one.missing_passes for one in found}


def lie(assessment, mark, station_m):
    """A stored crossing of a line."""
    CrossingFactory(
        assessment=assessment,
        bore=assessment.bore,
        mark=mark,
        mark_ref=mark.ref,
        from_m=station_m - 1.0,
        to_m=station_m + 1.0,
        station_m=station_m,
    )


def test_a_bore_that_nobody_drilled_lists_nothing():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")], at=timezone.now())
    assert missing(bore.job) == {}


def test_a_released_shift_that_is_over_without_any_watch_lists_every_pass():
    bore, _ = bore_with_mark()
    signed = release(bore, [crossing("G-1")], at=timezone.now() - timedelta(days=2), by="Ada Fenwick")
    day = timezone.localdate(signed.shift_until, ZoneInfo(bore.job.time_zone))
    for filters in ({}, {"person": "fenwick"}, {"day_from": day, "day_to": day}):
        assert missing(bore.job, **filters) == {("G-1", 50.0): ALL_PASSES}
    for filters in ({"person": "orley"}, {"day_from": day + timedelta(days=1)}):
        assert missing(bore.job, **filters) == {}


@pytest.mark.parametrize(("hours", "count"), [(-1, 0), (1, 1)])
def test_a_release_that_was_taken_back_in_its_shift_says_nothing_and_one_taken_back_later_does(hours, count):
    bore, _ = bore_with_mark()
    signed = release(bore, [crossing("G-1")], at=timezone.now() - timedelta(days=2))
    withdraw(signed, at=signed.shift_until + timedelta(hours=hours))
    assert len(missing(bore.job)) == count


def test_a_bore_that_was_closed_out_lists_every_pass_that_nobody_saw():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1"), crossing("W-1")])
    close_out(bore)
    watch(bore, mark, passed="pilot")
    assert missing(bore.job) == {("G-1", 50.0): ["reaming", "pullback"], ("W-1", 50.0): ALL_PASSES}


def test_one_watch_shows_that_a_bore_is_drilled():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1"), crossing("W-1")])
    watch(bore, mark, passed="pilot")
    assert set(missing(bore.job)) == {("G-1", 50.0), ("W-1", 50.0)}


@pytest.mark.parametrize(("kind", "count"), [(None, 1), ("pull_back", 1), ("undo", 0)])
def test_a_drilled_rod_shows_that_a_bore_is_drilled_and_one_entered_wrongly_does_not(kind, count):
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")], at=timezone.now())
    drilled = rod(bore, by="Odell Farrow")
    if kind:
        take_out(drilled, kind=kind)
    day = {"day_from": AT.date(), "day_to": AT.date()}
    for filters in ({}, {"person": "farrow"}, day):
        assert len(missing(bore.job, **filters)) == count
    for filters in ({"person": "orley"}, {"day_to": AT.date() - timedelta(days=1)}):
        assert missing(bore.job, **filters) == {}


def test_a_pass_shows_that_a_bore_is_drilled_and_a_withdrawn_one_does_not():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")], at=timezone.now())
    assert missing(bore.job) == {}
    reamed = factories.HolePassFactory(bore=bore, logged_by_name="Odell Farrow", made_at=AT, logged_at=AT)
    day = {"day_from": AT.date(), "day_to": AT.date()}
    for filters in ({}, {"person": "farrow"}, day):
        assert missing(bore.job, **filters) == {("G-1", 50.0): ALL_PASSES}
    for filters in ({"person": "orley"}, {"day_to": AT.date() - timedelta(days=1)}):
        assert missing(bore.job, **filters) == {}
    factories.HolePassWithdrawalFactory(hole_pass=reamed)
    assert missing(bore.job) == {}


def test_a_reamer_that_is_logged_was_to_be_watched_though_none_was_planned():
    bore, _ = bore_with_mark(pilot_diameter_m=0.2, final_diameter_m=0.2)
    release(bore, [crossing("G-1")])
    factories.PullbackFactory(bore=bore)
    assert missing(bore.job) == {("G-1", 50.0): ["pilot", "pullback"]}
    reamed = factories.HolePassFactory(bore=bore)
    assert missing(bore.job) == {("G-1", 50.0): ALL_PASSES}
    factories.HolePassWithdrawalFactory(hole_pass=reamed)
    assert missing(bore.job) == {("G-1", 50.0): ["pilot", "pullback"]}


def test_a_watch_on_which_nothing_was_seen_is_none():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    watch(bore, mark, passed="pilot", seen=False, gap_m=None)
    assert missing(bore.job) == {("G-1", 50.0): ALL_PASSES}


def test_the_last_watch_of_a_pass_counts():
    bore, mark = bore_with_mark(pilot_diameter_m=0.2, final_diameter_m=0.2)
    release(bore, [crossing("G-1")])
    watch(bore, mark, passed="pilot")
    watch(bore, mark, passed="pilot", seen=False, gap_m=None, at=AT + timedelta(hours=3))
    watch(bore, mark, passed="pullback", seen=False, gap_m=None)
    watch(bore, mark, passed="pullback", at=AT + timedelta(hours=3))
    assert missing(bore.job) == {("G-1", 50.0): ["pilot"]}


def test_who_signed_a_variance_of_the_watch_is_named_and_the_crossing_stays_in_sight():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", station_m=20.0), crossing("G-1", station_m=60.0)])
    close_out(bore)
    sign_variance(variance(bore, mark, subject="watch", station_m=60.5, pass_made=ALL_PASSES[0]))
    variance(bore, mark, subject="watch", station_m=20.5, pass_made=ALL_PASSES[0])
    sign_variance(variance(bore, mark, subject="watch", station_m=20.5))
    sign_variance(variance(bore, mark, subject="watch", station_m=22.0, pass_made=ALL_PASSES[1]))
    found = unwatched(AuditFilters(bore.job.organisation_id), None, 9)
    assert [(one.station_m, one.excused_by) for one in found] == [(20.0, None), (60.0, "pilot: Cora Tims")]


@pytest.mark.parametrize(
    ("pilot_m", "final_m", "passes"),
    [(0.1, 0.1, ["pilot", "pullback"]), (0.1, 0.2, ALL_PASSES), (None, 0.2, ALL_PASSES)],
)
def test_a_hole_that_is_not_reamed_needs_no_watch_of_reaming(pilot_m, final_m, passes):
    bore, _ = bore_with_mark(pilot_diameter_m=pilot_m, final_diameter_m=final_m)
    release(bore, [crossing("G-1")])
    close_out(bore)
    assert missing(bore.job) == {("G-1", 50.0): passes}


def test_a_watch_belongs_to_the_nearest_crossing_of_its_line():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", station_m=20.0), crossing("G-1", station_m=22.0)])
    for pass_made in ALL_PASSES:
        watch(bore, mark, passed=pass_made, station_m=21.1)
    assert missing(bore.job) == {("G-1", 20.0): ALL_PASSES}


def test_a_watch_half_way_between_two_crossings_of_its_line_proves_neither():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", station_m=20.0), crossing("G-1", station_m=22.0)])
    for pass_made in ALL_PASSES:
        watch(bore, mark, passed=pass_made, station_m=21.0)
    assert missing(bore.job) == {("G-1", 20.0): ALL_PASSES, ("G-1", 22.0): ALL_PASSES}


@pytest.mark.parametrize(("off_m", "missed"), [(0.0, 0), (-1e-3, 1)])
def test_a_watch_is_of_a_crossing_as_far_as_the_bore_steers_and_the_zone_reaches_beyond_it(off_m, missed):
    bore, mark = bore_with_mark()
    job = bore.job
    released = crossing("G-1")
    release(bore, [released])
    for pass_made in ALL_PASSES:
        at_m = released["from_m"] - (job.bore_horizontal_m + job.tolerance_width_m) + off_m
        watch(bore, mark, passed=pass_made, station_m=at_m)
    assert len(missing(job)) == missed


def test_a_watch_of_the_released_mark_counts_though_another_has_its_reference_now():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    type(mark).objects.filter(pk=mark.pk).update(retired_at=timezone.now())
    newer = MarkFactory(job=bore.job, operator=mark.operator, ref="G-1")
    watch(bore, newer, passed="pilot")
    for pass_made in ("reaming", "pullback"):
        watch(bore, mark, passed=pass_made)
    assert missing(bore.job) == {("G-1", 50.0): ["pilot"]}


def test_a_line_that_got_the_reference_of_a_released_one_is_a_line_of_its_own():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    type(mark).objects.filter(pk=mark.pk).update(retired_at=timezone.now())
    newer = MarkFactory(job=bore.job, operator=mark.operator, ref="G-1")
    stored = AssessmentFactory(bore=bore)
    lie(stored, newer, 70.0)
    for pass_made in ALL_PASSES:
        watch(bore, mark, passed=pass_made)
    assert missing(bore.job) == {("G-1", 70.0): ALL_PASSES}


def test_a_watch_of_one_kind_does_not_count_for_another():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", kind="alongside")])
    for pass_made in ALL_PASSES:
        watch(bore, mark, passed=pass_made, kind="crossing")
    assert missing(bore.job) == {("G-1", 50.0): ALL_PASSES}


def test_a_crossing_is_that_of_the_last_release_that_names_it_and_a_line_found_since_is_added():
    bore, mark = bore_with_mark()
    first = release(bore, [crossing("OLD-1"), crossing("G-1", station_m=50.4)], at=AT, inputs_digest="a" * 64)
    last = release(bore, [crossing("G-1")], at=AT + timedelta(hours=1), inputs_digest="b" * 64)
    stored = AssessmentFactory(bore=bore)
    lie(stored, mark, 51.0)
    lie(stored, MarkFactory(job=bore.job, operator=mark.operator, ref="NEW-1"), 70.0)
    close_out(bore)
    places = {("OLD-1", 50.0): ALL_PASSES, ("G-1", 51.0): ALL_PASSES, ("NEW-1", 70.0): ALL_PASSES}
    assert missing(bore.job) == places
    found = unwatched(AuditFilters(bore.job.organisation_id), None, 9)
    named = {one.mark_ref: one.release_id for one in found}
    assert named == {"OLD-1": first.pk, "G-1": last.pk, "NEW-1": None}


def test_a_release_that_was_taken_back_before_its_shift_names_nothing():
    bore, mark = bore_with_mark()
    early = release(bore, [crossing("OLD-1")], at=AT, shift_from=AT + timedelta(hours=2))
    withdraw(early, at=AT + timedelta(hours=1))
    watch(bore, mark)
    assert missing(bore.job) == {}
    began = release(bore, [crossing("OLD-2")], at=AT, inputs_digest="b" * 64)
    withdraw(began, at=AT)
    assert missing(bore.job) == {("OLD-2", 50.0): ALL_PASSES}


def test_a_line_that_got_another_reference_since_is_the_one_that_was_released():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")], marks=[mark])
    mark.ref = "G-9"
    mark.save()
    lie(AssessmentFactory(bore=bore), mark, 50.0)
    for pass_made in ALL_PASSES[:2]:
        watch(bore, mark, passed=pass_made)
    assert missing(bore.job) == {("G-9", 50.0): ["pullback"]}


def test_who_excused_a_crossing_that_is_gone_as_a_whole_is_named():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    close_out(bore)
    sign_variance(variance(bore, mark, subject="gone"))
    [found] = unwatched(AuditFilters(bore.job.organisation_id), None, 9)
    assert (found.excused_by, found.missing_passes) == ("all: Cora Tims", ALL_PASSES)


def test_a_crossing_that_the_line_left_since_stays_in_sight_beside_the_one_that_it_has_now():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    lie(AssessmentFactory(bore=bore), mark, 90.0)
    assert missing(bore.job) == {("G-1", 50.0): ALL_PASSES, ("G-1", 90.0): ALL_PASSES}
    for pass_made in ALL_PASSES:
        watch(bore, mark, passed=pass_made, station_m=50.2)
    assert missing(bore.job) == {("G-1", 90.0): ALL_PASSES}


def test_a_bore_that_was_retired_since_stays_in_sight():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    close_out(bore)
    Bore.objects.filter(pk=bore.pk).update(retired_at=AT)
    assert missing(bore.job) == {("G-1", 50.0): ALL_PASSES}


@pytest.mark.parametrize(
    ("filters", "count"),
    [
        ({"mark_ref": "G-1"}, 1),
        ({"mark_ref": "W-1"}, 0),
        ({"verdict": "short"}, 0),
        ({"verdict": "clear"}, 1),
        ({"person": "fenwick"}, 1),
        ({"person": "orley"}, 1),
        ({"person": "nobody"}, 0),
        ({"bore": "north"}, 1),
        ({"bore": "south"}, 0),
        ({"day_from": AT.date(), "day_to": AT.date()}, 1),
        ({"day_to": AT.date() - timedelta(days=1)}, 0),
    ],
)
def test_every_filter_narrows_them(filters, count):
    bore, mark = bore_with_mark(name="North run")
    release(bore, [crossing("G-1")])
    watch(bore, mark)
    close_out(bore)
    assert len(missing(bore.job, **filters)) == count


def test_pages_follow_each_other_without_a_gap():
    bore, _ = bore_with_mark()
    release(bore, [crossing(f"W-{at % 3}", station_m=float(at // 2)) for at in range(11)])
    close_out(bore)
    filters = AuditFilters(bore.job.organisation_id)
    whole, pages, place = unwatched(filters, None, 100), [], None
    while page := unwatched(filters, place, 3):
        pages += page
        place = page[-1].place
    assert len(whole) == 11
    assert pages == whole


def test_nothing_of_another_company_is_listed():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")])
    close_out(bore)
    for other in (OrganisationFactory().pk, Subquery(Organisation.objects.none().values("pk"))):
        assert unwatched(AuditFilters(other), None, 9) == []
        assert count_unwatched(AuditFilters(other)) == 0
