"""Where the head is less sure sideways than the plan allows, lines are looked for so much farther from it."""

from collections.abc import Sequence
from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.assess import compute
from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.log_rod import withdraw_rods
from conflicts.find_profile import find_profile
from conflicts.gather import gather
from conflicts.models import Bore, DrilledRod, Release, RodWithdrawal
from conflicts.plan_ground import plan_ground
from conflicts.profile_demands import ProfileWishes
from conflicts.release import sign_release
from conflicts.watch_table import watch_table
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ROD_M = 3.0
# The factories' bore reaches 2 m at station 20 and is level from there; the steering allowance is 0.30 m.
DOWN = (0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.0)
SURE_M, ROUGH_M = 0.3, 0.7
# The tolerance zone ends 0.76 m from the plan: 0.6096, the hole's radius 0.1 and the line's 0.05.
BESIDE_M = 0.85


@pytest.fixture
def bore():
    return bore_of_today()


def release(bore):
    """So that nothing but the lines beside it stops the crew."""
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())


def line_beside(bore, away_m, from_m=30.0, to_m=45.0, ref="W7", top_m=1.95):
    """A water line along the bore, exposed at both ends, where nobody says otherwise as deep as the bore."""
    operator = bore.job.operators.get()
    line = factories.line((from_m, away_m), (to_m, away_m))
    mark = factories.MarkFactory(
        job=bore.job, operator=operator, ref=ref, facility_type="potable_water", geometry=line
    )
    for east_m in (from_m, to_m):
        place = factories.point(east_m, away_m)
        factories.TestHoleFactory(
            job=bore.job, mark=mark, position=place, depth_to_top_m=top_m, outside_width_m=0.1
        )
    return mark


def drill(bore, errors_m: Sequence[float | None], after=None):
    """Log a rod for each error of its dot, on the plan; None for one without a dot."""
    for error_m in errors_m:
        number = 1 if after is None else after.number + 1
        depths_m = (*DOWN, *[2.0] * number)
        dot = {} if error_m is not None else {"dot_longitude_deg": None, "dot_latitude_deg": None}
        after = factories.DrilledRodFactory(
            bore=bore,
            after=after,
            length_m=ROD_M,
            pitch_ratio=-0.1 if number < 7 else 0.0,
            depth_m=depths_m[number - 1],
            dot_error_m=error_m,
            **dot,
        )
    return after


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def assessed(bore):
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [state] = computed_states([stored], timezone.now())
    return state.assessed


def sheet_of(client, bore):
    return client.get(f"/bores/{bore.pk}/ahead/state.json").json()["sheet"]


def met_by_the_hole(bore):
    return {one.crossing.mark.ref: one.crossing for one in assessed(bore).drilled.crossings}


def test_a_line_ahead_that_a_rough_dot_may_bring_the_head_to_is_on_the_sheet_for_the_rig(foreman, bore):
    line_beside(bore, BESIDE_M)
    release(bore)
    drill(bore, (*(SURE_M,) * 7, ROUGH_M))
    sheet = sheet_of(foreman, bore)
    [row] = [one for one in sheet["rows"] if "W7" in one["line"]]
    assert row["rods"] == "in 2 rods"
    assert sheet["answer"]["large"] == "Stop. Do not drill on"
    assert all("W7" in stop["because"] for stop in sheet["stops"])


@pytest.mark.parametrize(("error_m", "lines"), [(SURE_M, ["M"]), (ROUGH_M, ["M", "W7"])])
def test_a_profile_planned_anew_from_the_bit_keeps_away_from_it(bore, error_m, lines):
    line_beside(bore, BESIDE_M, top_m=0.3)
    bore.job.marks.exclude(ref="W7").update(ref="M")
    drill(bore, (*(SURE_M,) * 7, error_m))
    found = find_profile(bore.pk, ProfileWishes())
    assert sorted({one.mark.ref for one in found.demands.lines}) == lines
    assert sorted({one.mark.ref for one in plan_ground(bore.pk).measured(found.rods).crossings}) == lines


