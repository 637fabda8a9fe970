"""The page of reaming and pullback: logged once, asked about, withdrawn; whoever may not, may not."""

from math import sqrt
from uuid import uuid4

import pytest
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.closing_faults import NO_PULLBACK, close_out_faults
from conflicts.models import Bore, HolePass, HolePassWithdrawal
from conflicts.watch_table import watch_table
from locates.models import LedgerEntry
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def page(bore, tail=""):
    return f"/bores/{bore.pk}/passes/{tail}"


def ream(client, bore, reamer="7.87", **values):
    plain = {"new_id": str(uuid4()), "reamer": reamer, "size_unit": "in"}
    return client.post(page(bore), {**plain, **values})


def pull(client, bore, **values):
    plain = {"new_id": str(uuid4()), "size_unit": "in", "count_1": "2", "size_1": "2 3/8"}
    return client.post(page(bore, "pullback/"), {**plain, **values})


def words(answer):
    return answer.content.decode()


def state(bore):
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [found] = computed_states([stored], timezone.now())
    return found


def test_a_reaming_pass_is_logged_by_one_number_with_its_entry(foreman, bore):
    answer = ream(foreman, bore)
    assert answer.status_code == 302, words(answer)
    one = HolePass.objects.get()
    assert (one.kind, one.conduits, one.direction, one.from_station_m) == ("reaming", [], "", None)
    assert one.diameter_m == pytest.approx(0.199898)
    assert one.made_at == one.logged_at
    assert LedgerEntry.objects.get(kind="hole_pass").record_id == one.pk
    assert "reamed" in words(foreman.get(page(bore)))
    assert state(bore).hole_words == "reamed 7 7/8 in"


@pytest.mark.parametrize(
    ("written", "unit", "metres"),
    [
        ("6", "in", 0.1524),
        ("6 1/2", "in", 0.1651),
        ("150", "mm", 0.15),
        ('6"', "mm", 0.1524),
        ("15 cm", "in", 0.15),
    ],
)
def test_sizes_are_read_as_people_write_them(foreman, bore, written, unit, metres):
    assert ream(foreman, bore, written, size_unit=unit).status_code == 302
    assert HolePass.objects.get().diameter_m == pytest.approx(metres)


def test_a_pass_sent_twice_is_stored_once(foreman, bore):
    sent = {"new_id": str(uuid4()), "reamer": "6", "size_unit": "in"}
    assert [foreman.post(page(bore), sent).status_code for _ in range(2)] == [302, 302]
    assert HolePass.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "values", "told"),
    [
        ("reamer", {"reamer": ""}, "This field is required"),
        ("reamer", {"reamer": "six"}, "six"),
        ("reamer", {"reamer": "0"}, "accepted is a size above 0"),
        ("reamer", {"reamer": "6", "size_unit": "ell"}, "ell"),
        ("reamer", {"reamer": "12 ft"}, "at most"),
        (
            "from_station",
            {"from_station": "5+00", "to_station": "6+00"},
            "goes from 0+00.0 to 3+28.1",
        ),
        ("to_station", {"from_station": "1+00"}, "Write both stations"),
        ("to_station", {"from_station": "2+00", "to_station": "1+00"}, "a station beyond the other"),
        ("made_at", {"made_at": "2199-01-01T10:00"}, "still to come"),
    ],
)
def test_what_cannot_be_read_is_told_and_nothing_is_lost(foreman, bore, field, values, told):
    answer = ream(foreman, bore, **{"reamer": "6", "remarks": "slow in cobble", **values})
    assert answer.status_code == 200
    assert told in words(answer)
    assert "slow in cobble" in words(answer)
    assert not HolePass.objects.exists()


def test_a_wider_reamer_is_asked_about_kept_and_every_crossing_reassessed(foreman, bore):
    before = [one.clearance.worst_case_m for one in state(bore).assessed.crossings]
    new_id = str(uuid4())
    answer = ream(foreman, bore, "12", new_id=new_id)
    assert answer.status_code == 200
    assert "is planned" in words(answer)
    assert not HolePass.objects.exists()
    [question] = answer.context["asked"].oddities
    assert ream(foreman, bore, "12", new_id=new_id, confirmed="wider:0").status_code == 200
    assert ream(foreman, bore, "12", new_id=new_id, confirmed=question.token).status_code == 302
    assert HolePass.objects.get().confirmed == [{"code": "wider", "sentence": question.sentence}]
    after = [one.clearance.worst_case_m for one in state(bore).assessed.crossings]
    assert [was - now for was, now in zip(before, after, strict=True)] == pytest.approx([0.0524], abs=1e-6)
    shown = words(foreman.get(page(bore)))
    assert "wider than planned" in shown
    assert "Kept though asked" in shown


