"""Where rods were drilled: shape by pitch and heading, place by depth and dot, and how sure that is."""

from dataclasses import replace
from datetime import timedelta
from math import sqrt, tan

import numpy as np
import pytest

from conflicts.assess import compute
from conflicts.drilled import drilled_crossings, drilled_path
from conflicts.engine.drilled_path import raw_path, spread
from conflicts.engine.path import Rods, path_of_rods
from conflicts.gather import gather
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore
from conflicts.rod_log import LocatingError, LocatorCheckInput, RodInput, RodLog
from tests import factories

AT = factories.PLANNED_START_AT
STATED = LocatingError(0.05, 0.05)


def rod(number, **values):
    plain = RodInput(
        rod_id=f"r{number}", after_id=f"r{number - 1}" if number > 1 else None, number=number, length_m=3.0,
        pitch_ratio=0.0, depth_m=None, roll_rad=None, heading_rad=None, dot=None, dot_error_m=None,
        confirmed=(), remarks="", logged_at=AT, logged_by="R. Pell",
    )  # fmt: skip
    return replace(plain, **values)


def log(*rods, checks=()):
    return RodLog(STATED, rods, (), checks)


@pytest.fixture
def scene(db):
    """A bore of 100 m to the east, from the surface to 2 m at 20 m, under a gas line at 50 m."""
    bore = factories.small_job().bores.get()
    return compute(gather([bore.pk])[bore.pk]).scene


def test_the_raw_shape_is_that_of_a_rod_plan_with_the_same_readings():
    plan = np.array([(0.0, 0.0), (100.0, 0.0)])
    lengths, pitches = np.full(8, 3.0), np.array([-0.2, -0.2, -0.15, -0.1, -0.05, 0.0, 0.0, 0.05])
    headings = np.radians([90, 90, 91, 93, 94, 94, 92, 90.0])
    raw = raw_path(plan, -0.5, lengths, pitches, headings)
    with_entry = Rods(-0.5, np.r_[0.0, lengths], np.r_[pitches[0], pitches], np.r_[headings[0], headings])
    path = path_of_rods(plan, with_entry)
    assert raw.points_m == pytest.approx(path.points_m)
    assert raw.joints_m[-1] == pytest.approx(path.points_m[-1])
    # Each joint is met at its own measured length, and length never falls along the points.
    assert (np.diff(raw.points_at_m) > 0.0).all()
    for axis in range(3):
        met = np.interp(raw.lengths_m, raw.points_at_m, raw.points_m[:, axis])
        assert met == pytest.approx(raw.joints_m[:, axis], abs=1e-9)


def test_a_quarter_turn_of_a_circle_is_met_in_closed_form():
    # From 45 degrees down to level over one rod of R * pi / 4: down R (1 - cos 45), along R sin 45.
    radius = 30.48
    plan = np.array([(0.0, 0.0), (100.0, 0.0)])
    first = 3.0
    raw = raw_path(
        plan, 0.0, np.array([first, radius * np.pi / 4]), np.array([-1.0, 0.0]), np.full(2, np.nan)
    )
    half = sqrt(0.5)
    assert raw.joints_m[2] == pytest.approx(
        (first * half + radius * half, 0.0, -first * half - radius * (1 - half)), abs=1e-9
    )
    assert raw.turns_rad == pytest.approx((0.0, np.pi / 4))


def test_corrections_grow_from_nothing_at_the_entry_and_are_held_past_the_last_fix():
    at = np.array([0.0, 5.0, 10.0, 15.0, 20.0, 30.0])
    moved = spread(at, np.array([10.0, 20.0]), np.array([0.4, -0.2]))
    assert moved == pytest.approx((0.0, 0.2, 0.4, 0.1, -0.2, -0.2))


def test_a_bend_of_a_rod_is_its_turn_in_three_dimensions():
    # 3 degrees of pitch and 4 of heading about the level: 5 degrees, to the third order.
    plan = np.array([(0.0, 0.0), (100.0, 0.0)])
    raw = raw_path(
        plan,
        0.0,
        np.array([3.0, 3.0]),
        np.array([0.0, tan(np.radians(3.0))]),
        np.radians([90.0, 94.0]),
    )
    assert np.degrees(raw.turns_rad[1]) == pytest.approx(5.0, abs=0.005)


