"""The page at the rig: a rod logged once, asked about, taken back, pulled back; whoever may not, may not."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal
from locates.models import LedgerEntry
from tests import factories
from tests.factories import person_in_role

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def page(bore, tail=""):
    return f"/bores/{bore.pk}/rods/{tail}"


def sent(bore, **values):
    last = DrilledRod.objects.filter(bore=bore, withdrawal=None).order_by("-number").first()
    plain = {
        "new_id": str(uuid4()), "after": "" if last is None else str(last.pk), "depth": "12",
        "depth_unit": "in", "pitch": "10", "going": "down", "length": "10 ft",
    }  # fmt: skip
    return {**plain, **values}


def log(client, bore, **values):
    return client.post(page(bore), sent(bore, **values))


def test_a_rod_is_logged_with_its_entry_and_the_next_one_is_prefilled(foreman, bore):
    answer = log(foreman, bore, roll="3", dot_station="0+09.9", dot_side="left", dot_offset="2 in")
    assert answer.status_code == 302, answer.content.decode()
    rod = DrilledRod.objects.get()
    assert (rod.number, rod.after, rod.length_m) == (1, None, pytest.approx(3.048))
    assert (rod.depth_m, rod.pitch_ratio) == pytest.approx((0.3048, -0.1))
    assert rod.roll_rad == pytest.approx(1.5708, abs=1e-4)
    assert (rod.dot_station_m, rod.dot_offset_m) == pytest.approx((3.01752, -0.0508))
    assert rod.dot_latitude_deg > bore.alignment.coords[0][1]
    assert LedgerEntry.objects.get(kind="rod").record_id == rod.pk
    shown = foreman.get(page(bore)).content.decode()
    assert "Log rod 2" in shown
    assert f'name="after" value="{rod.pk}"' in shown
    assert 'name="length" value="10 ft 0 in"' in shown
    # Nothing that the device reads is filled in before it was read.
    assert 'name="depth" value' not in shown
    assert 'name="pitch" value' not in shown


@pytest.mark.parametrize(
    ("sent_unit", "depth", "next_unit"), [("ft", "1", "feet"), ("cm", "30", "cm"), ("in", "12", "inches")]
)
def test_the_next_depth_is_read_in_the_unit_of_the_last_by_the_same_login(
    foreman, bore, sent_unit, depth, next_unit
):
    def unit():
        form = foreman.get(page(bore)).context["form"]
        return dict(form.fields["depth_unit"].choices)[form["depth_unit"].value()]

    assert unit() == "inches"
    assert log(foreman, bore, depth=depth, depth_unit=sent_unit).status_code == 302
    assert unit() == next_unit
    foreman.force_login(person_in_role("Foreman", bore.job.organisation))
    assert unit() == "inches"


@pytest.mark.parametrize("depth", ["-12", "-12 in", "-0.3 m"])
def test_a_depth_above_the_ground_is_refused_at_its_field(foreman, bore, depth):
    answer = log(foreman, bore, depth=depth)
    assert answer.status_code == 200
    assert answer.context["form"].errors["depth"] == ["Accepted is a depth of 0 or more."]
    assert not DrilledRod.objects.exists()


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_offset_with_a_sign_is_not_taken_for_the_other_side(foreman, bore, side):
    answer = log(foreman, bore, dot_station="0+09.9", dot_side=side, dot_offset="-2 in")
    assert answer.status_code == 200
    [words] = answer.context["form"].errors["dot_offset"]
    assert words == "Accepted is an offset of 0 or more; left or right is said beside."
    assert not DrilledRod.objects.exists()


def test_after_a_pitch_near_level_the_direction_is_not_filled_in_but_asked_for(foreman, bore):
    """The rig's rods of 10 ft turn a tenth of a radian."""
    going = [foreman.get(page(bore)).context["form"]["going"].value()]
    for pitch in ("10", "3"):
        log(foreman, bore, depth="12" if pitch == "10" else "22", pitch=pitch)
        going.append(foreman.get(page(bore)).context["form"]["going"].value())
    assert going == ["down", "down", None]
    assert DrilledRod.objects.count() == 2
    unsaid = sent(bore, depth="24", pitch="3")
    del unsaid["going"]
    answer = foreman.post(page(bore), unsaid)
    assert answer.status_code == 200
    assert "The head points</a>: This field is required" in answer.content.decode()
    assert DrilledRod.objects.count() == 2


