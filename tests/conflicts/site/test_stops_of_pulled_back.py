"""A watch between a pull-back and the rod joined in place of those settles no stop of before."""

import pytest
from django.utils import timezone

from conflicts.models import DrilledRod
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_lost_stops import move_away, see, see_though_asked, stops_of, table_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore():
    """A bore over one gas line at 50 m, drilled past it by rods of 20 m."""
    stored = bore_of_today()
    stood(stored)
    drill(stored, None, 5)
    return stored


def drill(bore, last, rods):
    for _ in range(rods):
        last = factories.DrilledRodFactory(bore=bore, after=last, length_m=20.0, logged_at=timezone.now())


def pull_back(bore):
    rod = DrilledRod.objects.get(bore=bore, number=2)
    factories.RodWithdrawalFactory(rod=rod, withdrawn_at=timezone.now())


def drill_anew(bore):
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4)


def standing(bore):
    """The ids of the watches of which a stop stands."""
    return [watch.watch_id for one in table_of(bore).stopped for watch in one.passed.stopping]


@pytest.mark.parametrize("pass_made", ["pilot", "reaming"])
def test_a_stop_stands_until_the_pass_is_seen_after_a_rod_was_joined(bore, person, pass_made):
    see(bore, person, "pilot")
    short = see(bore, person, pass_made, gap_m=0.1)
    pull_back(bore)
    see_though_asked(bore, person, pass_made)
    assert standing(bore) == [str(short.pk)]
    drill_anew(bore)
    assert standing(bore) == [str(short.pk)]
    see(bore, person, pass_made)
    assert stops_of(bore) == []


def test_a_stop_whose_crossing_is_gone_stands_as_well(bore, person):
    short = see(bore, person, gap_m=0.1)
    pull_back(bore)
    see_though_asked(bore, person)
    move_away(bore)
    assert stops_of(bore) == [(short.mark.ref, str(short.pk), True)]


def test_a_watch_before_the_pull_back_settles_the_stop_before_it_all_the_same(bore, person):
    see(bore, person, gap_m=0.1)
    see(bore, person)
    pull_back(bore)
    assert stops_of(bore) == []


def test_rods_pulled_back_beyond_the_line_leave_a_watch_after_them_its_worth(bore, person):
    see(bore, person, gap_m=0.1)
    last = DrilledRod.objects.get(bore=bore, number=4)
    factories.RodWithdrawalFactory(rod=last, withdrawn_at=timezone.now())
    see(bore, person)
    assert stops_of(bore) == []
