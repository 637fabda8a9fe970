"""A hole too near by what was asked when it was drilled past holds on, whatever its line is called since."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.assess import store_assessment
from conflicts.desk.log_rod import withdraw_rods
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.variance_subject import subject_now
from conflicts.models import DrilledRod, RodWithdrawal, Variance, VarianceSignature
from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.render import record_html
from locates.models import Mark, TestHole
from tests import factories
from tests.conflicts.rods.sewer_beside import sewer_beside
from tests.conflicts.rods.test_drilled_crossings_on_map import rows as map_rows
from tests.conflicts.rods.test_lines_beside import AWAY, assessed, faults_of, table_of
from tests.conflicts.rods.test_lines_met_then import ALONG, drill, retype
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

GAS, WATER = "gas_oil_steam", "potable_water"
GAS_M, WATER_M = 0.762, 0.3048
BOTH = (
    "2 ft 6 in was required when it was drilled past as a gas, oil or steam line; it is called a water line "
    "since, 1 ft 0 in required"
)


@pytest.fixture
def bore():
    """Of gas lines its job asks 2 ft 6 in, of water 1 ft. The plan leaves some 2 ft 4 in to its one line."""
    stored = bore_of_today()
    stored.job.requirements.all().delete()
    ask(stored, GAS, GAS_M)
    ask(stored, WATER, WATER_M)
    return stored


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def ask(bore, facility_type, asked_m):
    figures = {"crossing_m": asked_m, "alongside_m": asked_m}
    factories.ClearanceRequirementFactory(job=bore.job, operator=None, facility_type=facility_type, **figures)


def hole(bore, ref=None):
    """The crossing of the rods in the ground with a line, the only one where none is named."""
    [found] = [one for one in assessed(bore).drilled.crossings if ref in (None, one.crossing.mark.ref)]
    return found


def told_of_hole(bore):
    return [one for one in faults_of(bore) if "not clear of a line" in one or "does not excuse" in one]


def drilled_as_gas(bore):
    """Rods past the line while it is gas: too near for that."""
    drill(bore, ALONG)
    found = hole(bore)
    assert (found.lies.verdict, found.lies.required_m) == ("short", GAS_M)
    assert WATER_M < found.lies.worst_case_m < GAS_M
    return found


def variance_for(bore, found, subject="drilled"):
    variance = Variance(
        bore=bore,
        subject=subject,
        mark_id=found.lies.mark_id,
        kind=found.lies.kind,
        station_m=found.station_m,
        reason="Looked at in its open hole: untouched, and it is the main of the water works.",
    )
    request_variance(variance, by=factories.PersonFactory())
    signature = VarianceSignature(variance=variance, valid_until=timezone.now() + timedelta(days=5))
    sign_variance(signature, by=person_in_role("Safety manager"))
    return variance


def text(response):
    return " ".join(strip_tags(response.content.decode()).split())


def test_a_line_called_water_since_leaves_the_hole_as_it_was_judged_when_it_was_gas(bore):
    before = drilled_as_gas(bore).lies
    retype(Mark.objects.get(), WATER)
    now = hole(bore)
    assert [one.is_clear for one in assessed(bore).crossings] == [True]
    assert (now.lies.verdict, now.lies.required_m, now.asked_now_m) == ("short", GAS_M, WATER_M)
    assert now.lies.worst_case_m == pytest.approx(before.worst_case_m, abs=1e-9)
    assert now.crossing.mark.facility_type == WATER
    assert now.stops
    [words] = told_of_hole(bore)
    assert "not clear of a line by what was required when it was drilled past" in words
    assert BOTH in words
    assert "The safety manager decides, by a variance for the hole as it was drilled there." in words


def test_a_figure_of_the_job_that_is_lowered_since_lowers_nothing_of_the_hole_either(bore):
    drilled_as_gas(bore)
    bore.job.requirements.filter(facility_type=GAS).update(crossing_m=WATER_M)
    assert (hole(bore).lies.verdict, hole(bore).asked_now_m) == ("short", WATER_M)
    [words] = told_of_hole(bore)
    assert "2 ft 6 in was required when it was drilled past, 1 ft 0 in is since" in words


def test_a_line_of_which_more_is_asked_since_is_held_to_that(bore):
    line = Mark.objects.get()
    retype(line, WATER)
    drill(bore, ALONG)
    assert hole(bore).crossing.is_clear
    retype(line, GAS)
    found = hole(bore)
    assert (found.lies.verdict, found.lies.required_m, found.asked_then) == ("short", GAS_M, None)
    [words] = told_of_hole(bore)
    assert words.startswith("The drilled hole is not clear of a line: ")


def test_a_hole_that_had_enough_for_what_was_asked_then_is_clear_by_either_type(bore):
    bore.job.requirements.filter(facility_type=GAS).update(crossing_m=0.6)
    drill(bore, ALONG)
    assert hole(bore).crossing.is_clear
    retype(Mark.objects.get(), WATER)
    assert hole(bore).crossing.is_clear
    assert told_of_hole(bore) == []


def test_what_a_test_hole_shows_since_counts_for_the_hole_all_the_same(bore):
    drilled_as_gas(bore)
    retype(Mark.objects.get(), WATER)
    TestHole.objects.update(depth_to_top_m=0.8)
    found = hole(bore)
    assert found.crossing.is_clear
    assert found.lies.worst_case_m > GAS_M


def test_a_line_that_is_thinner_by_its_type_of_now_is_as_wide_as_it_was(bore):
    """No size is known: 0.3 m are assumed of a sewer, 0.15 m of a cable (`DEFAULT_OUTSIDE_M`).

    The top is known, so a hole below it is nearer to the thicker one by all of the 0.15 m.
    """
    ask(bore, "sewer_drain", 0.62)
    ask(bore, "communication", 0.62)
    Mark.objects.update(stated_width_m=None, facility_type="sewer_drain")
    drill(bore, ALONG)
    before = hole(bore)
    assert before.lies.verdict == "short"
    retype(Mark.objects.get(), "communication")
    found = hole(bore)
    now = found.asked_then.by_now
    assert now.is_clear
    thinner_m = now.clearance.separation_m - before.crossing.clearance.separation_m
    assert thinner_m == pytest.approx(0.15, abs=1e-6)
    assert (found.lies.verdict, found.asked_now_m) == ("short", 0.62)
    assert found.lies.worst_case_m == pytest.approx(before.lies.worst_case_m, abs=1e-9)


def test_only_a_variance_for_the_hole_that_was_told_of_both_settles_it(bore):
    """One that was signed while it was gas, and one for the plan, were not."""
    before = variance_for(bore, drilled_as_gas(bore))
    assert told_of_hole(bore) == []
    retype(Mark.objects.get(), WATER)
    fault, why = told_of_hole(bore)
    assert BOTH in fault
    assert "does not excuse it: it was not signed for this: " in why
    assert subject_now(before, timezone.now()).why_not
    signed = variance_for(bore, hole(bore))
    assert told_of_hole(bore) == []
    assert not hole(bore).stops
    assert subject_now(signed, timezone.now()).why_not == ""
    # The line is drawn anew, and nobody signed for that.
    Mark.objects.update(geometry=factories.line((50.0, -14.0), (50.0, 15.0)))
    assert hole(bore).stops
    assert "The mark" in subject_now(signed, timezone.now()).why_not


def test_a_variance_of_less_than_was_asked_then_does_not_settle_it(bore):
    """It is signed for 1 in too little of what is asked of water, and then less is asked of water."""
    drilled_as_gas(bore)
    retype(Mark.objects.get(), WATER)
    found = hole(bore)
    water = bore.job.requirements.filter(facility_type=WATER)
    water.update(crossing_m=found.lies.worst_case_m + 0.0254)
    short = hole(bore)
    assert (short.lies.verdict, short.asked_then) == ("short", None)
    variance_for(bore, short)
    assert told_of_hole(bore) == []
    water.update(crossing_m=WATER_M)
    fault, why = told_of_hole(bore)
    assert BOTH in fault
    assert "does not excuse it" in why


def test_the_form_offers_the_crossing_and_its_signer_reads_both_figures(client, bore):
    drilled_as_gas(bore)
    retype(Mark.objects.get(), WATER)
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    page = client.get(address).content.decode()
    assert "The hole as it was drilled past a line" in page
    shown = page.split('name="shown" value="')[1].split('"')[0]
    form = {"new_id": uuid4(), "shown": shown, "what": "drilled:0", "reason": "Looked at.", "evidence": ""}
    assert client.post(address, form).status_code == 302
    asked = Variance.objects.get()
    client.force_login(person_in_role("Safety manager", bore.job.organisation))
    told = text(client.get(reverse("conflicts:variance", args=[asked.pk])))
    assert f"As drilled short: 2 ft 4 in in the worst case, {BOTH}." in told
    signature = VarianceSignature(
        variance=asked, valid_until=timezone.now() + timedelta(days=5), remarks="Seen by me."
    )
    sign_variance(signature, by=person_in_role("Safety manager"))
    assert told_of_hole(bore) == []
    told = text(client.get(reverse("conflicts:variance", args=[asked.pk])))
    assert f"{hole(bore).crossing.mark.ref}: {BOTH}." in told


def test_an_abandoned_leg_is_held_to_its_own_entries_and_the_hole_beside_it_is_not(bore):
    drilled_as_gas(bore)
    first = DrilledRod.objects.get(number=1)
    pulled = RodWithdrawal(rod=DrilledRod.objects.get(number=2), kind="pull_back", reason="A stone.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    retype(Mark.objects.get(), WATER)
    drill(bore, ALONG[1:], after=first)
    assert hole(bore).crossing.is_clear
    [words] = told_of_hole(bore)
    assert words.startswith("Leg 1, which was pulled back, is not clear of a line by what was required when")


def test_the_crew_is_stopped_and_every_page_says_why(foreman, bore):
    drilled_as_gas(bore)
    retype(Mark.objects.get(), WATER)
    store_assessment(bore.pk)
    [ref] = Mark.objects.values_list("ref", flat=True)
    rods = text(foreman.get(reverse("conflicts:rods", args=[bore.pk])))
    assert f"Stop: the hole as drilled is not clear of {ref}" in rods
    assert "2 ft 6 in is required, as when it was drilled past; 1 ft 0 in is now." in rods
    page = text(foreman.get(reverse("conflicts:bore", args=[bore.pk])))
    assert f"As drilled, the hole is not clear of {ref}." in page
    assert "2 ft 6 in required, as when it was drilled past; 1 ft 0 in is now." in page
    assert "2 ft 6 in" in text(foreman.get(reverse("conflicts:crossing", args=[bore.pk, 0])))
    [marked] = map_rows(foreman, bore)
    assert marked["verdict"] == "short"
    assert "2 ft 6 in required; as was asked when it was drilled past" in marked["words"]
    sheet = foreman.get(reverse("conflicts:ahead-state", args=[bore.pk])).json()["sheet"]
    assert any(BOTH in stop["because"] for stop in sheet["stops"])


def test_the_clearance_record_says_the_same(bore):
    drilled_as_gas(bore)
    retype(Mark.objects.get(), WATER)
    store_assessment(bore.pk)
    record = draw_record(read_kept_records(bore.pk, timezone.now()))
    [line] = record.drilled.lines
    assert (line.verdict, line.required_m, line.asked_now_m) == ("short", GAS_M, WATER_M)
    page = " ".join(strip_tags(record_html(record)).split())
    assert "2 ft 6 in, as when it was drilled past; now 1 ft 0 in" in page


def test_the_audit_has_the_margin_of_a_line_beside_the_plan_as_it_was_asked(foreman, bore):
    line = sewer_beside(bore)
    factories.TestHoleFactory(
        job=bore.job, mark=line, ref="TH9", position=factories.point(70.0, -5.0), depth_to_top_m=1.2
    )
    ask(bore, "sewer_drain", 1.0)
    drill(bore, AWAY)
    retype(line, WATER)
    bore.job.requirements.filter(facility_type=WATER).update(crossing_m=0.0, alongside_m=0.0)
    found = hole(bore, "SS9")
    assert found.asked_then is not None
    store_assessment(bore.pk)
    [row] = bore.drilled_alone.all()
    assert (row.verdict, row.required_m) == (found.lies.verdict, 1.0)
    assert row.worst_case_m == found.lies.worst_case_m
    [watched] = [one for one in table_of(bore).rows if one.lies.mark_ref == "SS9"]
    assert (watched.lies.required_m, watched.lies.asked_now_m) == (1.0, 0.0)
    page = text(foreman.get(reverse("conflicts:bore", args=[bore.pk])))
    assert "as when it was drilled past; now 0" in page
