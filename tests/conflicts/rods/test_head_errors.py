"""Drilling blind: what the head may be off by grows with each rod since it was last read; then it stops."""

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from conflicts.assess import compute
from conflicts.drawing.map_drilled import band_m
from conflicts.drilled import drilled_crossings, drilled_path
from conflicts.drilled_beside import abandoned_legs
from conflicts.engine.drilled_path import spread
from conflicts.gather import gather
from conflicts.head_errors import blind_runs, widened
from conflicts.rod_log import (
    PULL_BACK,
    LocatingError,
    LocatorCheckInput,
    RodInput,
    RodLog,
    WithdrawalInput,
    WithdrawnRods,
)
from tests import factories

AT = factories.PLANNED_START_AT
STATED = LocatingError(0.05, 0.05)
CHECKED = LocatorCheckInput("T1", "receiver 7", 1.6, 1.6, AT, "R. Pell")
# Common practice, no source: what a pitch and a heading may be read wrong by; from memory: one not read.
PITCH, HEADING, NO_HEADING = 0.005, np.radians(1.0), np.radians(3.0)


def rod(number, **values):
    plain = RodInput(
        rod_id=f"r{number}", after_id=f"r{number - 1}" if number > 1 else None, number=number, length_m=3.0,
        pitch_ratio=0.0, depth_m=None, roll_rad=None, heading_rad=None, dot=None, dot_error_m=None,
        confirmed=(), remarks="", logged_at=AT, logged_by="R. Pell",
    )  # fmt: skip
    return replace(plain, **values)


def read(number, **values):
    """A rod with depth and dot on a level path 2 m below the alignment."""
    dot = factories.point(3.0 * number, 0.0).coords
    return rod(number, **{"depth_m": 2.0, "dot": dot, **values})


def log(*rods, legs=()):
    return RodLog(STATED, rods, legs, (CHECKED,))


@pytest.fixture
def scene(db):
    """A bore of 100 m to the east, from the surface to 2 m at 20 m, under a gas line at 50 m."""
    bore = factories.small_job().bores.get()
    return compute(gather([bore.pk])[bore.pk]).scene


def errors(scene, *rods):
    joints = drilled_path(scene, log(*rods)).joints
    return [(joint.horizontal_error_m, joint.vertical_error_m) for joint in joints]


def test_eighty_rods_by_pitch_alone_are_off_by_what_their_length_makes_of_the_readings(scene):
    job = scene.inputs.job
    horizontal_m, vertical_m = errors(scene, *(rod(number) for number in range(1, 81)))[-1]
    # Level at the surface: 5 cm stated, the steering allowances, and 240 m of drift.
    assert vertical_m == pytest.approx(0.05 + job.bore_vertical_m + 240.0 * PITCH)
    assert horizontal_m == pytest.approx(0.05 + job.bore_horizontal_m + 240.0 * NO_HEADING)
    east = np.pi / 2
    horizontal_m, _ = errors(scene, *(rod(number, heading_rad=east) for number in range(1, 81)))[-1]
    assert horizontal_m == pytest.approx(0.05 + job.bore_horizontal_m + 240.0 * HEADING)


def test_since_the_last_reading_it_grows_rod_by_rod_and_a_reading_ends_that(scene):
    job, rods = scene.inputs.job, [read(1), *(rod(number) for number in range(2, 6))]
    stated_m = 0.1
    for count, (horizontal_m, vertical_m) in enumerate(errors(scene, *rods)[1:], start=1):
        assert vertical_m == pytest.approx(stated_m + job.bore_vertical_m + count * 3.0 * PITCH)
        assert horizontal_m == pytest.approx(stated_m + job.bore_horizontal_m + count * 3.0 * NO_HEADING)
    found = errors(scene, *rods, read(6))
    assert found[0] == found[-1] == pytest.approx((stated_m, stated_m))
    # Between the two readings, 2 b s (L - s) / L of a gap of five rods.
    for count, (horizontal_m, vertical_m) in enumerate(found[1:-1], start=1):
        metres = 2.0 * 3.0 * count * (5 - count) / 5
        assert vertical_m == pytest.approx(stated_m + job.bore_vertical_m + metres * PITCH)
        assert horizontal_m == pytest.approx(stated_m + job.bore_horizontal_m + metres * NO_HEADING)