def test_the_head_is_told_with_the_bit_ahead_of_it(foreman, bore):
    log(foreman, bore)
    words = " ".join(foreman.get(page(bore)).content.decode().split())
    assert "The bit is taken to be 3 ft 0 in ahead of it, for that is not recorded with the rig, " in words
    Bore.objects.filter(pk=bore.pk).update(bit_lead_m=0.6096)
    words = " ".join(foreman.get(page(bore)).content.decode().split())
    assert "The bit is 2 ft 0 in ahead of it, " in words


def test_a_rod_sent_twice_is_stored_once(foreman, bore):
    form = sent(bore)
    first, second = foreman.post(page(bore), form), foreman.post(page(bore), form)
    assert (first.status_code, second.status_code) == (302, 302)
    assert DrilledRod.objects.count() == 1


def test_a_rod_sent_of_a_page_that_the_log_has_left_behind_is_not_stored(foreman, bore):
    stale = sent(bore)
    log(foreman, bore)
    answer = foreman.post(page(bore), stale | {"new_id": str(uuid4()), "depth": "13"})
    assert answer.status_code == 200
    assert "Rod 1 is at the head now" in answer.content.decode()
    assert 'value="13"' in answer.content.decode()
    assert DrilledRod.objects.count() == 1


def test_what_does_not_fit_is_asked_about_and_kept_as_it_was_confirmed(foreman, bore):
    log(foreman, bore)
    form = sent(bore, depth="60", pitch="10")
    asked = foreman.post(page(bore), form)
    words = asked.content.decode()
    assert "Read again" in words
    assert "does not go with the pitch" in words
    assert DrilledRod.objects.count() == 1
    token = " ".join(one.token for one in asked.context["asked"].oddities)
    # Another reading is another question.
    other = foreman.post(page(bore), form | {"confirmed": token, "depth": "70"})
    assert "Read again" in other.content.decode()
    assert DrilledRod.objects.count() == 1
    assert foreman.post(page(bore), form | {"confirmed": token}).status_code == 302
    [kept] = DrilledRod.objects.get(number=2).confirmed
    assert kept["code"] == "depth_against_pitch"
    assert "Kept though asked" in foreman.get(page(bore)).content.decode()


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"pitch": ""}, "This field is required"),
        ({"pitch": "steep"}, "-12.5 %"),
        ({"pitch": "-10", "going": "up"}, "accepted is one of both"),
        ({"depth": "deep"}, "deep"),
        ({"length": "0 ft"}, "a length above 0"),
        ({"dot_station": "9+99.9", "dot_side": "on"}, "accepted is"),
        ({"dot_station": "0+05"}, "Say where the dot lies"),
        ({"dot_side": "left", "dot_offset": "2 in"}, "Write the station of the dot too"),
        ({"heading": "north"}, "degrees clockwise"),
    ],
)
def test_what_cannot_be_read_is_told_and_nothing_typed_is_lost(foreman, bore, values, words):
    answer = log(foreman, bore, remarks="soft ground", **values)
    assert answer.status_code == 200
    assert words in answer.content.decode()
    assert "soft ground" in answer.content.decode()
    assert not DrilledRod.objects.exists()


def test_an_entry_is_taken_back_and_stays_on_record(foreman, bore):
    log(foreman, bore)
    rod = DrilledRod.objects.get()
    form = {"new_id": str(uuid4()), "rod": str(rod.pk)}
    for _ in range(2):
        assert foreman.post(page(bore, "undo/"), form).status_code == 302
    assert RodWithdrawal.objects.get().kind == "undo"
    shown = foreman.get(page(bore)).content.decode()
    assert "Log rod 1" in shown
    assert "Entries taken back" in shown


def test_only_the_last_entry_is_undone(foreman, bore):
    log(foreman, bore)
    first = DrilledRod.objects.get()
    log(foreman, bore, depth="24")
    foreman.post(page(bore, "undo/"), {"new_id": str(uuid4()), "rod": str(first.pk)})
    assert not RodWithdrawal.objects.exists()


def test_rods_are_pulled_back_with_a_reason_and_drilled_again(foreman, bore):
    for depth in ("12", "24", "36"):
        log(foreman, bore, depth=depth)
    second = DrilledRod.objects.get(number=2)
    without = foreman.post(page(bore, "pull-back/"), {"new_id": str(uuid4()), "back_to": str(second.pk)})
    assert without.status_code == 200
    assert not RodWithdrawal.objects.exists()
    form = {"new_id": str(uuid4()), "back_to": str(second.pk), "reason": "A cobble turned the head."}
    for _ in range(2):
        assert foreman.post(page(bore, "pull-back/"), form).status_code == 302
    assert RodWithdrawal.objects.get().rod == second
    again = log(foreman, bore, after=str(DrilledRod.objects.get(number=1).pk), depth="23")
    assert again.status_code == 302
    shown = foreman.get(page(bore)).content.decode()
    assert "<b>Leg 1</b>, abandoned: rods 2 to 3" in shown
    assert "A cobble turned the head." in shown
    assert 'class="abandoned"' in shown
    assert DrilledRod.objects.filter(bore=bore).count() == 4