def test_the_pullback_is_logged_with_the_circle_round_the_conduits(foreman, bore):
    ream(foreman, bore, "7.87")
    answer = pull(foreman, bore, count_2="1", size_2="1", direction="to_rig")
    assert answer.status_code == 302, words(answer)
    one = HolePass.objects.get(kind="pullback")
    assert one.conduits == [[2, pytest.approx(0.060325)], [1, pytest.approx(0.0254)]]
    # Side by side 5 3/4 in; three of 2 3/8 in lie within less: 1 + 2 / sqrt(3) times one.
    assert one.diameter_m == pytest.approx((1 + 2 / sqrt(3)) * 0.060325, abs=1e-7)
    assert (one.is_measured, one.direction) == (False, "to_rig")
    assert state(bore).hole_words == "reamed 7 7/8 in, pulled back"


def test_a_measured_circle_goes_before_a_computed_one(foreman, bore):
    ream(foreman, bore)
    assert pull(foreman, bore, measured="5 in").status_code == 302
    one = HolePass.objects.get(kind="pullback")
    assert (one.diameter_m, one.is_measured) == (pytest.approx(0.127), True)


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"count_1": ""}, "This field is required"),
        ({"count_1": "13"}, "less than or equal to 12"),
        ({"count_2": "11", "size_2": "1"}, "at most 12"),
        ({"count_2": "1"}, "Write how many and their size"),
        ({"size_2": "1"}, "Write how many and their size"),
        ({"measured": "2"}, "no less than the largest"),
        ({"size_1": "wide"}, "wide"),
    ],
)
def test_conduits_that_cannot_be_are_told(foreman, bore, values, told):
    ream(foreman, bore)
    answer = pull(foreman, bore, **values)
    assert answer.status_code == 200
    assert told in words(answer)
    assert not HolePass.objects.filter(kind="pullback").exists()


def test_a_wrong_entry_is_withdrawn_with_its_reason_and_stays(foreman, bore):
    ream(foreman, bore, "6")
    one = HolePass.objects.get()
    sent = {"new_id": str(uuid4()), "which": str(one.pk), "reason": "That was the other bore."}
    assert foreman.post(page(bore, "withdraw/"), {**sent, "reason": " "}).status_code == 200
    assert not HolePassWithdrawal.objects.exists()
    assert [foreman.post(page(bore, "withdraw/"), sent).status_code for _ in range(2)] == [302, 302]
    assert HolePassWithdrawal.objects.get().hole_pass == one
    assert LedgerEntry.objects.filter(kind="hole_pass_withdrawal").count() == 1
    shown = words(foreman.get(page(bore)))
    assert "That was the other bore." in shown
    assert state(bore).hole_words == ""
    # It is offered no more.
    assert foreman.post(page(bore, "withdraw/"), {**sent, "new_id": str(uuid4())}).status_code == 200


def test_a_pass_of_another_bore_is_not_withdrawn_here(foreman, bore):
    other = factories.HolePassFactory()
    sent = {"new_id": str(uuid4()), "which": str(other.pk), "reason": "Mine."}
    assert foreman.post(page(bore, "withdraw/"), sent).status_code == 200
    assert not HolePassWithdrawal.objects.exists()


def test_who_only_looks_sees_the_log_and_no_form(client, bore):
    factories.HolePassFactory(bore=bore)
    client.force_login(person_in_role("Coordinator", bore.job.organisation))
    shown = words(client.get(page(bore)))
    assert "Log a reaming pass" not in shown
    assert "Entered wrongly" not in shown
    assert ream(client, bore).status_code == 403
    assert client.get(page(bore, "pullback/")).status_code == 403


def test_a_hole_reamed_less_than_planned_says_so_once_the_conduits_are_in(foreman, bore):
    ream(foreman, bore, "6")
    assert "less than planned" not in words(foreman.get(page(bore)))
    pull(foreman, bore, count_1="1")
    assert "less than planned" in words(foreman.get(page(bore)))


def test_a_close_out_asks_for_the_pullback_where_a_reaming_is_logged(foreman, bore):
    def missing():
        found = state(bore)
        return close_out_faults(watch_table(found.assessed, 0.1), found.assessed)

    assert NO_PULLBACK not in missing()
    ream(foreman, bore)
    assert NO_PULLBACK in missing()
    pull(foreman, bore)
    assert NO_PULLBACK not in missing()


def test_a_reaming_that_is_logged_is_to_be_watched_though_none_was_planned(foreman, bore):
    Bore.objects.update(pilot_diameter_m=bore.final_diameter_m)

    def passes():
        [row] = watch_table(state(bore).assessed, bore.final_diameter_m).crossings
        return [one.pass_made for one in row.passes]

    assert passes() == ["pilot", "pullback"]
    ream(foreman, bore)
    assert passes() == ["pilot", "reaming", "pullback"]
