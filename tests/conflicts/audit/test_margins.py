"""Margins of crossings at signing and on watches: each against what was required then, the least first."""

from datetime import timedelta

import pytest
from django.db.models import Subquery

from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_margins import least_margins, margin_figures, plotted_margins
from locates.models import Organisation
from tests.conflicts.audit.signed_stories import (
    AT,
    bore_with_mark,
    crossing,
    end_variance,
    release,
    sign_variance,
    variance,
    watch,
)
from tests.factories import MarkFactory, OrganisationFactory

pytestmark = pytest.mark.django_db


def listed(job, /, **filters):
    return least_margins(AuditFilters(job.organisation_id, **filters), None, 100)


def test_a_margin_is_the_worst_case_less_the_required_and_the_gap_less_what_the_release_required():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", worst_m=0.5, required_m=0.3)])
    watch(bore, mark, gap_m=0.4)
    (measured, planned) = listed(bore.job)
    assert (measured.is_measured, measured.margin_m) == (True, pytest.approx(0.1))
    assert (planned.is_measured, planned.margin_m) == (False, pytest.approx(0.2))
    assert (measured.person, planned.person) == ("Bram Orley", "Ada Fenwick")


def test_an_unknown_margin_stands_before_the_least_and_is_not_counted_as_known():
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1", worst_m=None, verdict="unexposed"), crossing("W-1", worst_m=0.1)])
    assert [row.margin_m for row in listed(bore.job)] == [None, pytest.approx(-0.2)]
    filters = AuditFilters(bore.job.organisation_id)
    found = margin_figures(filters)
    at_signing, on_watches = found.releases, found.watches
    assert (at_signing.count, at_signing.known, at_signing.short) == (2, 1, 1)
    assert (on_watches.count, on_watches.least_m) == (0, None)
    assert [row.margin_m for row in plotted_margins(filters, 9)[0]] == [pytest.approx(-0.2)]


def test_a_gap_is_held_to_what_was_required_on_the_watch_and_has_the_verdict_of_the_release_before_it():
    bore, mark = bore_with_mark()
    twice = [
        crossing("G-1", station_m=20.0, required_m=0.1, verdict="short"),
        crossing("G-1", station_m=60.0, required_m=0.2),
    ]
    release(bore, twice, at=AT)
    release(bore, [crossing("G-1", station_m=60.0, verdict="stale")], at=AT + timedelta(hours=5))
    watch(bore, mark, gap_m=0.5, required_m=0.45, station_m=59.0, at=AT + timedelta(hours=1))
    watch(bore, mark, gap_m=0.5, required_m=0.05, station_m=59.0, at=AT + timedelta(hours=6))
    measured = [(row.required_m, row.verdict) for row in listed(bore.job) if row.is_measured]
    assert measured == [(0.45, "clear"), (0.05, "stale")]


def test_a_watch_with_no_release_before_it_has_no_verdict():
    bore, mark = bore_with_mark()
    watch(bore, mark, at=AT - timedelta(hours=1))
    release(bore, [crossing("G-1")], at=AT)
    (measured,) = [row for row in listed(bore.job) if row.is_measured]
    assert measured.verdict == ""


def verdicts_of_watches(job):
    return [row.verdict for row in sorted(listed(job), key=lambda row: row.at) if row.is_measured]


def test_a_watch_is_of_a_crossing_within_whose_reach_it_lies_and_of_none_between_two():
    bore, mark = bore_with_mark()
    near_m = bore.job.bore_horizontal_m + bore.job.jurisdiction.tolerance_zone_m
    pair = [crossing("G-1", station_m=50.0, verdict="short"), crossing("G-1", station_m=52.0)]
    release(bore, pair)
    for hour, station_m in enumerate((49.0 - near_m, 48.99 - near_m, 50.9, 51.0, 51.1), 1):
        watch(bore, mark, station_m=station_m, at=AT + timedelta(hours=hour))
    assert verdicts_of_watches(bore.job) == ["short", "", "short", "", "clear"]


def test_a_watch_is_of_the_crossing_of_its_mark_whatever_the_marks_are_called_since():
    bore, mark = bore_with_mark("G-1")
    other = MarkFactory(job=bore.job, ref="G-2")
    both = [crossing("G-1", verdict="short"), crossing("G-2", verdict="stale")]
    release(bore, both, marks=[mark, other])
    for one, ref in ((mark, "G-3"), (other, "G-1"), (mark, "G-2")):
        one.ref = ref
        one.save()
    watch(bore, mark, at=AT + timedelta(hours=1))
    watch(bore, other, at=AT + timedelta(hours=2))
    assert verdicts_of_watches(bore.job) == ["short", "stale"]


