"""The profile of a bore: everything stands where its station and elevation say, at its size, by its axes.

A tenth of a unit of the picture is 3 mm of height at the scales here and 10 mm of station: tolerances follow.
"""

from itertools import pairwise

import pytest

from conflicts.assess import compute_bores
from conflicts.drawing.profile import ProfileDrawing, draw_profile, spread_of
from conflicts.models import Bore
from conflicts.sentences import station_words
from conflicts.views.facility_words import FACILITY_WORDS
from locates.models import TestHole
from locates.units import format_station
from tests.factories import (
    FacilityOperatorFactory,
    MarkFactory,
    TestHoleFactory,
    box,
    line,
    point,
    small_job,
)
from tests.svg_pictures import AxisScale, of_class, picture, places, words

pytestmark = pytest.mark.django_db

STATION_M = 0.02
HEIGHT_M = 0.006


@pytest.fixture
def bore():
    return small_job().bores.get()


def drawn(bore, **options) -> ProfileDrawing:
    computed = compute_bores([bore.pk])[bore.pk]
    return draw_profile(computed.scene, computed.crossings, FACILITY_WORDS, **options)


def read(bore, **options):
    root = picture(drawn(bore, **options).svg)
    return root, AxisScale(root)


def test_a_line_stands_at_its_station_and_elevation(bore):
    root, scale = read(bore)
    [body] = of_class(root, "body")
    # Top found at 0.9 m, stated width 0.1 m: the centre lies 0.95 m under ground at 0.
    assert scale.station_m(float(body.get("cx"))) == pytest.approx(50.0, abs=STATION_M)
    assert scale.elevation_m(float(body.get("cy"))) == pytest.approx(-0.95, abs=HEIGHT_M)


def test_a_line_is_drawn_at_its_size_across_and_up(bore):
    root, scale = read(bore)
    [body] = of_class(root, "body")
    assert float(body.get("rx")) / scale.across == pytest.approx(0.05, abs=0.001)
    assert float(body.get("ry")) / scale.up == pytest.approx(0.05, abs=0.001)
    assert scale.up > scale.across


def test_round_a_line_are_its_uncertainty_and_then_the_required_clearance(bore):
    root, scale = read(bore)
    [error], [ring] = of_class(root, "error"), of_class(root, "ring")
    # The job's allowance for a test hole is 0.03 m, the requirement 0.305 m; the worst point is up to 0.4 m
    # along the line from the hole, and the slope allowance is 1 %.
    assert float(error.get("ry")) / scale.up == pytest.approx(0.05 + 0.03, abs=0.005)
    assert float(ring.get("ry")) / scale.up == pytest.approx(0.05 + 0.03 + 0.305, abs=0.005)
    assert float(ring.get("rx")) / scale.across == pytest.approx(0.05 + 0.03 + 0.305, abs=0.005)


def test_without_exaggeration_heights_are_as_lengths_and_a_line_is_round(bore):
    root, scale = read(bore, is_true_scale=True)
    [body] = of_class(root, "body")
    assert scale.up == pytest.approx(scale.across, rel=1e-3)
    assert body.get("rx") == body.get("ry")
    assert drawn(bore, is_true_scale=True).exaggeration == pytest.approx(1.0)


def test_the_exaggeration_that_is_stated_is_the_one_that_is_drawn(bore):
    drawing = drawn(bore)
    scale = AxisScale(picture(drawing.svg))
    assert drawing.exaggeration == round(drawing.exaggeration) > 1
    assert scale.up / scale.across == pytest.approx(drawing.exaggeration, rel=5e-3)


def test_ticks_closer_than_a_whole_unit_tell_themselves_apart(bore):
    bore.job.show_units = "metric"
    bore.job.save()
    bore.job.ground_points.update(elevation_m=1420.0)
    root = picture(drawn(bore).svg)
    ticks = [one.text for one in of_class(root, "tick") if "+" not in one.text]
    assert len(ticks) == len(set(ticks)) > 3
    assert all("." in tick for tick in ticks)


def test_a_short_bore_needs_no_exaggeration_and_says_so(bore):
    bore.pits.all().delete()
    bore.alignment = line((40, 0), (55, 0))
    bore.profile_stations_m = [0.0, 5.0, 10.0, 15.0]
    bore.alignment_length_m = 15.0
    bore.save()
    drawing = drawn(bore)
    assert drawing.exaggeration == 1
    assert "Heights are drawn as large as lengths." in picture(drawing.svg).find("desc").text


def test_a_duct_bank_is_drawn_with_its_width_and_height(bore):
    TestHole.objects.update(outside_width_m=0.6, outside_height_m=0.4)
    root, scale = read(bore)
    [body] = of_class(root, "body")
    assert body.tag == "rect"
    assert float(body.get("width")) / scale.across == pytest.approx(0.6, abs=0.002)
    assert float(body.get("height")) / scale.up == pytest.approx(0.4, abs=0.002)


