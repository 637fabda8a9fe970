"""Crossings small enough to work out on paper: the plain ones and every odd one that the street holds."""

import numpy as np
import pytest

from tests.engine.cases import Case, Hole, ask

# A bore of 0.25 m along the x axis at elevation -3, a pipe of 0.2 m across it at x = 20, found at -1: its
# centre is at -1.1, 1.9 m over the bore's.
PLAIN = Case(holes=(Hole(20.0, 0.0, -1.0),))
ZONE_M = 0.6 + 0.125 + 0.1


def only(case):
    (found,) = ask(case).found
    return found


def spans(case):
    return [(one.from_m, one.to_m) for one in ask(case).found]


def test_a_square_crossing_has_the_figures_of_its_section():
    found = only(PLAIN)
    assert (found.from_m, found.to_m) == pytest.approx((20.0 - ZONE_M, 20.0 + ZONE_M))
    assert (found.kind, found.passes, found.station_m, found.angle_deg) == ("crossing", "under", 20.0, 90.0)
    assert found.horizontal_m == 0.0
    assert found.vertical_m == pytest.approx(1.9 - 0.225)
    assert found.separation_m == pytest.approx(1.9 - 0.225)
    # Straight below, v is plumb and loses 0.15 m of the bore and 0.03 m of the hole. The least lies a little
    # beside, where v tilts and the larger errors in plan, 0.30 and 0.03 m, begin to count.
    aside_m = np.linspace(0.0, ZONE_M, 100_001)
    length_m = np.hypot(1.9, aside_m)
    worst_m = length_m - 0.225 - (0.33 * aside_m + 0.18 * 1.9) / length_m
    assert found.worst_case_m == pytest.approx(worst_m.min(), abs=1e-4)
    assert found.worst_case_m == pytest.approx(1.4693, abs=1e-4)
    share_m = [0.30 * aside_m, 0.03 * aside_m, 0.15 * 1.9, 0.03 * 1.9]
    likely_m = length_m - 0.225 - np.sqrt(sum(np.square(one) for one in share_m)) / length_m
    assert found.likely_m == pytest.approx(likely_m[worst_m.argmin()], abs=1e-3)


def test_a_line_crossed_three_times_has_a_record_for_each():
    zigzag = ((5.0, -5.0), (10.0, 5.0), (20.0, -5.0), (30.0, 5.0))
    found = ask(PLAIN.but(mark_m=zigzag, holes=())).found
    assert [one.station_m for one in found] == pytest.approx([7.5, 15.0, 25.0])
    assert [one.kind for one in found] == ["crossing"] * 3
    half_m = ZONE_M * np.sqrt(2.0)
    assert spans(PLAIN.but(mark_m=zigzag, holes=()))[1] == pytest.approx((15.0 - half_m, 15.0 + half_m))


def test_two_crossings_within_one_zone_are_one_record_at_the_nearer_in_height():
    # In and out again within 1 m: the zone never ends between. The line falls along itself, so the
    # second crossing is the lower one, nearer to a bore underneath.
    hairpin = ((19.5, 5.0), (19.5, -0.2), (20.5, -0.2), (20.5, 5.0))
    holes = (Hole(19.5, 2.0, -1.0), Hole(20.5, 2.0, -2.0))
    found = only(PLAIN.but(mark_m=hairpin, holes=holes))
    assert (found.kind, found.station_m) == ("crossing", pytest.approx(20.5))
    # Chainage of the holes 3.0 and 8.4 along the mark, of the second crossing 6.4.
    top_m = -1.0 - 3.4 / 5.4
    assert found.vertical_m == pytest.approx(abs(-3.0 - (top_m - 0.1)) - 0.225)