SHORT = {"verdict": "short", "worst_case_m": 0.2, "required_m": 0.3}


def under_variance(job):
    return {(row.mark_ref, row.station_m, row.is_measured) for row in listed(job) if row.is_under_variance}


def test_a_crossing_is_under_variance_while_one_is_in_force_that_was_signed_for_a_place_within_it():
    bore, mark = bore_with_mark()
    asked = variance(bore, mark, station_m=59.5)
    short = {"worst_m": 0.2, "verdict": "short"}
    both = [crossing("G-1", station_m=20.0, **short), crossing("G-1", station_m=60.0, **short)]
    release(bore, both, at=AT + timedelta(hours=2))
    watch(bore, mark, station_m=58.7, at=AT + timedelta(hours=3))
    watch(bore, mark, station_m=21.0, at=AT + timedelta(hours=3))
    assert under_variance(bore.job) == set()
    sign_variance(asked, at=AT + timedelta(hours=1), **SHORT)
    assert under_variance(bore.job) == {("G-1", 60.0, False), ("G-1", 58.7, True)}


@pytest.mark.parametrize("station_m", [48.9, 51.1])
def test_a_variance_signed_for_a_place_outside_a_crossing_covers_it_not(station_m):
    bore, mark = bore_with_mark()
    sign_variance(variance(bore, mark, station_m=station_m), at=AT, **SHORT)
    release(bore, [crossing("G-1", worst_m=0.2, verdict="short")], at=AT + timedelta(hours=2))
    assert under_variance(bore.job) == set()


def test_of_the_variances_in_force_those_cover_a_released_crossing_that_its_release_rests_on():
    bore, mark = bore_with_mark()
    used, idle = variance(bore, mark), variance(bore, mark)
    for one in (used, idle):
        sign_variance(one, at=AT, **SHORT)
    short = [crossing("G-1", worst_m=0.2, verdict="short")]
    release(bore, short, at=AT + timedelta(hours=2), marks=[mark], excused_by=[])
    assert under_variance(bore.job) == set()
    release(bore, short, at=AT + timedelta(hours=3), marks=[mark], excused_by=[used])
    assert under_variance(bore.job) == {("G-1", 50.0, False)}


def test_a_gap_is_under_the_variance_for_its_watch_whose_signer_was_shown_it():
    bore, mark = bore_with_mark()
    shown, later = (watch(bore, mark, gap_m=0.1, at=AT + timedelta(hours=hour)) for hour in (1, 3))
    asked = variance(bore, mark, subject="watch", pass_made=shown.pass_made)
    assert under_variance(bore.job) == set()
    sign_variance(asked, at=AT + timedelta(hours=2), faults=[[str(shown.pk), "The gap is short."]])
    assert [row.id for row in listed(bore.job) if row.is_under_variance] == [shown.pk]
    assert later.pk in {row.id for row in listed(bore.job)}


def test_a_variance_that_ended_or_was_for_a_watch_covers_no_clearance():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1", worst_m=0.2, verdict="short")], at=AT + timedelta(hours=6))
    ended = variance(bore, mark)
    sign_variance(ended, at=AT + timedelta(hours=1), **SHORT)
    end_variance(ended, at=AT + timedelta(hours=5))
    sign_variance(variance(bore, mark, subject="watch"), at=AT + timedelta(hours=1))
    assert under_variance(bore.job) == set()


@pytest.mark.parametrize(
    "signed",
    [{}, {"verdict": "unexposed"}, {"worst_case_m": 0.21}, {"required_m": 0.29}, {"worst_case_m": None}],
)
def test_a_variance_of_another_verdict_or_a_greater_margin_covers_no_released_clearance(signed):
    bore, mark = bore_with_mark()
    sign_variance(variance(bore, mark), at=AT, **({**SHORT, **signed} if signed else {}))
    release(bore, [crossing("G-1", worst_m=0.2, verdict="short")], at=AT + timedelta(hours=2))
    assert under_variance(bore.job) == set()


