"""Crossings of drilled bores that were drilled under a variance."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.models.audit_excused import count_excused, excused
from conflicts.models.audit_filters import AuditFilters
from conflicts.watch_matching import ALL_PASSES
from tests import factories
from tests.conflicts.audit.signed_stories import (
    AT,
    bore_with_mark,
    close_out,
    crossing,
    end_variance,
    release,
    rod,
    sign_variance,
    take_out,
    variance,
    watch,
)
from tests.factories import MarkFactory, OrganisationFactory

pytestmark = pytest.mark.django_db

PILOT = ALL_PASSES[0]
SHORT = {"verdict": "short", "worst_case_m": 0.2, "required_m": 0.3}
HOUR = timedelta(hours=1)


def listed(job, **filters):
    """What is excused of which line, and where."""
    chosen = AuditFilters(job.organisation_id, **filters)
    found = excused(chosen, None, 100)
    assert count_excused(chosen) == len(found)
    return [(one.mark_ref, one.station_m, one.subject, one.pass_made) for one in found]


def short_crossing(**values):
    return crossing("G-1", worst_m=0.2, verdict="short", **values)


def drilled(*crossings):
    """A bore of which one pass was watched in its released shift."""
    bore, mark = bore_with_mark(name="North run")
    release(bore, list(crossings) or [short_crossing()], at=AT)
    watch(bore, mark, at=AT + 2 * HOUR)
    return bore, mark


def test_a_crossing_drilled_while_its_clearance_or_a_watch_was_excused_is_listed_with_each_variance():
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=AT, **SHORT)
    sign_variance(variance(bore, mark, subject="watch", pass_made=PILOT), at=AT)
    assert sorted(listed(bore.job)) == [("G-1", 50.0, "crossing", ""), ("G-1", 50.0, "watch", PILOT)]


def test_one_that_nobody_drilled_and_a_variance_that_nobody_signed_list_nothing():
    bore, mark = bore_with_mark()
    release(bore, [short_crossing()], at=timezone.now())
    sign_variance(variance(bore, mark), at=timezone.now() - HOUR, **SHORT)
    assert listed(bore.job) == []
    other, line = drilled()
    variance(other, line)
    assert listed(other.job) == []


@pytest.mark.parametrize(
    ("signed", "ended", "count"),
    [
        (-72 * HOUR, None, 0),  # over before the shift
        (-47 * HOUR, None, 1),  # over in it
        (-2 * HOUR, -1 * HOUR, 0),  # ended before it
        (-2 * HOUR, 1 * HOUR, 1),  # ended in it
        (9 * HOUR, None, 1),
        (11 * HOUR, None, 0),  # after all that is recorded of the drilling, and over now
    ],
)
def test_it_is_under_variance_only_where_one_was_in_force_while_it_was_drilled(signed, ended, count):
    bore, mark = drilled()
    asked = variance(bore, mark)
    sign_variance(asked, at=AT + signed, **SHORT)
    if ended is not None:
        end_variance(asked, at=AT + ended)
    assert len(listed(bore.job)) == count


def test_one_that_is_in_force_now_is_listed_though_it_was_signed_after_the_drilling():
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=timezone.now() - HOUR, **SHORT)
    [found] = excused(AuditFilters(bore.job.organisation_id), None, 9)
    assert found.is_in_force


def test_a_close_out_that_is_later_than_the_shift_is_part_of_the_drilling():
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=AT + 11 * HOUR, **SHORT)
    assert listed(bore.job) == []
    close_out(bore, at=AT + 12 * HOUR)
    assert len(listed(bore.job)) == 1


def test_the_rods_are_part_of_the_drilling():
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=AT + 11 * HOUR, **SHORT)
    first = rod(bore, at=AT + 12 * HOUR)
    assert len(listed(bore.job)) == 1
    take_out(first)
    assert listed(bore.job) == []


def test_the_passes_after_the_pilot_are_part_of_the_drilling():
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=AT + 11 * HOUR, **SHORT)
    late = AT + 12 * HOUR
    reamed = factories.HolePassFactory(bore=bore, made_at=late, logged_at=late)
    assert len(listed(bore.job)) == 1
    factories.HolePassWithdrawalFactory(hole_pass=reamed)
    assert listed(bore.job) == []


@pytest.mark.parametrize(
    ("station_m", "kind", "facts", "count"),
    [
        (50.9, "crossing", SHORT, 1),
        (51.1, "crossing", SHORT, 0),
        (50.0, "alongside", SHORT, 0),
        (50.0, "crossing", {**SHORT, "verdict": "unexposed"}, 0),
        (50.0, "crossing", {**SHORT, "worst_case_m": 0.25}, 0),
        (50.0, "crossing", {}, 1),  # signed before anything was kept that it is bound to
    ],
)
def test_a_variance_is_of_the_crossing_in_which_it_was_signed_and_of_what_stood_then(
    station_m, kind, facts, count
):
    bore, mark = drilled()
    asked = variance(bore, mark, station_m=station_m, kind=kind)
    sign_variance(asked, at=AT, **facts)
    assert len(listed(bore.job)) == count


def test_a_variance_of_a_mark_that_had_the_reference_before_is_of_another_line():
    bore, mark = drilled()
    type(mark).objects.filter(pk=mark.pk).update(retired_at=AT - HOUR)
    newer = MarkFactory(job=bore.job, operator=mark.operator, ref="G-1")
    sign_variance(variance(bore, mark), at=AT, **SHORT)
    assert listed(bore.job) == []
    sign_variance(variance(bore, newer), at=AT, **SHORT)
    assert len(listed(bore.job)) == 1


@pytest.mark.parametrize(
    ("filters", "count"),
    [
        ({"mark_ref": "g-1"}, 1),
        ({"mark_ref": "W-1"}, 0),
        ({"verdict": "short"}, 1),
        ({"verdict": "clear"}, 0),
        ({"person": "tims"}, 1),
        ({"person": "orley"}, 0),
        ({"bore": "north"}, 1),
        ({"bore": "south"}, 0),
        ({"day_from": AT.date(), "day_to": AT.date()}, 1),
        ({"day_to": AT.date() - timedelta(days=1)}, 0),
    ],
)
def test_every_filter_narrows_them(filters, count):
    bore, mark = drilled()
    sign_variance(variance(bore, mark), at=AT - HOUR, by="Cora Tims", **SHORT)
    assert len(listed(bore.job, **filters)) == count


def test_pages_follow_each_other_without_a_gap_and_show_nothing_of_another_company():
    bore, mark = drilled(*(short_crossing(station_m=20.0 + 4 * at) for at in range(5)))
    for at in range(5):
        for _ in range(2):
            sign_variance(variance(bore, mark, station_m=20.0 + 4 * at), at=AT, **SHORT)
    filters = AuditFilters(bore.job.organisation_id)
    whole, pages, place = excused(filters, None, 100), [], None
    while page := excused(filters, place, 3):
        pages += page
        place = page[-1].place
    assert len(whole) == 10
    assert pages == whole
    other = AuditFilters(OrganisationFactory().pk)
    assert (excused(other, None, 9), count_excused(other)) == ([], 0)