def test_a_line_alongside_for_half_of_the_bore():
    beside = Case(mark_m=((10.0, 0.7), (30.0, 0.7)), holes=(Hole(12.0, 0.7, -2.9), Hole(28.0, 0.7, -2.9)))
    found = only(beside)
    assert found.kind == "alongside"
    over_m = np.sqrt(ZONE_M**2 - 0.7**2)
    assert (found.from_m, found.to_m) == pytest.approx((10.0 - over_m, 30.0 + over_m))
    assert found.station_m == pytest.approx(20.0)
    assert found.angle_deg == pytest.approx(0.0)
    assert found.horizontal_m == pytest.approx(0.7 - 0.225)
    assert found.vertical_m == pytest.approx(-0.225)
    assert found.separation_m == pytest.approx(0.7 - 0.225)
    # Between the holes, beyond their reach, paint promises no better than T, 0.6 m, and the bore 0.3.
    assert found.worst_case_m == pytest.approx(0.475 - 0.9, abs=1e-3)
    assert found.stretch_m == pytest.approx((0.0, 20.0))


@pytest.mark.parametrize(("gap_m", "is_met"), [(0.8, True), (0.85, False)])
def test_a_line_that_ends_near_the_bore_is_met_within_the_zone_only(gap_m, is_met):
    found = ask(PLAIN.but(mark_m=((20.0, 10.0), (20.0, gap_m)), holes=())).found
    assert len(found) == is_met
    if found:
        over_m = np.sqrt(ZONE_M**2 - gap_m**2)
        assert (found[0].from_m, found[0].to_m) == pytest.approx((20.0 - over_m, 20.0 + over_m))
        assert (found[0].kind, found[0].horizontal_m) == ("alongside", pytest.approx(gap_m - 0.225))


def test_a_line_that_ends_on_the_bore_crosses_it():
    assert only(PLAIN.but(mark_m=((20.0, 10.0), (20.0, 0.0)), holes=())).kind == "crossing"


def test_a_single_painted_point_is_a_disc_without_depth():
    found = only(PLAIN.but(mark_m=((20.0, 0.5),), holes=()))
    over_m = np.sqrt(ZONE_M**2 - 0.5**2)
    assert (found.from_m, found.to_m) == pytest.approx((20.0 - over_m, 20.0 + over_m))
    assert (found.kind, found.angle_deg, found.station_m) == ("alongside", None, pytest.approx(20.0))
    assert (found.vertical_m, found.separation_m, found.worst_case_m, found.likely_m) == (None,) * 4


def test_a_single_painted_point_goes_to_the_hole_that_found_it():
    found = only(PLAIN.but(mark_m=((20.0, 0.5), (20.0, 0.5)), holes=(Hole(21.0, 0.3, -1.0),)))
    assert found.station_m == pytest.approx(21.0)
    assert found.point_m == pytest.approx((21.0, 0.3))
    assert found.separation_m == pytest.approx(np.hypot(1.9, 0.3) - 0.225)


def test_a_duct_bank_counts_half_its_height_plumb_and_its_circumscribed_circle_in_space():
    found = only(PLAIN.but(width_m=0.6, height_m=0.8))
    assert found.to_m - found.from_m == pytest.approx(2.0 * (0.6 + 0.125 + 0.3))
    # Top at -1, so the centre at -1.4, 1.6 m above the bore's.
    assert found.vertical_m == pytest.approx(1.6 - 0.125 - 0.4)
    assert found.separation_m == pytest.approx(1.6 - 0.125 - 0.5)


def test_lines_stacked_in_one_trench_differ_in_height_alone():
    upper, lower = (only(PLAIN.but(holes=(Hole(20.0, 0.0, top_m),))) for top_m in (-1.0, -2.5))
    assert (upper.from_m, upper.to_m, upper.station_m) == (lower.from_m, lower.to_m, lower.station_m)
    assert upper.vertical_m - lower.vertical_m == pytest.approx(1.5)
    assert lower.separation_m == pytest.approx(3.0 - 2.6 - 0.225)


def test_a_bore_that_starts_inside_a_zone_has_its_extent_from_the_entry():
    found = only(PLAIN.but(mark_m=((0.5, -10.0), (0.5, 10.0)), holes=(Hole(0.5, 0.0, -1.0),)))
    assert (found.from_m, found.to_m) == pytest.approx((0.0, 0.5 + ZONE_M))
    assert (found.kind, found.station_m) == ("crossing", pytest.approx(0.5))


