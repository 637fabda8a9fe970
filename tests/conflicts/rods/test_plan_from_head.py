"""A profile planned anew while rods are in the ground: it begins at the bit and keeps what is drilled."""

import re
from datetime import timedelta
from html import unescape
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import compute
from conflicts.drilled import drilled_path
from conflicts.find_profile import find_profile, measured_profile, read_to_plan
from conflicts.gather import gather
from conflicts.gather_rods import gather_rods
from conflicts.head_start import head_start
from conflicts.models import Bore, Release
from conflicts.plan_ground import plan_ground
from conflicts.plan_sheet import plan_sheet
from conflicts.plan_text import read_plan, written_plan
from conflicts.plan_view import by_hand
from conflicts.profile_demands import DemandError, ProfileWishes, Range
from conflicts.release import sign_release, standing_of
from conflicts.scene import lay_out
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ROD_M = 3.048


@pytest.fixture
def bore():
    return bore_of_today()


def drilled(bore, *pitches, depths=None):
    """Rods in the ground by their pitches, each with the depth that pitch and length give."""
    last, depth, before = None, 0.0, pitches[0]
    for number, pitch in enumerate(pitches, start=1):
        depth -= ROD_M * np.sin(0.5 * (np.arctan(before) + np.arctan(pitch)))
        before = pitch
        last = factories.DrilledRodFactory(
            bore=bore, after=last, number=number, length_m=ROD_M, pitch_ratio=pitch,
            depth_m=depth if depths is None else depths[number - 1],
        )  # fmt: skip
    return last


def head_of(bore):
    data = read_to_plan(bore.pk)
    return head_start(lay_out(data.recorded), data.log)


# Too high: level at 1 m, where M at station 50 is to be passed under.
HIGH = (*(-0.1,) * 3, *(0.0,) * 5)


def test_the_profile_begins_at_the_bit_and_keeps_what_is_drilled(bore):
    drilled(bore, *HIGH)
    head = head_of(bore)
    found = find_profile(bore.pk, ProfileWishes())
    assert found.rods is not None
    assert found.drilled_rods == len(HIGH)
    assert found.rods.entry_station_m == 0.0
    stations, elevations = found.rods.joints_m()
    assert stations[8] == pytest.approx(head.bit.station_m, abs=1e-6)
    assert elevations[8] == pytest.approx(head.bit.point_m[2], abs=1e-6)
    assert np.tan(found.rods.angles_rad[8]) == pytest.approx(0.0, abs=1e-9)
    # Joints that are drilled lie where they were located, by less than a head is located.
    for place, joint in enumerate(head.drilled.joints[:-1], start=1):
        assert elevations[place] == pytest.approx(joint.point_m[2], abs=0.03)
    # It ends at the exit, and every new rod can be drilled.
    assert stations[-1] == pytest.approx(bore.alignment_length_m, abs=1e-3)
    assert np.abs(found.rods.turns_rad[8:] / found.rods.lengths_m[8:]).max() <= 1.0 / bore.bend_radius_m
    assert found.least_margin_m > 0.0
    # Nothing that was drilled within the rig's limits is said to break one for how it is laid.
    assert found.faults == ()


def test_without_a_rod_it_begins_at_the_entry_as_before(bore):
    found = find_profile(bore.pk, ProfileWishes())
    assert (found.head, found.drilled_rods) == (None, 0)


def test_from_a_head_read_with_errors_the_joint_is_exact_all_the_same(bore):
    # Depths that pitches do not give, by up to 12 cm.
    depths = [0.35, 0.55, 0.98, 1.05, 0.95, 1.10, 0.98, 1.08]
    drilled(bore, *HIGH, depths=depths)
    head = head_of(bore)
    stations, elevations = head.rods.joints_m()
    assert stations[-1] == pytest.approx(head.bit.station_m, abs=1e-8)
    assert elevations[-1] == pytest.approx(head.bit.point_m[2], abs=1e-8)
    assert -elevations[-1] == pytest.approx(1.08, abs=1e-6)
    # No rod winds about the depths: each bends by what pitches read wrong by may give besides.
    assert np.abs(head.rods.turns_rad).max() < 0.1 / 2.0 + 0.05
    assert find_profile(bore.pk, ProfileWishes()).drilled_rods == 8


def test_where_nothing_can_be_reached_it_says_why_and_offers_no_move_of_the_rig(bore):
    # M at station 50 must be missed by 1 ft; 1 m deep a rod before it nothing can be done.
    drilled(bore, *(-0.1,) * 3, *(0.0,) * 13)
    found = find_profile(bore.pk, ProfileWishes())
    assert found.rods is None
    assert "rig_back" not in [str(one.kind) for one in found.relaxations]
    assert found.head.count == 16


def test_a_head_that_points_away_is_told(bore):
    last = drilled(bore, *HIGH[:-1])
    factories.DrilledRodFactory(
        bore=bore, after=last, length_m=ROD_M, pitch_ratio=0.0, depth_m=1.0, heading_rad=0.0
    )
    with pytest.raises(DemandError, match="points away from the alignment"):
        find_profile(bore.pk, ProfileWishes())


