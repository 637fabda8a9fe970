"""A hole whose depth is corrected after a watch, and one of which nobody knows whether it is open."""

import pytest
from django.urls import reverse

from locates.models import TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_closing_faults import PASSES, close, excuse_pass, missing
from tests.conflicts.site.test_lost_stops import see, stops_of
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

BELOW = "The head reads below the bottom of the test hole."


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """A released bore over one gas line whose hole is 3 m deep; the head was read at 2 m in every pass."""
    stored = bore_of_today()
    stood(stored)
    TestHole.objects.update(dug_depth_m=3.0)
    for pass_made in PASSES:
        see(stored, person, pass_made, head_depth_m=2.0)
    assert missing(stored) == []
    return stored


def record_depth(dug_depth_m):
    hole = TestHole.objects.get()
    hole.dug_depth_m = dug_depth_m
    hole.save()


def test_a_hole_that_is_recorded_shallower_than_the_head_was_read_stops_every_pass(client, bore, person):
    record_depth(1.4)
    assert len(stops_of(bore)) == len(PASSES)
    [words] = missing(bore)
    assert BELOW in words
    then = "the head read 6 ft 6 3/4 in: the hole was recorded 9 ft 10 1/8 in deep when it was watched"
    assert then in words
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert "deep since" in page


def test_it_stands_until_the_pass_is_seen_again(bore, person):
    record_depth(1.4)
    for pass_made in PASSES:
        see(bore, person, pass_made, head_depth_m=1.35)
    assert close(bore, person).pk


def test_a_hole_dug_deeper_since_settles_no_stop(bore, person):
    record_depth(2.5)
    see(bore, person, "pullback", head_depth_m=2.6)
    record_depth(3.5)
    assert [words for words in missing(bore) if BELOW in words] != []


def test_a_variance_for_a_stop_of_the_gap_does_not_excuse_the_shallower_hole(bore, person):
    see(bore, person, "pullback", gap_m=0.1, head_depth_m=2.0)
    excuse_pass(bore, "pullback")
    assert missing(bore) == []
    record_depth(1.4)
    for pass_made in ("pilot", "reaming"):
        excuse_pass(bore, pass_made)
    assert [words for words in missing(bore) if BELOW in words] != []
    signature = excuse_pass(bore, "pullback")
    assert "deep now" in signature.variance.bound_words()
    assert missing(bore) == []


def test_a_hole_that_may_be_open_counts_among_those_that_decide_the_bottom(bore, person):
    hole = TestHole.objects.get()
    other = {"job": bore.job, "mark": hole.mark, "position": hole.position, "ref": "H-2"}
    depth = {"depth_to_top_m": hole.depth_to_top_m, "dug_depth_m": 1.2, "measured_at": hole.measured_at}
    second = factories.TestHoleFactory(**other, **depth, found=True, is_open=None)
    watch = see(bore, person, head_depth_m=2.0)
    assert watch.hole_bottom_m == 1.2
    assert BELOW in " ".join(missing(bore))
    second.is_open = False
    second.save()
    assert see(bore, person, head_depth_m=2.0).hole_bottom_m == 3.0