def test_a_bore_wholly_inside_a_zone_is_one_extent():
    found = only(PLAIN.but(mark_m=((-10.0, 0.1), (50.0, 0.1)), holes=()))
    assert (found.from_m, found.to_m) == pytest.approx((0.0, 40.0))


def test_on_a_slope_the_least_distance_is_square_to_the_bore():
    # Case 11 of the published segment set, moved: down 1 in 5, vertical 2 m, in space 20 / sqrt(104) m.
    sloping = PLAIN.but(profile_m=((0.0, 1.0), (40.0, -7.0)), holes=(Hole(20.0, 0.0, -4.9),), tolerance_m=3.0)
    found = only(sloping)
    assert found.vertical_m == pytest.approx(2.0 - 0.225)
    assert found.separation_m == pytest.approx(20.0 / np.sqrt(104.0) - 0.225)
    assert found.passes == "over"


def test_on_a_curved_alignment_stations_run_along_the_curve():
    turn = np.linspace(0.0, 0.5 * np.pi, 400)
    curve = tuple(map(tuple, 30.0 * np.column_stack([np.sin(turn), 1.0 - np.cos(turn)])))
    length_m = 15.0 * np.pi
    case = PLAIN.but(
        bore_plan_m=curve,
        profile_m=((0.0, -3.0), (length_m - 0.001, -3.0)),
        mark_m=((0.0, 30.0), (40.0, -10.0)),
        holes=(),
    )
    found = only(case)
    # The line lies square across the curve at 45 degrees; 400 chords shorten the arc by 3e-6 of its length.
    assert found.station_m == pytest.approx(0.5 * length_m, abs=1e-3)
    assert found.angle_deg == pytest.approx(90.0, abs=0.3)


def test_a_mark_digitised_with_repeated_points_is_the_same_line():
    once = only(PLAIN.but(mark_m=((20.0, -10.0), (20.0, 3.0), (20.0, 10.0))))
    twice = only(PLAIN.but(mark_m=((20.0, -10.0), (20.0, -10.0), (20.0, 3.0), (20.0, 3.0), (20.0, 10.0))))
    assert twice.separation_m == once.separation_m
    assert twice.worst_case_m == once.worst_case_m
    assert twice.along_m == once.along_m


def test_without_a_tolerance_zone_only_the_bodies_count():
    bare = PLAIN.but(tolerance_m=0.0)
    assert spans(bare)[0] == pytest.approx((20.0 - 0.225, 20.0 + 0.225))
    assert spans(bare.but(mark_m=((0.0, 0.23), (40.0, 0.23)), holes=())) == []


def test_a_zone_that_the_bore_only_touches_is_met():
    # 0.5 + 0.125 + 0.125, exact in binary, so that d(s) equals the zone to the last digit.
    touching = PLAIN.but(
        tolerance_m=0.5, width_m=0.25, mark_m=((20.0, 10.0), (20.0, 0.75)), holes=(), bore_radius_m=0.125
    )
    found = only(touching)
    assert (found.from_m, found.to_m) == pytest.approx((20.0, 20.0), abs=1e-6)
    assert found.horizontal_m == pytest.approx(0.5)


def test_where_one_error_alone_acts_the_likely_figure_is_the_worst_case_to_the_last_digit():
    """The root of one square is the figure itself: rounding must not make likely less than worst."""
    (one,) = ask(
        Case(
            bore_plan_m=((0.0, 0.0), (14.35, 0.034), (24.35, 0.034)),
            profile_m=((0.0, -2.881), (24.350040278689114, -1.0)),
            bore_radius_m=0.085,
            mark_m=((0.0, -0.369), (14.35, -0.028), (24.35, 0.034)),
            holes=(Hole(east_m=0.0, north_m=-0.369, top_m=-2.89, error_m=0.034),),
            width_m=0.667,
            height_m=None,
            tolerance_m=0.0,
            reach_m=0.0,
            bore_horizontal_m=0.0,
            bore_vertical_m=0.0,
            slope_ratio=0.0,
        )
    ).found
    assert one.worst_case_m <= one.likely_m