def test_a_pass_that_was_not_seen_measures_nothing():
    bore, mark = bore_with_mark()
    watch(bore, mark, gap_m=None, seen=False)
    assert listed(bore.job) == []


def test_the_figures_are_the_least_the_median_and_what_is_short():
    bore, _ = bore_with_mark()
    margins = (0.4, -0.1, 0.2)
    release(bore, [crossing(f"W-{at}", worst_m=0.3 + one) for at, one in enumerate(margins)])
    figures = margin_figures(AuditFilters(bore.job.organisation_id)).releases
    assert (figures.count, figures.known, figures.short) == (3, 3, 1)
    assert (figures.least_m, figures.median_m) == (pytest.approx(-0.1), pytest.approx(0.2))


def test_pages_follow_each_other_without_a_gap_also_through_unknown_and_equal_margins():
    bore, mark = bore_with_mark()
    release(bore, [crossing(f"W-{at}", worst_m=None if at % 3 else 0.5) for at in range(12)])
    release(bore, [crossing(f"W-{at}", worst_m=0.5) for at in range(5)])
    for _ in range(4):
        watch(bore, mark, gap_m=0.8)
    filters = AuditFilters(bore.job.organisation_id)
    whole, pages, place = least_margins(filters, None, 100), [], None
    while page := least_margins(filters, place, 4):
        pages += page
        place = page[-1].place
    assert len(whole) == 21
    assert pages == whole


def test_of_many_the_plot_has_the_least_of_each_stretch_of_time_and_kind():
    bore, mark = bore_with_mark()
    for hour in range(30):
        least = -0.3 if hour == 17 else 0.5 + (hour * 7 % 11) / 10
        at = AT + timedelta(hours=hour)
        release(bore, [crossing("G-1", worst_m=0.3 + least), crossing("W-1", worst_m=9.0)], at=at)
        watch(bore, mark, gap_m=0.3 + least, at=at)
    plotted, total = plotted_margins(AuditFilters(bore.job.organisation_id), 10)
    assert total == 90
    assert len(plotted) == 20
    assert [row.margin_m for row in plotted].count(pytest.approx(-0.3)) == 2
    assert {row.mark_ref for row in plotted} == {"G-1"}
    assert [row.greatest_m for row in plotted if not row.is_measured] == [pytest.approx(8.7)] * 10
    assert [row.at for row in plotted] == sorted(row.at for row in plotted)
    assert len(plotted_margins(AuditFilters(bore.job.organisation_id), 45)[0]) == 90


@pytest.mark.parametrize(
    ("filters", "kept"),
    [
        ({"mark_ref": "g-1"}, {"G-1"}),
        ({"mark_ref": "G"}, set()),
        ({"verdict": "short"}, {"W-1"}),
        ({"person": "fenw"}, {"G-1", "W-1"}),
        ({"person": "nobody"}, set()),
        ({"bore": "south"}, set()),
        ({"job": "Alder"}, {"G-1", "W-1"}),
        ({"job": "100 %"}, set()),
        ({"day_from": AT.date(), "day_to": AT.date()}, {"G-1", "W-1"}),
        ({"day_from": AT.date() + timedelta(days=1)}, set()),
    ],
)
def test_every_filter_narrows_them(filters, kept):
    bore, _ = bore_with_mark(name="North run")
    release(bore, [crossing("G-1"), crossing("W-1", worst_m=0.1, verdict="short")])
    assert {row.mark_ref for row in listed(bore.job, **filters)} == kept


def test_days_are_those_of_the_job():
    # Half past four in the morning of the 11th by UTC is still the 10th in Virginia.
    bore, _ = bore_with_mark()
    release(bore, [crossing("G-1")], at=AT.replace(day=11, hour=4, minute=30))
    tenth = AT.date()
    assert len(listed(bore.job, day_from=tenth, day_to=tenth)) == 1
    assert listed(bore.job, day_from=tenth + timedelta(days=1)) == []


def test_nothing_of_another_company_is_listed_or_counted_and_nobody_without_one_sees_any():
    bore, mark = bore_with_mark()
    release(bore, [crossing("G-1")])
    watch(bore, mark)
    for other in (OrganisationFactory().pk, Subquery(Organisation.objects.none().values("pk"))):
        assert least_margins(AuditFilters(other), None, 9) == []
        assert margin_figures(AuditFilters(other)).count == 0