def test_without_a_release_it_is_said_large_and_the_rod_is_logged_all_the_same(foreman, bore):
    shown = foreman.get(page(bore)).content.decode()
    assert "Do not drill: No release is in force for this bore." in shown
    assert log(foreman, bore).status_code == 302


def test_a_hole_too_near_a_line_stops_large(foreman, bore):
    rod = None
    for _ in range(20):
        rod = factories.DrilledRodFactory(bore=bore, after=rod, depth_m=1.3)
    shown = foreman.get(page(bore)).content.decode()
    assert "Stop: the hole as drilled is not clear of" in shown


def test_what_lies_ahead_and_cannot_be_passed_stops_on_the_page_on_which_the_rod_was_logged(foreman, bore):
    rod = None
    for _ in range(15):
        # Level, where the plan is to pass under the line at 50 m.
        rod = factories.DrilledRodFactory(bore=bore, after=rod, depth_m=0.3)
    answer = foreman.get(page(bore))
    stops, text = answer.context["ahead"].stops, answer.content.decode()
    assert any("Pull back " in stop.because for stop in stops)
    for stop in stops:
        assert stop.when in text
        assert stop.then in text
        assert stop.because in text


def test_the_device_is_checked_at_a_test_hole(foreman, bore):
    hole = bore.job.test_holes.get()
    form = {
        "new_id": str(uuid4()), "hole": str(hole.pk), "device": "receiver 7",
        "measured_depth_m": "60 in", "read_depth_m": "62 in",
    }  # fmt: skip
    assert "Not checked at a test hole today" in foreman.get(page(bore)).content.decode()
    for _ in range(2):
        answer = foreman.post(f"/bores/{bore.pk}/locator-check/", form)
        assert answer.status_code == 302, answer.content.decode()
    assert LocatorCheck.objects.get().off_by_m == pytest.approx(0.0508)
    assert "Not checked at a test hole today" not in foreman.get(page(bore)).content.decode()


def test_all_but_the_last_three_rods_of_the_log_are_folded(foreman, bore):
    last = None
    for _ in range(5):
        last = factories.DrilledRodFactory(bore=bore, after=last)
    said = foreman.get(page(bore)).content.decode()
    shown, _, rest = said.partition('id="log"')[2].partition("<details")
    folded = rest.partition("</details>")[0]
    assert re.findall(r'<th scope="row">(\d)', shown) == ["5", "4", "3"]
    assert re.findall(r'<th scope="row">(\d)', folded) == ["2", "1"]
    assert "<summary>2 earlier rods, back to the first</summary>" in folded


def test_three_rods_of_the_log_need_no_fold(foreman, bore):
    last = None
    for _ in range(3):
        last = factories.DrilledRodFactory(bore=bore, after=last)
    assert "earlier-rods" not in foreman.get(page(bore)).content.decode()


def test_the_heads_error_is_told_by_the_checks_of_its_own_day(foreman, bore):
    words = "not checked at a test hole on the day of this rod"
    rod = factories.DrilledRodFactory(bore=bore, logged_at=timezone.now() - timedelta(days=2))
    check = factories.LocatorCheckFactory(bore=bore)
    assert words in foreman.get(page(bore)).content.decode()
    factories.LocatorCheckFactory(bore=bore, hole=check.hole, checked_at=rod.logged_at)
    assert words not in foreman.get(page(bore)).content.decode()


def test_a_bit_that_is_out_of_the_ground_is_said_so(foreman, bore):
    factories.DrilledRodFactory(bore=bore, depth_m=0.01, pitch_ratio=0.2)
    said = foreman.get(page(bore)).content.decode()
    assert "above the ground" in said
    assert "-0" not in said.partition('id="head"')[2].partition("</section>")[0]


@pytest.mark.parametrize("role", ["Coordinator", "Safety manager"])
def test_others_of_the_company_read_and_do_not_write(client, bore, role):
    client.force_login(person_in_role(role, bore.job.organisation))
    shown = client.get(page(bore))
    assert shown.status_code == 200
    assert "Log rod" not in shown.content.decode()
    assert log(client, bore).status_code == 403


def test_another_company_sees_nothing(client, bore):
    client.force_login(person_in_role("Foreman", factories.OrganisationFactory()))
    assert client.get(page(bore)).status_code == 404
    assert log(client, bore).status_code == 404