def test_the_path_passes_through_depths_and_dots(scene):
    dots = scene.frame.to_geographic(scene.alignment_m[:1] + np.array([(11.8, -0.4)]))
    drilled = drilled_path(
        scene,
        log(
            rod(1, pitch_ratio=-0.1),
            rod(2, pitch_ratio=-0.1, depth_m=0.9),
            rod(3, pitch_ratio=-0.1),
            rod(4, pitch_ratio=-0.1, depth_m=1.5, dot=tuple(dots[0])),
        ),
    )
    entry = scene.path.points_m[0]
    first, second, _, fourth = drilled.joints
    assert second.point_m[2] == pytest.approx(-0.9)
    assert fourth.point_m == pytest.approx((entry[0] + 11.8, entry[1] - 0.4, -1.5), abs=1e-6)
    # The misclosure in height at the second rod is spread over two rods of 3 m.
    assert first.point_m[2] - first.raw_m[2] == pytest.approx(0.5 * (second.point_m[2] - second.raw_m[2]))
    assert first.right_m == pytest.approx(0.1, abs=1e-4)
    assert fourth.right_m == pytest.approx(0.4, abs=1e-4)
    # The plan goes down 0.1 a metre as far as 20 m, so it is 1.18 m deep there.
    assert fourth.station_m == pytest.approx(11.8, abs=1e-4)
    assert fourth.deeper_m == pytest.approx(0.32, abs=1e-4)
    plan_m, height_m = drilled.largest_correction_m
    assert plan_m == pytest.approx(np.hypot(12.0 / sqrt(1.01) - 11.8, 0.4), abs=1e-4)
    assert height_m == pytest.approx(1.5 - 12.0 * 0.1 / sqrt(1.01), abs=1e-6)
    # Points of the path lie on it at their own stations.
    assert drilled.path.at(fourth.own_station_m) == pytest.approx(fourth.point_m, abs=1e-9)


def check(off_m, measured_m=1.6, at=AT):
    return LocatorCheckInput("T1", "receiver 7", measured_m + off_m, measured_m, at, "R. Pell")


def head_errors(scene, checks, **values):
    dot = tuple(scene.frame.to_geographic(scene.alignment_m[:1] + np.array([(3.0, 0.0)]))[0])
    read = {"depth_m": 3.0, "dot": dot, **values}
    head = drilled_path(scene, log(rod(1, **read), checks=checks)).head
    return head.horizontal_error_m, head.vertical_error_m


def test_errors_are_never_less_than_stated_and_more_where_less_is_known(scene):
    job = scene.inputs.job
    stated = 0.15  # 5 % of 3 m
    # Checked that day, and exact: what is stated.
    assert head_errors(scene, [check(0.0)]) == pytest.approx((stated, stated))
    # Off by 10 cm at 1.6 m, either way: in height that counts, and more at 3 m.
    for off in (0.1, -0.1):
        assert head_errors(scene, [check(off)]) == pytest.approx((stated, 0.1 * 3.0 / 1.6))
    # The worst of the day's checks, and a deep check does not shrink it.
    assert head_errors(scene, [check(0.0), check(0.2, 4.0)]) == pytest.approx((stated, 0.2))
    # Nobody checked it that day: the steering allowance at least.
    for checks in ([], [check(0.0, at=AT - timedelta(days=1))]):
        assert head_errors(scene, checks)[1] == pytest.approx(max(stated, job.bore_vertical_m))
        deep = head_errors(scene, checks, depth_m=1.0)
        assert deep[1] == pytest.approx(job.bore_vertical_m)
    # No depth or no dot read: the steering allowance on top, and what 3 m may have strayed from the entry.
    assert head_errors(scene, [check(0.0)], dot=None)[0] == pytest.approx(
        stated + job.bore_horizontal_m + 3.0 * np.radians(3.0)
    )
    assert head_errors(scene, [check(0.0)], depth_m=None, pitch_ratio=0.0)[1] >= 0.05 + job.bore_vertical_m
    # A phone that states 4 m is believed.
    assert head_errors(scene, [check(0.0)], dot_error_m=4.0)[0] == pytest.approx(4.0)


