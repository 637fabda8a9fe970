"""What is asked before a rod is kept, and what is not."""

from dataclasses import replace
from math import atan, cos, pi, radians, sin

import pytest

from conflicts.assess import compute
from conflicts.drilled import drilled_path
from conflicts.gather import gather
from conflicts.rod_log import LocatingError, LocatorCheckInput, RodInput, RodLog
from conflicts.rod_oddities import may_turn_over, oddities
from tests import factories

AT = factories.PLANNED_START_AT
CHECKED = LocatorCheckInput("T1", "receiver 7", 1.6, 1.6, AT, "R. Pell")
# Rods of 3 m on the plan, which goes down 10 %.
DOWN = 3.0 * sin(atan(0.1))
RUN = 3.0 * cos(atan(0.1))


def rod(number, **values):
    plain = RodInput(
        rod_id=f"r{number}", after_id=f"r{number - 1}" if number > 1 else None, number=number, length_m=3.0,
        pitch_ratio=-0.1, depth_m=DOWN * number, roll_rad=None, heading_rad=None, dot=None, dot_error_m=None,
        confirmed=(), remarks="", logged_at=AT, logged_by="R. Pell",
    )  # fmt: skip
    return replace(plain, **values)


@pytest.fixture
def scene(db):
    bore = factories.small_job().bores.get()
    return compute(gather([bore.pk])[bore.pk]).scene


def asked(scene, *rods):
    before = RodLog(LocatingError(0.05, 0.05), rods[:-1], (), (CHECKED,))
    after = drilled_path(scene, before, rods)
    return [one.code for one in oddities(scene, before, drilled_path(scene, before), after)]


def beside(scene, on_m, right_m):
    return tuple(scene.frame.to_geographic(scene.alignment_m[0] + (on_m, -right_m))[0])


def test_rods_that_go_on_as_they_lead_are_not_asked_about(scene):
    assert asked(scene, rod(1)) == []
    assert asked(scene, rod(1), rod(2), rod(3, pitch_ratio=-0.05, depth_m=3 * DOWN - 0.05)) == []
    assert asked(scene, rod(1), rod(2, depth_m=None)) == []


def test_the_first_rod_is_held_against_the_alignment_the_entry_and_the_ground(scene):
    # The bore runs east, and the rig enters at 5 to 30 % down.
    east_rad = 0.5 * pi
    assert asked(scene, rod(1, heading_rad=east_rad)) == []
    assert asked(scene, rod(1, heading_rad=east_rad + 0.1)) == []
    for heading_rad in (0.0, pi, 3.0 * east_rad):
        assert asked(scene, rod(1, heading_rad=heading_rad)) == ["first_heading"]
    assert asked(scene, rod(1, pitch_ratio=-0.9, depth_m=None)) == ["first_pitch"]
    assert asked(scene, rod(1, pitch_ratio=0.5, depth_m=None)) == ["first_pitch", "above_ground"]


def test_a_depth_that_does_not_go_with_the_pitch_is_asked_about(scene):
    # 5 cm at least for each of two readings, and 1.5 cm for the pitch.
    assert asked(scene, rod(1), rod(2, depth_m=2 * DOWN + 0.11)) == []
    for off in (0.13, -0.13, 1.0):
        assert asked(scene, rod(1), rod(2, depth_m=max(0.0, 2 * DOWN + off))) == ["depth_against_pitch"]
    # A slip of the unit: 60 for 0.60.
    assert asked(scene, rod(1), rod(2, depth_m=60.0)) == ["depth_against_pitch"]
    assert asked(scene, rod(1, depth_m=2.0)) == ["depth_against_pitch"]


def test_a_direction_that_the_depth_speaks_against_is_asked_about(scene):
    # After a level rod 3 % of 3 m, from 0 on, are 4.5 cm down or up; both depths may be 11.5 cm off together.
    level = rod(1, pitch_ratio=0.0, depth_m=1.0)
    for sign in (-1, 1):
        true = rod(2, pitch_ratio=0.03 * sign, depth_m=1.0 - 0.045 * sign)
        assert asked(scene, level, true) == []
        assert asked(scene, level, replace(true, pitch_ratio=-true.pitch_ratio)) == ["other_direction"]
    # A depth that is as near to both says nothing, and so does a pitch as good as level.
    assert asked(scene, level, rod(2, pitch_ratio=0.03, depth_m=1.0)) == []
    assert asked(scene, level, rod(2, pitch_ratio=0.005, depth_m=1.0075)) == []
    log = RodLog(LocatingError(0.05, 0.05), (level,), (), (CHECKED,))
    after = drilled_path(scene, log, (level, rod(2, pitch_ratio=0.03, depth_m=1.045)))
    [one] = oddities(scene, log, drilled_path(scene, log), after)
    assert "goes better with a head that points down" in one.sentence


def test_the_direction_is_open_where_one_rod_may_turn_over_the_pitch():
    # A rod of 3 m turns 0.1 rad at a radius of 30 m; half a per cent is what a pitch may be off by.
    for pitch_ratio, may in ((0.0, True), (-0.03, True), (0.09, True), (-0.1, False), (0.2, False)):
        assert may_turn_over(pitch_ratio, 3.0, 30.0) is may
    assert may_turn_over(-0.2, 3.0, None)
    assert may_turn_over(-0.2, None, 30.0)