def test_a_line_that_the_hole_may_lie_at_stops_the_crew_and_the_close_out(foreman, bore):
    line_beside(bore, BESIDE_M)
    drill(bore, (*(SURE_M,) * 7, *(ROUGH_M,) * 6))
    one = met_by_the_hole(bore)["W7"]
    # Worst case: 0.85 m less both radii, the dot's error, and between its holes the line's, the zone itself.
    assert (one.clearance.kind, str(one.verdict)) == ("alongside", "short")
    assert one.clearance.worst_case_m == pytest.approx(BESIDE_M - 0.15 - ROUGH_M - 0.6096, abs=0.002)
    page = foreman.get(f"/bores/{bore.pk}/rods/").content.decode()
    assert "Stop: the hole as drilled is not clear of W7" in page
    assert any("W7" in stop["because"] for stop in sheet_of(foreman, bore)["stops"])
    found = assessed(bore)
    table = watch_table(found, bore.pilot_diameter_m)
    assert [row.lies.mark_ref for row in table.rows if row.lies.is_drilled] == ["W7"]
    assert any("W7" in words for words in close_out_faults(table, found))


def test_an_abandoned_leg_is_held_against_such_lines_too(foreman, bore):
    line_beside(bore, BESIDE_M)
    last = drill(bore, (SURE_M,) * 7)
    first = drill(bore, (ROUGH_M,), after=last)
    drill(bore, (ROUGH_M,) * 5, after=first)
    pulled = RodWithdrawal(rod=first, kind="pull_back", reason="Too far to the left.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    drill(bore, (SURE_M,) * 6, after=DrilledRod.objects.get(number=7))
    found = assessed(bore).drilled
    assert "W7" not in {one.crossing.mark.ref for one in found.crossings}
    assert [one.drilled.crossing.mark.ref for one in found.legs] == ["W7"]
    assert any("W7" in stop["because"] for stop in sheet_of(foreman, bore)["stops"])


@pytest.mark.parametrize("error_m", [None, ROUGH_M])
def test_where_it_may_have_strayed_is_asked_about_and_nowhere_else(bore, error_m):
    """Two rods in mid-hole are unsure: a line beside them is met, and one beside sure rods is not."""
    line_beside(bore, BESIDE_M, 27.0, 30.0, ref="W8")
    line_beside(bore, BESIDE_M, 48.0, 51.0, ref="W9")
    drill(bore, (*(SURE_M,) * 8, error_m, error_m, *(SURE_M,) * 9))
    assert [ref for ref in met_by_the_hole(bore) if ref in ("W8", "W9")] == ["W8"]


def test_a_head_as_sure_as_the_plan_allows_meets_what_the_plan_meets(foreman, bore):
    line_beside(bore, BESIDE_M)
    release(bore)
    drill(bore, (SURE_M,) * 13)
    assert met_by_the_hole(bore) == {}
    sheet = sheet_of(foreman, bore)
    assert sheet["answer"]["large"] == "Drill on by the plan"
    assert not any("W7" in one["line"] for one in sheet["rows"])


@pytest.mark.parametrize(("error_m", "beside"), [(SURE_M, []), (2.5, ["W7"])])
def test_marks_are_read_as_far_as_the_hole_may_lie(bore, error_m, beside):
    """2.6 m off a line lies past all that is read about the plan, and rods in mid-hole may be at it."""
    far_m = 2.6
    line_beside(bore, far_m)
    before = gather([bore.pk])[bore.pk]
    assert "W7" not in {mark.ref for mark in before.marks}
    drill(bore, (*(SURE_M,) * 10, error_m, error_m, *(SURE_M,) * 3))
    after = gather([bore.pk])[bore.pk]
    assert [mark.ref for mark in after.marks_beside] == beside
    assert after.digest() == before.digest()
    met = [one.clearance.horizontal_m for ref, one in met_by_the_hole(bore).items() if ref == "W7"]
    assert met == [pytest.approx(far_m - 0.15, abs=0.01)] * len(beside)


def test_the_plan_and_its_figures_know_nothing_of_it(bore):
    line_beside(bore, BESIDE_M)
    before = gather([bore.pk])[bore.pk]
    planned = [one.sentence for one in compute(before).crossings]
    drill(bore, (*(SURE_M,) * 7, *(ROUGH_M,) * 6))
    found = assessed(bore)
    assert "W7" in met_by_the_hole(bore)
    assert [one.sentence for one in found.crossings] == planned
    assert found.scene.inputs.digest() == before.digest()