def rods_at(depth_m, count):
    """Level rods of 3 m from the first on, all read at one depth."""
    return [rod(number, depth_m=depth_m) for number in range(1, count + 1)]


def test_a_line_is_held_against_what_was_drilled_with_the_errors_there(scene):
    [planned] = compute(scene.inputs).crossings
    assert planned.clearance.station_m == pytest.approx(50.0, abs=0.01)
    before = drilled_path(scene, log(*rods_at(2.0, 15)))
    assert drilled_crossings(scene, before, AT) == []
    under = drilled_path(
        scene, log(*rods_at(2.0, 16), rod(17, length_m=2.3, depth_m=2.0), checks=[check(0.0)])
    )
    [crossing] = drilled_crossings(scene, under, AT)
    assert not crossing.is_whole
    with_dots = [
        replace(one, dot=tuple(scene.frame.to_geographic(scene.path.at(3.0 * one.number)[:2])[0]))
        for one in rods_at(2.0, 20)
    ]
    past = drilled_path(scene, log(*with_dots, checks=[check(0.0)]))
    [crossing] = drilled_crossings(scene, past, AT)
    assert crossing.is_whole
    assert crossing.station_m == pytest.approx(50.0, abs=0.01)
    figures, as_planned = crossing.crossing.clearance, planned.clearance
    assert figures.separation_m == pytest.approx(as_planned.separation_m, abs=1e-3)
    # Located to 10 cm both ways instead of steered to 30 and 15: more is left in the worst case.
    assert (figures.worst.bore_horizontal_m, figures.worst.bore_vertical_m) == pytest.approx((0.1, 0.1))
    assert figures.worst_case_m > as_planned.worst_case_m + 0.04
    # The same rods without dots: the steering allowance is added in plan, and less is left.
    blind = drilled_path(scene, log(*rods_at(2.0, 20), checks=[check(0.0)]))
    [crossing] = drilled_crossings(scene, blind, AT)
    assert crossing.crossing.clearance.worst_case_m < figures.worst_case_m


def test_a_hole_too_near_a_line_stops(scene):
    near = drilled_path(scene, log(*rods_at(1.3, 20), checks=[check(0.0)]))
    [crossing] = drilled_crossings(scene, near, AT)
    assert crossing.stops
    assert crossing.crossing.verdict in ("short", "overlap")


def test_logs_are_read_for_many_bores_in_three_queries(db, django_assert_num_queries):
    job = factories.small_job()
    one, other = job.bores.get(), factories.BoreFactory(job=job)
    hole = job.test_holes.get()
    first = factories.DrilledRodFactory(bore=one)
    second = factories.DrilledRodFactory(bore=one, after=first)
    third = factories.DrilledRodFactory(bore=one, after=second)
    factories.RodWithdrawalFactory(rod=second)
    factories.LocatorCheckFactory(bore=other, hole=hole)
    bores = list(Bore.objects.select_related("job"))
    with django_assert_num_queries(3):
        logs = gather_rods(bores)
    assert [rod.rod_id for rod in logs[one.pk].rods] == [str(first.pk)]
    [leg] = logs[one.pk].legs
    assert [rod.rod_id for rod in leg.rods] == [str(second.pk), str(third.pk)]
    assert [rod.rod_id for rod in leg.before] == [str(first.pk)]
    assert logs[other.pk].rods == ()
    assert len(logs[other.pk].checks) == 1
    assert logs[one.pk].stated == STATED


def test_logging_a_rod_changes_no_digest_on_which_a_release_rests(db):
    bore = factories.small_job().bores.get()
    before = gather([bore.pk])[bore.pk].digest()
    factories.DrilledRodFactory(bore=bore)
    assert gather([bore.pk])[bore.pk].digest() == before
