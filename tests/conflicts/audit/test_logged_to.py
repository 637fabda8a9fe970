"""How far the rods of a bore were logged, beside each of its crossings that nobody watched."""

from datetime import timedelta
from math import hypot

import pytest

from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_logged_to import logged_to_m
from conflicts.models.audit_unwatched import unwatched
from tests import factories
from tests.conflicts.audit.signed_stories import AT, bore_with_mark, crossing, release, rod, take_out, watch

pytestmark = pytest.mark.django_db

ROD_RUN_M = 3.0 / hypot(1.0, -0.1)


@pytest.fixture
def bore():
    return bore_with_mark()[0]


def logged(bore, count, after=None):
    """So many rods, each of 3 m at -10 %."""
    for hours in range(count):
        after = rod(bore, after=after, at=AT + timedelta(hours=hours))
    return after


def test_rods_are_summed_from_the_entry_and_from_the_last_dot(bore):
    last = logged(bore, 2)
    assert logged_to_m([bore.pk]) == {bore.pk: pytest.approx(2 * ROD_RUN_M)}
    dotted = factories.DrilledRodFactory(bore=bore, after=last, dot_station_m=5.5, dot_offset_m=0.0)
    logged(bore, 1, after=dotted)
    assert logged_to_m([bore.pk]) == {bore.pk: pytest.approx(5.5 + ROD_RUN_M)}


def test_rods_that_were_pulled_back_count_and_those_entered_wrongly_do_not(bore):
    first = logged(bore, 1)
    deep = logged(bore, 3, after=first)
    take_out(deep.after, kind="pull_back")
    wrong = logged(bore, 4, after=first)
    take_out(wrong, kind="undo")
    assert logged_to_m([bore.pk]) == {bore.pk: pytest.approx(4 * ROD_RUN_M)}


def test_each_crossing_tells_it_and_a_bore_without_rods_tells_none(bore):
    other, mark = bore_with_mark(organisation=bore.job.organisation)
    for one in (bore, other):
        release(one, [crossing("G-1")])
    watch(other, mark, passed="pilot")
    logged(bore, 2)
    found = unwatched(AuditFilters(bore.job.organisation_id), None, 100)
    assert {one.bore_id: one.logged_to_m for one in found} == {
        bore.pk: pytest.approx(2 * ROD_RUN_M),
        other.pk: None,
    }
