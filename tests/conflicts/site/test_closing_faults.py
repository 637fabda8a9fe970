"""What holds a close-out besides a missing watch: no release, passes out of order, more required since."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.close_out import close_out
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.errors import ReleaseHeldError
from conflicts.models import CloseOut, CrossingWatch, Variance, VarianceSignature
from locates.models import Mark, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_lost_stops import move_away, release, see, stops_of, table_of
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

PASSES = ("pilot", "reaming", "pullback")


@pytest.fixture
def bore():
    """A walked bore over one gas line at 50 m, not released; 0.305 m is required."""
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory()


def missing(bore):
    [state] = computed_states([bore], timezone.now())
    return close_out_faults(table_of(bore), state.assessed)


def excuse(bore, **what):
    asked = Variance(bore=bore, reason="Two people looked.", **what)
    request_variance(asked, by=factories.PersonFactory())
    signature = VarianceSignature(variance=asked, valid_until=timezone.now() + timedelta(days=2))
    return sign_variance(signature, by=factories.PersonFactory())


def excuse_pass(bore, pass_made):
    place = {"mark": Mark.objects.get(), "kind": "crossing", "station_m": 50.0}
    return excuse(bore, subject="watch", pass_made=pass_made, **place)


def close(bore, person):
    return close_out(CloseOut(bore=bore), by=person)


def test_a_walk_alone_closes_no_bore_that_meets_nothing(bore, person):
    move_away(bore)
    with pytest.raises(ReleaseHeldError, match="No release ever stood for this bore"):
        close(bore, person)
    assert len(missing(bore)) == 1


def test_a_bore_that_was_watched_and_never_released_is_closed_under_a_variance_alone(bore, person):
    for pass_made in PASSES:
        see(bore, person, pass_made)
    with pytest.raises(ReleaseHeldError, match="nobody signed that it might be drilled"):
        close(bore, person)
    signature = excuse(bore, subject="check", check_code="release")
    assert "No release ever stood" in signature.variance.bound_words()
    assert close(bore, person).pk


def test_a_variance_for_that_is_asked_for_on_the_form_only_where_none_stood(client, bore, person):
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    assert 'value="check:release"' in client.get(address).content.decode()
    release(bore, person)
    assert 'value="check:release"' not in client.get(address).content.decode()


def test_a_release_whose_shift_is_still_to_come_did_not_stand_yet(bore, person):
    move_away(bore)
    to_come = timezone.now() + timedelta(hours=1)
    stood(bore, at=to_come)
    assert "No release ever stood" in " ".join(missing(bore))
    stood(bore, at=timezone.now() - timedelta(hours=1))
    assert missing(bore) == []


@pytest.mark.parametrize(
    ("order", "late"),
    [
        (("reaming", "pilot", "pullback"), ["reaming"]),
        (("pullback", "reaming", "pilot"), ["reaming", "pullback"]),
        (("pilot", "pullback", "reaming"), ["pullback"]),
    ],
)
def test_a_pass_seen_before_the_one_that_goes_before_it_holds_with_both_moments(bore, person, order, late):
    stood(bore)
    for pass_made in order:
        see(bore, person, pass_made)
    told = missing(bore)
    assert [f"The {name} was last seen before" in words for name, words in zip(late, told, strict=True)]
    with pytest.raises(ReleaseHeldError, match="The passes are watched in their order"):
        close(bore, person)
    for pass_made in PASSES[PASSES.index(late[0]) :]:
        see(bore, person, pass_made)
    assert close(bore, person).pk


def test_a_pass_excused_out_of_its_order_is_excused_for_that_one_alone(bore, person):
    stood(bore)
    for pass_made in ("pullback", "reaming", "pilot"):
        see(bore, person, pass_made)
    see(bore, person, "reaming")
    excuse_pass(bore, "pullback")
    assert missing(bore) == []
    see(bore, person, "reaming")
    assert "After it the reaming was seen" in " ".join(missing(bore))


def test_the_table_says_which_pass_was_seen_too_early(client, bore, person):
    see(bore, person, "pullback")
    see(bore, person, "pilot")
    client.force_login(person_in_role("Foreman"))
    text = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "before the pilot</b>" in text


def test_more_required_since_stops_a_gap_that_was_enough_with_both_figures(client, bore, person):
    stood(bore)
    for pass_made in PASSES:
        see(bore, person, pass_made, gap_m=0.32)
    assert missing(bore) == []
    bore.job.requirements.update(crossing_m=0.6)
    words = "the gap is 1 ft 0 1/2 in: 1 ft 0 1/8 in was required when it was watched, 1 ft 11 5/8 in is now"
    assert words in " ".join(missing(bore))
    assert len(stops_of(bore)) == 3
    client.force_login(person_in_role("Foreman"))
    text = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "1 ft 0 1/8 in then, 1 ft 11 5/8 in now" in " ".join(text.split())
    bore.job.requirements.update(crossing_m=0.32)
    assert missing(bore) == []


def test_less_required_than_when_it_was_released_clears_no_gap(client, bore, person):
    release(bore, person)
    bore.job.requirements.update(crossing_m=0.0)
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    assert (
        "as when the bore was released or drilled past; 0 in is now" in client.get(address).content.decode()
    )
    sent_as_shown(client, address, {"seen": "yes", "gap_m": "6 in"})
    assert CrossingWatch.objects.get().required_m == 0.305
    assert len(stops_of(bore)) == 1


def test_a_release_signed_on_less_is_the_signature_for_it(bore, person):
    release(bore, person)
    bore.job.requirements.update(crossing_m=0.1)
    assert table_of(bore).crossings[0].lies.required_m == 0.305
    release(bore, person)
    assert table_of(bore).crossings[0].lies.required_m == 0.1


def test_an_excused_watch_holds_again_once_its_crossing_turns_short(bore, person):
    stood(bore)
    for pass_made in PASSES:
        excuse_pass(bore, pass_made)
    assert missing(bore) == []
    bore.job.requirements.update(crossing_m=2.0)
    assert not any(one.is_settled for one in table_of(bore).crossings[0].passes)
    told = " ".join(missing(bore))
    assert (
        "does not excuse it: 1 ft 0 1/8 in was required when it was signed, now it is 6 ft 6 3/4 in" in told
    )


def test_a_depth_read_over_a_hole_of_unknown_depth_settles_no_pass(bore, person):
    stood(bore)
    TestHole.objects.update(dug_depth_m=None)
    for pass_made in PASSES:
        see(bore, person, pass_made, head_depth_m=2.0)
    told = missing(bore)
    assert len(told) == 3
    assert all("nobody had recorded how deep the test hole is" in words for words in told)
    assert stops_of(bore) == []
    excuse_pass(bore, "pilot")
    assert len(missing(bore)) == 2
    see(bore, person, "pilot", head_depth_m=2.1)
    assert any("excuses it no longer" in words or "does not excuse it" in words for words in missing(bore))


def test_a_pass_seen_again_once_the_depth_of_the_hole_is_on_record_is_settled(bore, person):
    stood(bore)
    TestHole.objects.update(dug_depth_m=None)
    see(bore, person, "pilot", head_depth_m=2.0)
    assert not table_of(bore).crossings[0].passes[0].is_settled
    TestHole.objects.update(dug_depth_m=3.0)
    for pass_made in PASSES:
        see(bore, person, pass_made, head_depth_m=2.0)
    assert missing(bore) == []


def test_a_depth_nobody_read_asks_for_no_bottom(bore, person):
    stood(bore)
    TestHole.objects.update(dug_depth_m=None)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    assert missing(bore) == []


def test_what_many_crossings_lack_is_one_sentence_a_pass(bore, person):
    operator = bore.job.operators.get()
    for east in range(5, 45, 4):
        line = factories.line((east, -15), (east, 15))
        factories.MarkFactory(job=bore.job, operator=operator, geometry=line)
    told = [words for words in missing(bore) if words.startswith("No watch of")]
    assert [words.count(" at station ") for words in told] == [11, 11, 11]


def test_more_required_since_counts_for_a_crossing_that_is_gone_too(bore, person):
    release(bore, person)
    for pass_made in PASSES:
        see(bore, person, pass_made, gap_m=0.32)
    move_away(bore)
    assert missing(bore) == []
    bore.job.requirements.update(crossing_m=0.6)
    assert "less than required" in " ".join(missing(bore))
