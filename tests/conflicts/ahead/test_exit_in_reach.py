"""Whether the exit is in reach, against a brute force over ways that are drilled step by step."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from conflicts.engine.corridor_ahead import Ahead
from conflicts.engine.lookahead import Side
from conflicts.engine.next_pitch import can_pass_all_after
from conflicts.engine.reach import Head, LevelTurn, Rig
from conflicts.exit_ahead import Exit, ToExit, exit_line, missed_words
from conflicts.exit_steering import turn_for_exit

RIG = Rig(3.0, 30.0, bit_lead_m=0.9)
ALLOWED_PLAN_M, ALLOWED_HEIGHT_M = 0.35, 0.2
THERE = Exit(np.zeros(3), np.array([1.0, 0.0]), ALLOWED_PLAN_M, ALLOWED_HEIGHT_M)
STEP_M = 0.1
# What the shares between those tried leave out of the bend, 1 - cos(7.5 degrees), and what is second order in
# angles up to 0.3 rad, 1 - cos^2: together under a tenth.
MORE_BEND = 1.1


def to_the_exit(low_m, right_m, pitch, heading, run_m, bends=(), rig=RIG):
    return ToExit(Head(-low_m, pitch), Head(right_m, heading), rig, run_m, bends, THERE)


def is_hit_by_drilling(now, bend_radius_m):
    """Every way that steers at an even angle between up and aside, each for a while and then no more.

    A way is drilled in steps of 10 cm along it, with the turn in three dimensions as the rig's.
    """
    toward_up = -np.sign(now.height.elevation_m) or 1.0
    toward_right = -np.sign(now.aside.elevation_m) or 1.0
    phi, up_for, aside_for, up_sign, right_sign = (
        grid.ravel()
        for grid in np.meshgrid(
            np.radians(np.arange(0.0, 91.0, 5.0)),
            np.linspace(0.0, now.run_m, 11),
            np.linspace(0.0, now.run_m, 11),
            [toward_up, -toward_up],
            [toward_right, -toward_right],
        )
    )
    theta = np.full(len(phi), now.height.angle_rad)
    psi = np.full(len(phi), now.aside.angle_rad)
    run, up, right = np.zeros(len(phi)), np.full(len(phi), now.height.elevation_m), np.zeros(len(phi))
    right += now.aside.elevation_m
    drilled_m, missing = 0.0, np.ones(len(phi), dtype=bool)
    while missing.any():
        step = np.minimum(STEP_M, (now.run_m - run) / (np.cos(theta) * np.cos(psi))) * missing
        steered = drilled_m >= now.rig.bit_lead_m - 1e-9
        bend = step / bend_radius_m
        past_bit_m = drilled_m - now.rig.bit_lead_m
        turn_up = steered * (past_bit_m < up_for) * up_sign * np.cos(phi) * bend
        turn_right = steered * (past_bit_m < aside_for) * right_sign * np.sin(phi) * bend / np.cos(theta)
        middle_theta, middle_psi = theta + 0.5 * turn_up, psi + 0.5 * turn_right
        run += step * np.cos(middle_theta) * np.cos(middle_psi)
        right += step * np.cos(middle_theta) * np.sin(middle_psi)
        up += step * np.sin(middle_theta)
        theta, psi = theta + turn_up, psi + turn_right
        drilled_m += STEP_M
        missing = run < now.run_m - 1e-6
    return bool(((np.abs(up) <= ALLOWED_HEIGHT_M) & (np.abs(right) <= ALLOWED_PLAN_M)).any())


heads = st.builds(
    to_the_exit,
    st.floats(-1.5, 1.5),
    st.floats(-1.5, 1.5),
    st.floats(-0.15, 0.15),
    st.floats(-0.15, 0.15),
    st.floats(0.3, 9.0),
)


@settings(max_examples=40, deadline=None)
@given(now=heads)
@example(now=to_the_exit(1.0, 1.0, 0.0, 0.0, 8.0))
@example(now=to_the_exit(0.15, 0.3, 0.0, 0.0, 0.5))
def test_a_head_that_can_come_to_the_exit_is_hit_upon_by_drilling_and_the_reverse(now):
    # The brute force is as coarse as its grid: 0.7 m of a way between two ends of the steering.
    tighter, wider = RIG.bend_radius_m / MORE_BEND, RIG.bend_radius_m * MORE_BEND
    if is_hit_by_drilling(now, wider):
        assert now.can_be_met
    roomy = replace(THERE, allowed_plan_m=ALLOWED_PLAN_M - 0.1, allowed_height_m=ALLOWED_HEIGHT_M - 0.1)
    if replace(now, exit=roomy).can_be_met:
        assert is_hit_by_drilling(now, tighter)


def test_height_and_plan_are_told_to_be_out_of_reach_together_where_each_is_in_reach():
    now = to_the_exit(0.95, 1.1, 0.0, 0.0, 8.0)
    assert not now.can_be_met
    assert replace(now, aside=Head(0.0, 0.0)).can_be_met
    assert replace(now, height=Head(0.0, 0.0)).can_be_met
    assert "does not bend enough for both" in missed_words(now, "metric")


def test_a_bend_of_the_plan_takes_what_it_bends_from_both():
    # At 8 m, 7.1 m of them steered, 0.84 m each way: by 1 / 30 a metre.
    bend = (LevelTurn(0.9, 7.9, 1.0 / 30.0),)
    for low_m, right_m in ((0.9, 0.0), (0.0, 1.0)):
        assert to_the_exit(low_m, right_m, 0.0, 0.0, 8.0).can_be_met
        assert not to_the_exit(low_m, right_m, 0.0, 0.0, 8.0, bend).can_be_met


@pytest.mark.parametrize(("error_rad", "is_met"), [(0.0, True), (0.05, False)])
def test_a_pitch_that_may_be_read_wrong_counts_against_it(error_rad, is_met):
    now = to_the_exit(0.15, 0.0, 0.0, 0.0, 4.0, rig=replace(RIG, bit_lead_m=4.0))
    assert replace(now, height=replace(now.height, angle_error_rad=error_rad)).can_be_met is is_met


@given(now=heads)
def test_the_exit_as_a_line_is_passed_over_and_under_where_the_height_is_in_reach(now):
    """The look-ahead over lines and the band of heights are two ways to the same answer."""
    now = replace(now, rig=replace(RIG, bit_lead_m=0.0))
    band = now.heights(0.0)
    ahead = Ahead(now.height, now.rig)
    for side, reached_m in ((Side.OVER, band.highest_m[0]), (Side.UNDER, -band.lowest_m[0])):
        if reached_m < -ALLOWED_HEIGHT_M - 1e-3:
            assert not can_pass_all_after(ahead, [exit_line(now, side)], side.upward * 0.4)
        elif reached_m > -ALLOWED_HEIGHT_M + 0.01:
            assert can_pass_all_after(ahead, [exit_line(now, side)], side.upward * 0.4)


@pytest.mark.parametrize(("right_m", "heading_deg"), [(0.2, 5.0), (-0.2, -5.0)])
def test_in_the_last_rod_the_heading_is_held_up_to_the_exit_and_no_farther(right_m, heading_deg):
    # 0.20 m to the side and 0.5 m at 5 degrees are 0.244 m there; the rod would go on to 0.46 m.
    now = to_the_exit(0.0, right_m, 0.0, np.radians(heading_deg), 0.5)
    assert now.can_be_met
    assert turn_for_exit(now, 0.0) == ""


@pytest.mark.parametrize(("right_m", "towards"), [(0.7, "left"), (-0.7, "right")])
def test_a_heading_that_loses_the_exit_over_the_next_rod_is_turned_back(right_m, towards):
    now = to_the_exit(0.0, right_m, 0.0, 0.03 * np.sign(right_m), 7.0)
    assert now.can_be_met
    assert turn_for_exit(now, 0.0) == towards


@pytest.mark.parametrize(("side", "towards"), [(-1.0, "right"), (1.0, "left")])
def test_where_height_and_side_are_lost_together_after_the_rod_a_turn_is_told(side, towards):
    """The head after the rod is laid here on the circle from one pitch to the other."""
    rig = Rig(3.048, 30.48, bit_lead_m=0.9144)
    now = replace(
        to_the_exit(0.0, 0.0, 0.0, 0.0, 7.235, rig=rig),
        height=Head(-1.135, 0.19, 0.005),
        aside=Head(side * 0.329, side * 0.0152, np.radians(1.0)),
    )
    assert now.can_be_met
    # The plan is level there: as near to it as the rig bends is a tenth of a radian down.
    radius_m, last_rad = rig.bend_radius_m, np.arcsin(np.sin(0.19) - 0.1 * np.cos(0.19))
    after = replace(
        now,
        height=Head(-1.135 + radius_m * (np.cos(last_rad) - np.cos(0.19)), last_rad, 0.005),
        aside=Head(side * (0.329 + 3.048 * np.sin(0.0152)), side * 0.0152, np.radians(1.0)),
        run_m=7.235 - radius_m * (np.sin(0.19) - np.sin(last_rad)),
    )
    assert not after.can_be_met
    assert replace(after, aside=Head(0.0, 0.0)).can_be_met
    assert replace(after, height=Head(0.0, 0.0)).can_be_met
    assert turn_for_exit(now, 0.0) == towards
    assert turn_for_exit(replace(now, aside=Head(0.0, 0.0)), 0.0) == ""
