"""A drilled hole that is not clear of a line: no close-out, no pass unasked, no verdict of the plan alone."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.log_rod import withdraw_rods
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.variance_subject import subject_now
from conflicts.drilled_faults import gap_words
from conflicts.models import Bore, DrilledRod, HolePass, RodWithdrawal, Variance, VarianceSignature
from conflicts.watch_table import watch_table
from locates.models import Mark
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

NOT_CLEAR = "The drilled hole is not clear of a line"


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drill(bore, depth_m, count=4):
    """Rods of 20 m level at one depth, past the one line of the bore at 50 m."""
    after = None
    for _ in range(count):
        after = factories.DrilledRodFactory(bore=bore, after=after, length_m=20.0, depth_m=depth_m)


def assessed(bore):
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [state] = computed_states([stored], timezone.now())
    return state.assessed


def faults_of_hole(bore):
    found = assessed(bore)
    faults = close_out_faults(watch_table(found, bore.pilot_diameter_m), found)
    return [words for words in faults if "not clear of a line" in words or "does not excuse it" in words]


def variance_for(bore, found):
    variance = Variance(
        bore=bore,
        subject="drilled",
        mark=Mark.objects.get(),
        kind=found.lies.kind,
        station_m=found.station_m,
        reason="Looked at in its open hole: untouched, and the gap is measured.",
    )
    request_variance(variance, by=factories.PersonFactory())
    signature = VarianceSignature(variance=variance, valid_until=timezone.now() + timedelta(days=5))
    sign_variance(signature, by=factories.PersonFactory())
    return variance


def shallow(bore):
    """The drilled crossing of a hole that is too near the line and does not meet it."""
    drill(bore, 1.5)
    [found] = assessed(bore).drilled.crossings
    assert found.lies.verdict == "short"
    return found


def meeting(bore):
    drill(bore, 1.0)
    [found] = assessed(bore).drilled.crossings
    assert found.lies.verdict == "overlap"
    return found


def test_a_hole_along_the_plan_is_no_fault(bore):
    drill(bore, 2.0)
    assert assessed(bore).drilled.crossings
    assert faults_of_hole(bore) == []


def test_a_hole_that_is_not_clear_holds_the_close_out_until_somebody_answers_for_it(bore):
    found = shallow(bore)
    [words] = faults_of_hole(bore)
    assert words.startswith(f"{NOT_CLEAR}: {found.crossing.mark.ref} at ")
    variance = variance_for(bore, found)
    assert faults_of_hole(bore) == []
    assert not assessed(bore).drilled.crossings[0].stops
    assert subject_now(variance, timezone.now()).why_not == ""


def test_a_worse_hole_than_was_signed_for_holds_again_and_says_why(bore):
    variance = variance_for(bore, shallow(bore))
    last = DrilledRod.objects.get(number=4)
    for rod in (last, *DrilledRod.objects.filter(number__lt=4).order_by("-number")):
        withdraw_rods(RodWithdrawal(rod=rod, kind="undo"), by=factories.PersonFactory())
    drill(bore, 1.45)
    fault, why = faults_of_hole(bore)
    assert fault.startswith(NOT_CLEAR)
    assert "does not excuse it: the gap in the worst case was" in why
    assert subject_now(variance, timezone.now()).why_not


def test_a_hole_that_meets_a_line_can_be_answered_for_and_its_stop_is_never_lifted(bore):
    found = meeting(bore)
    variance_for(bore, found)
    assert faults_of_hole(bore) == []
    [again] = assessed(bore).drilled.crossings
    assert again.stops
    assert again.answered_by
    assert again.excused_by is None


def test_an_abandoned_leg_that_was_not_clear_holds_too(bore):
    shallow(bore)
    first = DrilledRod.objects.get(number=1)
    pulled = RodWithdrawal(rod=first, kind="pull_back", reason="Too shallow.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    drill(bore, 2.0)
    [words] = faults_of_hole(bore)
    assert words.startswith("Leg 1, which was pulled back, is not clear of a line:")


def test_the_form_offers_the_hole_as_drilled_and_keeps_which_line_it_is(foreman, bore):
    found = shallow(bore)
    address = f"/bores/{bore.pk}/variances/ask/"
    page = foreman.get(address).content.decode()
    assert "The hole as it was drilled past a line" in page
    shown = page.split('name="shown" value="')[1].split('"')[0]
    form = {"new_id": uuid4(), "shown": shown, "what": "drilled:0", "reason": "Looked at.", "evidence": ""}
    assert foreman.post(address, form).status_code == 302
    asked = Variance.objects.get()
    assert (asked.subject, str(asked.mark_id), asked.kind) == ("drilled", found.lies.mark_id, found.lies.kind)
    assert asked.station_m == pytest.approx(found.station_m)
    told = foreman.get(f"/variances/{asked.pk}/").content.decode()
    assert f"As drilled short: {gap_words(found, bore.job.show_units)}." in told


def ream(client, bore, **values):
    """A reamer along the rods in the ground, which end at 80 m."""
    along = {"from_station": "0+00.0", "to_station": "2+62.0"}
    form = {"new_id": str(uuid4()), "reamer": "6", "size_unit": "in", **along, **values}
    return client.post(f"/bores/{bore.pk}/passes/", form)


def test_a_pass_over_a_line_that_the_hole_is_not_clear_of_is_asked_about_and_kept_when_confirmed(
    foreman, bore
):
    shallow(bore)
    asked = ream(foreman, bore)
    assert asked.status_code == 200
    assert "The drilled hole is not clear of a line where this pass goes" in asked.content.decode()
    assert not HolePass.objects.exists()
    tokens = asked.context["asked"].oddities
    assert [str(one.code) for one in tokens] == ["not_clear"]
    assert ream(foreman, bore, confirmed=" ".join(one.token for one in tokens)).status_code == 302
    [kept] = HolePass.objects.get().confirmed
    assert kept["code"] == "not_clear"


def test_a_pass_is_not_asked_about_where_the_hole_is_clear_or_somebody_excused_it(foreman, bore):
    variance_for(bore, shallow(bore))
    assert ream(foreman, bore).status_code == 302


def test_the_verdict_of_the_plan_never_stands_alone_beside_the_hole_as_drilled(foreman, bore):
    found = shallow(bore)
    page = foreman.get(f"/bores/{bore.pk}/").content.decode()
    listed = " ".join(strip_tags(page.split('id="crossings"')[1].split("</section>")[0]).split())
    ref = found.crossing.mark.ref
    assert f"As drilled, the hole is not clear of {ref}." in listed
    assert f"As drilled: {gap_words(found, bore.job.show_units)}." in listed
    signing = foreman.get(f"/bores/{bore.pk}/release/").content.decode()
    assert "Lines as drilled" in signing