def test_a_bit_at_the_exit_leaves_nothing_to_plan(bore):
    rods = int(bore.alignment_length_m / ROD_M) - 1
    last = drilled(bore, *(0.0,) * rods, depths=[0.5] * rods)
    left_m = bore.alignment_length_m - rods * ROD_M
    factories.DrilledRodFactory(
        bore=bore, after=last, length_m=left_m - 0.5, pitch_ratio=0.0, depth_m=0.5, number=rods + 1
    )
    with pytest.raises(DemandError, match="nothing is left to plan"):
        find_profile(bore.pk, ProfileWishes())


def test_an_entry_that_is_drilled_is_not_asked_about(bore):
    drilled(bore, *HIGH)
    for wishes in (
        ProfileWishes(entry_depth_m=Range(0.0, 1.0)),
        ProfileWishes(rig_station_m=Range(-1.0, 0.0)),
    ):
        with pytest.raises(DemandError, match="rods are in the ground"):
            find_profile(bore.pk, wishes)


@pytest.fixture
def coordinator(client, bore):
    client.force_login(person_in_role("Coordinator", bore.job.organisation))
    return client


def search_of(client, bore):
    """The answer to a search with all as it is shown, and its words."""
    page = client.get(reverse("conflicts:profile-search", args=[bore.pk]))
    form = page.context["form"]
    asked = {name: form[name].value() or "" for name in form.fields}
    answer = client.get(reverse("conflicts:profile-search", args=[bore.pk]), asked)
    return answer, " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.content.decode())).split())


def taken(client, bore, answer, **changes):
    sent = {
        "plan": answer.context["shown"].text,
        "version": Bore.objects.get(pk=bore.pk).version,
        "drilled": answer.context["drilled"],
        **changes,
    }
    return client.post(reverse("conflicts:profile-take", args=[bore.pk]), sent)


def drilled_points(bore):
    scene = compute(gather([bore.pk])[bore.pk]).scene
    path = drilled_path(scene, gather_rods([Bore.objects.select_related("job").get(pk=bore.pk)])[bore.pk])
    return np.array([joint.point_m for joint in path.joints])


def test_the_page_says_that_it_begins_at_the_bit_and_prints_the_rods_from_the_next_on(coordinator, bore):
    drilled(bore, *HIGH)
    answer, words = search_of(coordinator, bore)
    assert answer.status_code == 200, words
    assert "8 rods are in the ground The profile begins at the bit, at station 0+8" in words
    assert "its rods are told from number 9 on" in words
    assert "Rig may stand behind" not in words
    table = re.search(r'<table class="table plan-rods">.*?</table>', answer.content.decode(), re.S)[0]
    numbers = re.findall(r'<th scope="row">(\d+|Entry)', table)
    assert numbers[:3] == ["8", "9", "10"]
    assert "Rods 1 to 8 are in the ground. It keeps them as they are drilled" in words


def test_taking_it_keeps_what_is_drilled_and_ends_the_release(coordinator, bore):
    drilled(bore, *HIGH)
    now = timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    sign_release(release, by=person_in_role("Safety manager", bore.job.organisation))
    before, alignment = drilled_points(bore), bore.alignment.coords
    answer, _words = search_of(coordinator, bore)
    assert taken(coordinator, bore, answer).status_code == 302
    bore.refresh_from_db()
    assert bore.alignment.coords == alignment
    np.testing.assert_allclose(drilled_points(bore), before, atol=2e-6)
    # The plan goes through the bit now, and the rods left are those that were shown.
    head = head_of(bore)
    assert head.is_kept_by(answer.context["found"].rods)
    assert len(bore.rod_lengths_m) == len(answer.context["found"].rods.lengths_m) + 1
    standing = standing_of(Release.objects.get(), compute(gather([bore.pk])[bore.pk]))
    assert str(standing.state) == "lapsed"


def test_a_rod_logged_since_is_told_and_nothing_is_taken(coordinator, bore):
    last = drilled(bore, *HIGH)
    answer, _words = search_of(coordinator, bore)
    factories.DrilledRodFactory(bore=bore, after=last, length_m=ROD_M, pitch_ratio=0.05, depth_m=0.95)
    sent = taken(coordinator, bore, answer)
    assert sent.status_code == 409
    assert "a rod was logged or taken back since" in sent.content.decode()
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []


