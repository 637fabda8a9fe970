"""A close-out keeps every watch of its bore, and says of each that does not count why not."""

from datetime import timedelta

import pytest
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.errors import ReleaseHeldError
from conflicts.models import Bore, CloseOut, CrossingWatch, DrilledRod, Variance, VarianceSignature
from locates.canonical import utc_text
from locates.models import Mark, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_made_anew import log, pull
from tests.conflicts.rods.test_pilot_drilled_anew import drill, take_out
from tests.page_forms import form_of
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import RIGHT, machine_clock_off

pytestmark = pytest.mark.django_db

PASSES = ("pilot", "reaming", "pullback")
REPLACED = "A later watch of the same pass stands in its place."


@pytest.fixture
def bore():
    bore = bore_of_today()
    stood(bore)
    return bore


@pytest.fixture
def unreamed():
    """One whose pilot is the finished hole, released so."""
    bore = bore_of_today()
    bore.pilot_diameter_m = bore.final_diameter_m
    bore.save()
    stood(bore)
    return bore


@pytest.fixture
def person():
    return factories.PersonFactory()


def see(bore, by, pass_made, gap_m=0.6, **values):
    shown = {"mark": bore.job.marks.first(), "kind": "crossing", "station_m": 50.0}
    filled = {"seen": gap_m is not None, "gap_m": gap_m, **shown, **values}
    return record_watch(CrossingWatch(bore=bore, pass_made=pass_made, **filled), by=by)


def closed(bore, by):
    return close_out(CloseOut(bore=bore), by=by).grounds


def told(watches):
    return [(one["watch"], one["why_not"]) for one in watches]


def excuse(bore, by):
    """The signature for the pilot; those for the other passes are signed too."""
    [pilot, *_] = [excuse_pass(bore, by, pass_made) for pass_made in PASSES]
    return pilot


def excuse_pass(bore, by, pass_made):
    asked = Variance(
        bore=bore,
        subject="watch",
        pass_made=pass_made,
        mark=bore.job.marks.first(),
        kind="crossing",
        station_m=50.0,
        reason="Dug.",
    )
    request_variance(asked, by=factories.PersonFactory())
    until = RIGHT() + timedelta(days=1)
    return sign_variance(VarianceSignature(variance=asked, valid_until=until), by=by)


def test_every_watch_of_a_pass_is_kept_and_the_last_one_counts(bore, person):
    first = see(bore, person, "pilot", gap_m=None)
    short = see(bore, person, "pilot", gap_m=0.1)
    again = see(bore, person, "pilot", gap_m=0.5)
    for pass_made in PASSES[1:]:
        see(bore, person, pass_made)
    grounds = closed(bore, person)
    pilot = grounds["crossings"][0]["passes"][0]
    assert told(pilot["watches"]) == [
        (str(first.pk), REPLACED),
        (str(short.pk), REPLACED),
        (str(again.pk), ""),
    ]
    assert [one["gap_m"] for one in pilot["watches"]] == [None, 0.1, 0.5]
    assert {one["required_m"] for one in pilot["watches"]} == {0.305}
    assert (pilot["seen"], pilot["gap_m"], pilot["variance"]) == (True, 0.5, None)
    assert grounds["other_watches"] == []


def test_a_stop_under_a_variance_counts_and_names_it(bore, person):
    short = see(bore, person, "pilot", gap_m=0.1)
    unseen = see(bore, person, "pilot", gap_m=None)
    with pytest.raises(ReleaseHeldError, match="less than required"):
        closed(bore, person)
    signature = excuse(bore, person)
    pilot = closed(bore, person)["crossings"][0]["passes"][0]
    assert told(pilot["watches"]) == [(str(short.pk), ""), (str(unseen.pk), "")]
    assert pilot["variance"] == str(signature.variance_id)


def test_watches_of_no_present_crossing_are_kept_beside_with_the_reason(bore, person):
    lost = see(bore, person, "pilot")
    operator = bore.job.operators.get()
    TestHole.objects.all().delete()
    Mark.objects.filter(pk=lost.mark_id).update(geometry=factories.line((50, 300), (50, 400)))
    factories.MarkFactory(job=bore.job, operator=operator, geometry=factories.line((20, -15), (20, 15)))
    new = {"mark": bore.job.marks.exclude(pk=lost.mark_id).get(), "station_m": 20.0}
    for pass_made in PASSES:
        see(bore, person, pass_made, **new)
    [other] = closed(bore, person)["other_watches"]
    assert (other["watch"], other["pass"]) == (str(lost.pk), "pilot")
    assert (
        other["why_not"] == "It belongs to none of the crossings as they lie now, or as a release named them."
    )