def test_where_every_rod_is_read_nothing_is_added(scene):
    found = errors(scene, *(read(number) for number in range(1, 10)))
    assert found == [pytest.approx((0.1, 0.1))] * 9


def test_rods_that_go_on_from_a_rough_dot_are_no_surer_than_it(scene):
    found = errors(scene, read(1, dot_error_m=2.0), rod(2, depth_m=2.0))
    assert found[1][0] == pytest.approx(2.0 + 3.0 * NO_HEADING)


@pytest.mark.parametrize("lengths", [(3.0,) * 6, (1.0, 3.0, 0.5, 4.0, 2.0)])
def test_between_readings_it_is_what_the_worst_errors_of_the_attitude_make_of_the_drawn_path(lengths):
    """Each rod read wrong by all it may, either way: the path drawn through both readings, joint by joint."""
    lengths, growth = np.array(lengths), 0.01 * np.array(lengths) * np.arange(1, len(lengths) + 1)
    at = np.cumsum(lengths)
    worst = np.zeros(len(lengths))
    for signs in product((-1.0, 1.0), repeat=len(lengths)):
        astray = np.cumsum(np.array(signs) * growth)
        drawn = astray + spread(at, at[-1:], -astray[-1:])
        worst = np.maximum(worst, np.abs(drawn))
    is_read = np.arange(len(lengths)) == len(lengths) - 1
    found = widened(np.zeros(len(lengths)), is_read, lengths, growth)
    assert found == pytest.approx(worst, abs=1e-12)
    blind = widened(np.zeros(len(lengths)), np.zeros(len(lengths), dtype=bool), lengths, growth)
    assert blind == pytest.approx(np.cumsum(growth))