def test_pitches_of_rods_in_the_ground_stay_by_hand(coordinator, bore):
    drilled(bore, *HIGH)
    answer, _words = search_of(coordinator, bore)
    text = answer.context["shown"].text
    page = coordinator.get(reverse("conflicts:profile-by-hand", args=[bore.pk]), {"plan": text})
    body = page.content.decode()
    assert 'id="pitch-8"' not in body
    assert 'id="pitch-9"' in body
    figures = reverse("conflicts:profile-figures", args=[bore.pk])
    refused = coordinator.get(figures, {"plan": text, "rod": "8", "percent": "3"}).json()
    assert "the last in the ground" in refused["error"]
    changed = coordinator.get(figures, {"plan": text, "rod": "9", "percent": "-2"}).json()
    plan = parse_qs(urlsplit(changed["address"]).query)
    assert plan["edits"] == ["9~-200000"]
    # Down to the end the last rod would have to be longer than a rod, and is not.
    hand = by_hand(plan_ground(bore.pk), text, "9~-200000.10~-300000")
    assert hand.drilled == 8
    assert hand.rods.lengths_m[8:].max() == pytest.approx(ROD_M, abs=1e-6)
    rows = plan_sheet(hand.profile).rods
    assert [row.length for row in rows[9:-1]] == [""] * (len(rows) - 10)


def test_a_profile_that_does_not_go_on_from_the_bit_says_so_before_it_is_taken(coordinator, bore):
    answer, _words = search_of(coordinator, bore)
    from_entry = answer.context["shown"].text
    drilled(bore, *HIGH)
    page = coordinator.get(reverse("conflicts:profile-by-hand", args=[bore.pk]), {"plan": from_entry})
    assert "this profile does not go on from the bit" in page.content.decode()
    assert written_plan(read_plan(from_entry)) == from_entry


def test_whoever_must_plan_anew_is_led_to_it(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    drilled(bore, *(-0.1,) * 3, *(0.0,) * 13)
    link = f'href="{reverse("conflicts:profile-search", args=[bore.pk])}">Plan anew from the bit</a>'
    for name in ("conflicts:ahead", "conflicts:rods"):
        assert link in client.get(reverse(name, args=[bore.pk])).content.decode()


def test_beside_the_alignment_lines_are_kept_away_from_by_as_much_more(bore):
    """A head that is off in plan: what is kept from a line grows by how far the way lies beside the plan."""
    drilled(bore, *HIGH)
    on_it = find_profile(bore.pk, ProfileWishes()).demands.lines[0].obstacle.terms
    head = head_of(bore)
    rod = head.drilled.head.rod
    last = bore.drilled_rods.get(pk=rod.rod_id)
    beside = factories.point(float(head.drilled.head.station_m) + ROD_M, 0.6)
    factories.DrilledRodFactory(
        bore=bore, after=last, length_m=ROD_M, pitch_ratio=0.0, depth_m=1.0,
        dot_longitude_deg=beside.x, dot_latitude_deg=beside.y, dot_error_m=0.1,
    )  # fmt: skip
    off_it = find_profile(bore.pk, ProfileWishes())
    assert off_it.drilled_rods == 9, (off_it.rods, off_it.is_proven, off_it.conflict, off_it.head.rods)
    assert off_it.demands.lines[0].obstacle.terms[1] >= max(on_it[1], 0.6)


def test_a_line_that_only_the_way_from_the_head_comes_near_is_kept_away_from(bore):
    """4 m beside the plan, with a line ahead at 4 m that is not read about the plan."""
    mark = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="W7",
        facility_type="potable_water",
        geometry=factories.line((60.0, 3.5), (60.0, 9.0)),
    )
    last = drilled(bore, *HIGH)
    for number, away_m in enumerate((1.0, 2.5, 4.0), start=9):
        dot = factories.point(number * 3.0, away_m)
        last = factories.DrilledRodFactory(
            bore=bore, after=last, length_m=ROD_M, pitch_ratio=0.0, depth_m=1.0,
            dot_longitude_deg=dot.x, dot_latitude_deg=dot.y, dot_error_m=0.1,
        )  # fmt: skip
    data = read_to_plan(bore.pk)
    assert str(mark.pk) not in {one.mark_id for one in data.carried_back.marks}
    found = find_profile(bore.pk, ProfileWishes())
    assert "W7" in {one.mark.ref for one in found.demands.lines}
    # Its depth is not known, so no profile past it is found, and none is said to be clear of it.
    assert found.rods is None


def test_margins_past_the_bit_are_told_with_the_errors_of_the_head(bore):
    last = drilled(bore, *(-0.1,) * 3, *(0.0,) * 4)
    for number in range(8, 13):
        last = factories.DrilledRodFactory(
            bore=bore, after=last, number=number, length_m=ROD_M, pitch_ratio=0.0, depth_m=None
        )
    head = head_of(bore)
    found = find_profile(bore.pk, ProfileWishes())
    [told] = [one.clearance for one in found.crossings if one.clearance.to_m > head.bit.station_m]
    data = read_to_plan(bore.pk)
    [as_planned] = measured_profile(data, lay_out(data.carried_back), found.rods, head).crossings
    more_m = head.drilled.head.vertical_error_m - data.recorded.job.bore_vertical_m
    assert more_m > 0.2
    assert as_planned.clearance.worst_case_m - told.worst_case_m == pytest.approx(more_m, abs=0.02)
    [changed] = plan_ground(bore.pk).measured(found.rods).crossings
    assert changed.clearance.worst_case_m == told.worst_case_m