def test_the_hole_has_its_diameter_and_the_band_its_allowance_besides(bore):
    root, scale = read(bore)
    for name, wide_m in (("hole", 0.2), ("hole-band", 0.2 + 2 * 0.15)):
        [shape] = of_class(root, name)
        level = [y for x, y in places(shape) if abs(scale.station_m(x) - 80.0) < 0.3]
        assert (max(level) - min(level)) / scale.up == pytest.approx(wide_m, abs=0.01)
        assert scale.elevation_m(sum(level) / len(level)) == pytest.approx(-2.0, abs=0.03)


def test_the_hole_is_as_thick_on_a_slope_as_on_the_level(bore):
    bore.profile_values_m = [0.0, 10.0, 10.0, 0.0]
    bore.save()
    root, scale = read(bore, is_true_scale=True)
    corners = [(scale.station_m(x), scale.elevation_m(y)) for x, y in places(of_class(root, "hole")[0])]
    upper, lower = corners[0], corners[-1]
    # Down 10 m on 20 m: both ends of the mouth are a radius from the entry, square to the path.
    assert (upper[0] - lower[0]) ** 2 + (upper[1] - lower[1]) ** 2 == pytest.approx(0.2**2, abs=0.01)
    assert (upper[0] - lower[0]) / (upper[1] - lower[1]) == pytest.approx(0.5, abs=0.1)


def test_a_line_of_unknown_depth_is_a_band_over_its_whole_extent_from_the_ground_down(bore):
    TestHole.objects.all().delete()
    root, scale = read(bore)
    [band] = of_class(root, "unknown-band")
    left, wide = float(band.get("x")), float(band.get("width"))
    # Tolerance zone 0.6096 m, hole 0.1 m and line 0.05 m to either side.
    assert scale.station_m(left) == pytest.approx(50.0 - 0.7596, abs=STATION_M)
    assert wide / scale.across == pytest.approx(2 * 0.7596, abs=2 * STATION_M)
    assert scale.elevation_m(float(band.get("y"))) == pytest.approx(0.0, abs=HEIGHT_M)
    assert {"?", "depth unknown"} <= set(words(root))
    assert of_class(root, "body") == []


def test_a_line_alongside_is_drawn_over_its_extent_at_the_height_that_its_holes_give(bore):
    mark = MarkFactory(job=bore.job, ref="A1", stated_width_m=0.2, geometry=line((10, 0.4), (90, 0.4)))
    for east_m, depth_m in ((20, 0.9), (80, 1.5)):
        TestHoleFactory(job=bore.job, mark=mark, position=point(east_m, 0.4), depth_to_top_m=depth_m)
    root, scale = read(bore)
    [body] = [one for one in of_class(root, "body") if one.tag == "polygon"]
    corners = [(scale.station_m(x), scale.elevation_m(y)) for x, y in places(body)]
    assert min(station for station, _ in corners) == pytest.approx(10.0 - 0.698, abs=0.03)
    for station, elevation in corners:
        centre = -1.0 - 0.6 * min(1.0, max(0.0, (station - 20.0) / 60.0))
        assert abs(elevation - centre) == pytest.approx(0.1, abs=0.012)


def test_a_test_hole_goes_down_to_its_bottom(bore):
    TestHole.objects.update(dug_depth_m=1.2)
    root, scale = read(bore)
    [shaft] = of_class(root, "shaft")
    bottom = float(shaft.get("d").split("V")[1].split("H")[0])
    assert scale.elevation_m(bottom) == pytest.approx(-1.2, abs=0.02)
    [top] = of_class(root, "shaft-found")
    assert scale.elevation_m(float(top.get("y1"))) == pytest.approx(-0.9, abs=0.02)


def test_a_test_hole_that_found_nothing_is_marked_as_such_and_one_far_off_is_left_out(bore):
    TestHole.objects.all().delete()
    mark = bore.job.marks.get()
    TestHoleFactory(job=bore.job, mark=mark, ref="Near", found=False, depth_to_top_m=None, dug_depth_m=1.5)
    TestHoleFactory(job=bore.job, mark=mark, ref="Far", position=point(50, 4))
    svg = drawn(bore).svg
    root = picture(svg)
    assert len(of_class(root, "shaft-miss")) == 1
    assert "Test hole Near" in svg
    assert "Test hole Far" not in svg


def test_pits_stand_at_the_ends_as_deep_as_recorded_or_as_unknown(bore):
    bore.pits.filter(end="exit").update(depth_m=None, area=box(100, -1, 103, 1))
    root, scale = read(bore)
    entry, leaving = of_class(root, "pit")
    assert scale.station_m(float(entry.get("x"))) == pytest.approx(-2.0, abs=STATION_M)
    assert float(entry.get("height")) / scale.up == pytest.approx(1.0, abs=0.01)
    assert "is-unknown" in leaving.get("class")
    assert float(leaving.get("width")) / scale.across == pytest.approx(3.0, abs=0.05)