rods_drawn = st.lists(
    st.tuples(
        st.floats(0.5, 6.0),
        st.floats(-0.3, 0.3),
        st.booleans(),
        st.booleans(),
        st.booleans(),
        st.floats(0, 3),
    ),
    min_size=1,
    max_size=12,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(drawn=rods_drawn, more=rods_drawn)
def test_more_rods_drilled_blind_never_make_the_head_surer(scene, drawn, more):
    chain = [
        rod(
            number,
            length_m=length_m,
            pitch_ratio=pitch,
            depth_m=depth_m if has_depth else None,
            dot=factories.point(3.0 * number, 0.1).coords if has_dot else None,
            heading_rad=np.pi / 2 if has_heading else None,
        )
        for number, (length_m, pitch, has_depth, has_dot, has_heading, depth_m) in enumerate(drawn, start=1)
    ]
    blind = [
        rod(number, length_m=length_m, pitch_ratio=pitch, heading_rad=np.pi / 2 if has_heading else None)
        for number, (length_m, pitch, _, _, has_heading, _) in enumerate(more, start=len(chain) + 1)
    ]
    found = errors(scene, *chain, *blind)[len(chain) - 1 :]
    for before, after in pairwise(found):
        assert after[0] > before[0] - 1e-12
        assert after[1] > before[1] - 1e-12


@given(
    own=st.lists(st.floats(0.01, 1.0), min_size=1, max_size=15),
    is_read=st.lists(st.booleans(), min_size=15, max_size=15),
    lengths=st.lists(st.floats(0.5, 6.0), min_size=15, max_size=15),
    lost=st.integers(0, 14),
)
def test_a_reading_that_was_not_taken_never_makes_the_head_surer_nor_any_rod_less_off_than_read(
    own, is_read, lengths, lost
):
    """A rod that is not read is off by no less than one that is: a steering allowance more."""
    count = len(own)
    lengths, is_read = np.array(lengths[:count]), np.array(is_read[:count])
    growth = PITCH * lengths
    without = is_read & (np.arange(count) != lost)
    own_m = np.array(own)
    more = widened(own_m + 0.15 * ~is_read, is_read, lengths, growth)
    less = widened(own_m + 0.15 * ~without, without, lengths, growth)
    assert less[-1] >= more[-1] - 1e-12
    assert (less >= own_m - 1e-12).all()
    assert (more >= own_m - 1e-12).all()


def test_a_line_passed_blind_is_held_against_the_wider_errors_and_stops(scene):
    seen = drilled_path(scene, log(*(read(number) for number in range(1, 21))))
    [crossing] = drilled_crossings(scene, seen, AT)
    assert not crossing.stops
    blind = [read(number) for number in range(1, 8)] + [rod(number) for number in range(8, 21)]
    [crossing] = drilled_crossings(scene, drilled_path(scene, log(*blind)), AT)
    assert crossing.stops
    # Rod 17 ends at 51 m, ten rods on from the last that was read.
    worst = crossing.crossing.clearance.worst
    assert worst.bore_vertical_m >= 0.1 + 0.15 + 9 * 3.0 * PITCH
    assert worst.bore_horizontal_m >= 0.1 + 0.3 + 9 * 3.0 * NO_HEADING


def test_an_abandoned_leg_has_its_own_run(scene):
    before = tuple(read(number) for number in range(1, 4))
    leg = tuple(rod(number) for number in range(4, 9))
    left = WithdrawnRods(WithdrawalInput("r4", PULL_BACK, "a stone", AT, "R. Pell"), before, leg)
    again = (*before, *(read(number) for number in range(4, 9)))
    kept = log(*again, legs=(left,))
    [drawn] = abandoned_legs(scene, kept)
    assert drawn.drilled.head.vertical_error_m == pytest.approx(0.1 + 0.15 + 15.0 * PITCH)
    assert drilled_path(scene, kept).head.vertical_error_m == pytest.approx(0.1)


def test_the_band_on_the_map_widens_with_it(scene):
    drilled = drilled_path(scene, log(read(1), *(rod(number) for number in range(2, 12))))
    path_m = drilled.path.points_m[:, :2]
    ring = band_m(drilled, path_m)
    wide = np.linalg.norm(ring[: len(path_m)] - ring[len(path_m) :][::-1], axis=1)
    assert wide[-1] == pytest.approx(2.0 * (0.4 + 30.0 * NO_HEADING))


def test_the_head_is_lost_past_the_steering_allowance_in_height_and_the_tolerance_zone_in_plan(scene):
    job = scene.inputs.job
    blind = [read(1), *(rod(number, dot=read(number).dot) for number in range(2, 13))]
    # 0.5 % of 30 m is 15 cm: ten rods are allowed, the eleventh is not.
    assert job.bore_vertical_m == pytest.approx(0.15)
    height, plan = blind_runs(scene, STATED, blind[:11])
    assert (height.rods, height.since, height.is_lost, plan.rods) == (10, 1, False, 0)
    height, plan = blind_runs(scene, STATED, blind)
    assert (height.rods, height.is_lost, plan.is_lost) == (11, True, False)
    # 3 degrees of 9 m are 47 cm, of 12 m 63 cm; the tolerance zone is 61 cm. A heading read: 1 degree.
    assert job.tolerance_zone_m == pytest.approx(0.6096)
    no_dots = [rod(number, depth_m=2.0) for number in range(1, 5)]
    assert [blind_runs(scene, STATED, no_dots[:count])[1].is_lost for count in (3, 4)] == [False, True]
    headed = [rod(number, depth_m=2.0, heading_rad=np.pi / 2) for number in range(1, 13)]
    assert [blind_runs(scene, STATED, headed[:count])[1].is_lost for count in (11, 12)] == [False, True]