def test_a_pass_that_is_not_asked_for_is_kept_beside(unreamed, person):
    reamed = see(unreamed, person, "reaming")
    for pass_made in ("pilot", "pullback"):
        see(unreamed, person, pass_made)
    grounds = close_out(CloseOut(bore=Bore.objects.get()), by=person).grounds
    assert [one["pass"] for one in grounds["crossings"][0]["passes"]] == ["pilot", "pullback"]
    assert told(grounds["other_watches"]) == [
        (str(reamed.pk), "The pass is not asked for as the bore is recorded now.")
    ]


def test_a_stop_in_a_pass_that_is_not_asked_for_stands(unreamed, person):
    see(unreamed, person, "reaming", gap_m=0.1)
    for pass_made in ("pilot", "pullback"):
        see(unreamed, person, pass_made)
    with pytest.raises(ReleaseHeldError, match=r"less than required\..* It stands at: .*, reaming"):
        close_out(CloseOut(bore=Bore.objects.get()), by=person)
    see(unreamed, person, "reaming")
    others = close_out(CloseOut(bore=Bore.objects.get()), by=person).grounds["other_watches"]
    assert [one["gap_m"] for one in others] == [0.1, 0.6]


@pytest.mark.parametrize("minutes", [-10, 10])
def test_a_stop_is_heard_at_once_whichever_clock_dated_it(bore, person, minutes):
    for pass_made in PASSES:
        see(bore, person, pass_made)
    signature = excuse(bore, person)
    with machine_clock_off(timedelta(minutes=minutes)):
        short = see(bore, person, "pilot", gap_m=0.1)
        assert signature.signed_at < short.watched_at <= RIGHT()
        with pytest.raises(ReleaseHeldError, match="less than required"):
            closed(bore, person)
    with pytest.raises(ReleaseHeldError, match="less than required"):
        closed(bore, person)


def test_a_variance_signed_by_a_clock_that_is_behind_knows_of_the_stop_before_it(bore, person):
    for pass_made in PASSES:
        see(bore, person, pass_made, gap_m=0.1)
    with machine_clock_off(timedelta(minutes=-10)):
        excuse(bore, person)
    assert closed(bore, person)


def test_the_form_of_a_watch_follows_its_line_when_others_are_added_before_it(client, bore):
    client.force_login(factories.person_in_role("Foreman"))
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    filled = form_of(client, address)
    shown = bore.job.marks.get()
    operator = bore.job.operators.get()
    factories.MarkFactory(job=bore.job, operator=operator, geometry=factories.line((20, -15), (20, 15)))
    # No worker has come to it yet: what was typed waits for nobody.
    client.post(address, {**filled, "seen": "yes", "gap_m": "2 ft"})
    assert CrossingWatch.objects.get().mark == shown
    store_assessment(bore.pk)
    client.post(address, {**form_of(client, address), "seen": "yes", "gap_m": "2 ft"})
    assert CrossingWatch.objects.filter(mark=shown).count() == 1
    assert CrossingWatch.objects.count() == 2


def test_the_form_of_a_line_that_is_gone_signs_nothing_and_keeps_what_was_typed(client, bore):
    client.force_login(factories.person_in_role("Foreman"))
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    filled = form_of(client, address)
    TestHole.objects.all().delete()
    Mark.objects.update(geometry=factories.line((50, 300), (50, 400)))
    sent = {**filled, "seen": "yes", "gap_m": "2 ft 1 in", "remarks": "By the red flag."}
    for _ in range(2):
        text = client.post(address, sent).content.decode()
        assert "is no longer there as it was shown" in text
        assert "By the red flag." in text
        assert 'value="2 ft 1 in"' in text
    assert not CrossingWatch.objects.exists()


def test_the_passes_and_pull_backs_that_were_on_record_are_kept(bore, person):
    drill(bore, None, 5, depth_m=2.0)
    pulled = take_out(bore, 4)
    drill(bore, DrilledRod.objects.get(bore=bore, number=3), 2, depth_m=2.0)
    wrong, reamer, pipe = log(bore, diameter_m=0.9), log(bore, diameter_m=0.2), pull(bore)
    factories.HolePassWithdrawalFactory(hole_pass=wrong)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    grounds = closed(bore, person)
    assert [(one[0], one[1], *one[3:]) for one in grounds["passes"]] == [
        (str(reamer.pk), "reaming", 0.2, False),
        (str(pipe.pk), "pullback", 0.12, False),
        (str(wrong.pk), "reaming", 0.9, True),
    ]
    assert grounds["passes"][0][2] == utc_text(reamer.made_at)
    [[rod_id, from_m, at]] = grounds["pulled_back"]
    assert (rod_id, at) == (str(pulled.rod_id), utc_text(pulled.withdrawn_at))
    assert from_m == pytest.approx(60.0, abs=3.0)