def test_the_minimum_cover_runs_under_the_ground_or_not_at_all(bore):
    root, scale = read(bore)
    [cover] = of_class(root, "cover")
    heights = [scale.elevation_m(y) for _, y in places(cover)]
    assert heights == pytest.approx([-0.9] * len(heights), abs=0.02)
    bore.minimum_cover_m = None
    bore.save()
    assert of_class(picture(drawn(bore).svg), "cover") == []


def test_with_no_elevation_recorded_the_axis_counts_depths(bore):
    bore.job.ground_points.all().delete()
    root = picture(drawn(bore).svg)
    assert "Depth, ft" in words(root)
    ticks = [float(one.text) for one in of_class(root, "tick") if "+" not in one.text]
    # The deepest shown is the band of the hole, 2.25 m or 7.4 ft under the ground.
    assert ticks == [8.0, 6.0, 4.0, 2.0, 0.0]


def test_axes_in_metric_units_are_metric(bore):
    bore.job.show_units = "metric"
    bore.job.save()
    shown = words(picture(drawn(bore).svg))
    assert {"Station, m", "Elevation, m", "Exit 0+100.0"} <= set(shown)


def test_each_line_is_a_link_with_a_name_to_its_row_in_the_list(bore):
    root = picture(drawn(bore).svg)
    [link] = root.iter("a")
    assert (link.get("href"), link.get("data-crossing")) == ("#crossing-1", "0")
    mark = bore.job.marks.get()
    assert link.get("aria-label").startswith(f"{mark.operator.name} {mark.ref}, gas/oil/steam, crossing at")
    assert "clear, worst case" in link.get("aria-label")


def test_many_lines_keep_labels_that_do_not_overlap(bore):
    operator = FacilityOperatorFactory(job=bore.job)
    for number in range(40):
        east_m = 20 + 1.3 * number
        MarkFactory(job=bore.job, operator=operator, geometry=line((east_m, -15), (east_m, 15)))
    root = picture(drawn(bore).svg)
    targets = [(float(one.get("x")), float(one.get("width"))) for one in of_class(root, "target")]
    assert len(targets) == 41
    for (left, wide), (following, _) in pairwise(targets):
        assert following >= left + wide
    # WCAG 2.2, 2.5.8: a target is 24 units or more.
    assert min(wide for _, wide in targets) >= 24.0


def test_what_people_write_is_words_in_the_picture_and_never_markup(bore):
    bore.job.marks.update(ref='<b>&"')
    svg = drawn(bore).svg
    assert "<b>" not in svg
    assert '<b>&"' in words(picture(svg))


def test_a_bore_with_no_line_has_a_profile_all_the_same(bore):
    bore.job.marks.all().delete()
    drawing = drawn(bore)
    assert list(picture(drawing.svg).iter("a")) == []
    assert not drawing.shows_unknown


def test_two_profiles_beside_each_other_have_one_scale_and_half_the_sheet_each(bore):
    one = compute_bores([bore.pk])[bore.pk]
    Bore.objects.update(profile_values_m=[2.0 * depth_m for depth_m in bore.profile_values_m])
    other = compute_bores([bore.pk])[bore.pk]
    spreads = [spread_of(each.scene, each.crossings) for each in (one, other)]
    assert spreads[0] != spreads[1]
    drawn = [
        draw_profile(each.scene, each.crossings, FACILITY_WORDS, beside=spread)
        for each, spread in zip((one, other), reversed(spreads), strict=True)
    ]
    assert drawn[0].axis_svg == drawn[1].axis_svg
    assert drawn[0].exaggeration == drawn[1].exaggeration
    alone = [draw_profile(each.scene, each.crossings, FACILITY_WORDS) for each in (one, other)]
    assert alone[0].axis_svg != alone[1].axis_svg
    widths = [float(picture(one.svg).get("width")) for one in (*drawn, *alone)]
    assert max(widths[:2]) <= 0.5 * max(widths[2:])


def test_stations_are_counted_from_where_the_entry_is_said_to_be(bore):
    moved = compute_bores([bore.pk])[bore.pk]
    svg = draw_profile(moved.scene, moved.crossings, FACILITY_WORDS, entry_m=-12.0).svg
    units = bore.job.show_units
    last_m = moved.scene.path.length_m - 12.0
    for named in (f"Entry {format_station(-12.0, units)}", f"Exit {format_station(last_m, units)}"):
        assert named in words(picture(svg))
    [found] = moved.crossings
    assert station_words(found.clearance.station_m - 12.0, units) in svg
    # Ticks stand at round stations as they are called: where the recorded entry lies, 0+00.
    [zero] = [one for one in of_class(picture(svg), "tick") if one.text == "0+00"]
    [begins] = [one for one in of_class(picture(svg), "note") if (one.text or "").startswith("Entry")]
    [ends] = [one for one in of_class(picture(svg), "note") if (one.text or "").startswith("Exit")]
    place = {name: float(one.get("x")) for name, one in (("0", zero), ("a", begins), ("b", ends))}
    part = 12.0 / moved.scene.path.length_m
    assert place["0"] == pytest.approx(place["a"] + part * (place["b"] - place["a"]), abs=0.2)