def test_a_bend_is_asked_about_by_its_turn_in_three_dimensions(scene):
    # 3 m on a radius of 30.48 m: 5.6 degrees.
    assert asked(scene, rod(1), rod(2, pitch_ratio=-0.02, depth_m=None)) == []
    assert asked(scene, rod(1), rod(2, pitch_ratio=0.05, depth_m=None)) == ["bend"]
    east, turned = 1.5708, 1.5708 + 0.12
    level = {"pitch_ratio": -0.1, "depth_m": None}
    first = rod(1, heading_rad=east)
    assert asked(scene, first, rod(2, heading_rad=turned, **level)) == []
    # Either turn alone is within reach; together they are not.
    assert asked(scene, first, rod(2, heading_rad=east, pitch_ratio=0.0, depth_m=None)) == []
    assert asked(scene, first, rod(2, heading_rad=turned, pitch_ratio=0.0, depth_m=None)) == ["bend"]


def test_a_dot_where_the_rod_does_not_reach_is_asked_about(scene):
    start = rod(1, dot=beside(scene, RUN, 0.0))
    assert asked(scene, start, rod(2, dot=beside(scene, 2 * RUN, 0.1))) == []
    for place in ((2 * RUN + 0.3, 0.0), (2 * RUN, 0.6), (RUN, 0.0), (2 * RUN, -0.6)):
        assert asked(scene, start, rod(2, dot=beside(scene, *place))) == ["dot"], place


def test_a_dot_that_is_less_sure_than_no_dot_is_asked_about_for_that_alone(scene):
    start = rod(1, dot=beside(scene, RUN, 0.0))
    # A phone that may be off by 4 m does not prove that the rod went elsewhere; the path would follow it.
    vague = rod(2, dot=beside(scene, 2 * RUN, 2.0), dot_error_m=4.0)
    assert asked(scene, start, vague) == ["rough_dot"]
    # What is stated, the steering allowance, and 3 m on from a dot without a heading.
    without_m = 0.05 + scene.inputs.job.bore_horizontal_m + 3.0 * radians(3.0)
    for error_m, odd in ((0.02, []), (without_m - 0.001, []), (without_m + 0.01, ["rough_dot"])):
        assert asked(scene, start, rod(2, dot=beside(scene, 2 * RUN, 0.0), dot_error_m=error_m)) == odd


def test_each_of_many_rough_dots_is_asked_about(scene):
    rough = [rod(number, dot=beside(scene, number * RUN, 0.0), dot_error_m=3.0) for number in range(1, 6)]
    for count in range(1, 6):
        assert asked(scene, *rough[:count]) == ["rough_dot"], count


def test_a_rod_longer_than_the_rigs_is_asked_about(scene):
    assert asked(scene, rod(1), rod(2, length_m=1.0, depth_m=None)) == []
    assert asked(scene, rod(1), rod(2, length_m=3.2, depth_m=None)) == ["length"]


def test_each_question_names_what_was_read_and_what_was_led_to(scene):
    log = RodLog(LocatingError(0.05, 0.05), (rod(1),), (), (CHECKED,))
    after = drilled_path(scene, log, (rod(1), rod(2, depth_m=1.524)))
    [one] = oddities(scene, log, drilled_path(scene, log), after)
    assert one.sentence.startswith("Depth 5 ft 0 in does not go with the pitch: from the rod before, pitch")
    assert "leads to 1 ft 11 1/2 in" in one.sentence


def test_a_rough_dot_is_better_than_none_after_a_long_way_without_one(scene):
    blind = [rod(number) for number in range(1, 13)]
    dot = {"dot": beside(scene, 13 * RUN, 0.0), "dot_error_m": 0.75}
    assert asked(scene, *blind, rod(13, **dot)) == []
    # One with which the head counts as lost is asked about all the same.
    assert asked(scene, *blind, rod(13, **{**dot, "dot_error_m": 1.0})) == ["rough_dot"]
    assert asked(scene, rod(1), rod(2, **{**dot, "dot": beside(scene, 2 * RUN, 0.0)})) == ["rough_dot"]


def test_each_rod_without_a_depth_is_asked_about_from_the_second_on(scene):
    blind = {"depth_m": None}
    assert asked(scene, rod(1, **blind)) == []
    assert asked(scene, rod(1, **blind), rod(2, **blind)) == ["no_depth"]
    assert asked(scene, rod(1), rod(2, **blind)) == []
    assert asked(scene, rod(1), rod(2, **blind), rod(3, **blind)) == ["no_depth"]
    assert asked(scene, rod(1), rod(2, **blind), rod(3, **blind), rod(4)) == []
    log = RodLog(LocatingError(0.05, 0.05), (rod(1), rod(2, **blind)), (), (CHECKED,))
    after = drilled_path(scene, log, (*log.rods, rod(3, **blind)))
    [one] = oddities(scene, log, drilled_path(scene, log), after)
    # 5 cm stated, 15 cm for steering, 0.5 % of 6 m: 23 cm.
    assert one.sentence.startswith(
        "No depth is read since rod 1, over 2 rods: by the pitch alone the head may be 9 1/8 in higher or"
    )
