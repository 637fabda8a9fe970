"""The cross-section at a crossing: one scale both ways, the hole, the line and the way between them on it.

A unit of the picture is 3 to 20 mm here, and shapes are placed to a hundredth of it, lines to a tenth.
"""

import math

import pytest

from conflicts.assess import compute_bores
from conflicts.drawing.section import draw_section
from locates.models import Mark, TestHole
from tests.factories import MarkFactory, TestHoleFactory, line, point, small_job
from tests.svg_pictures import METRES_PER_FOOT, numbers, of_class, picture, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return small_job().bores.get()


class Read:
    """A section's picture with its scale, from the ticks of depth."""

    def __init__(self, bore, sequence=0):
        computed = compute_bores([bore.pk])[bore.pk]
        self.found = computed.crossings[sequence]
        self.drawing = draw_section(computed.scene, self.found)
        self.root = picture(self.drawing.svg)
        ticks = {
            float(tick.text): float(tick.get("y")) - 4.0
            for tick in of_class(self.root, "tick")
            if "ft" not in tick.text
        }
        (d0, self.y0), *_, (d1, y1) = sorted(ticks.items())
        self.d0 = d0 * METRES_PER_FOOT
        self.per_m = (y1 - self.y0) / ((d1 - d0) * METRES_PER_FOOT)

    def one(self, name):
        [element] = of_class(self.root, name)
        return element

    def depth_m(self, y):
        return self.d0 + (y - self.y0) / self.per_m

    def length_m(self, name):
        way = self.one(name)
        ends = [float(way.get(key)) for key in ("x1", "y1", "x2", "y2")]
        return math.hypot(ends[2] - ends[0], ends[3] - ends[1]) / self.per_m


def test_a_line_is_a_circle_of_its_size_at_its_depth_in_a_ring_of_the_required_clearance(bore):
    read = Read(bore)
    body, ring = read.one("body"), read.one("ring")
    assert body.tag == "circle"
    assert float(body.get("r")) / read.per_m == pytest.approx(0.05, abs=0.001)
    assert read.depth_m(float(body.get("cy"))) == pytest.approx(0.95, abs=0.005)
    assert float(ring.get("r")) / read.per_m == pytest.approx(0.05 + 0.305, abs=0.002)
    assert (ring.get("cx"), ring.get("cy")) == (body.get("cx"), body.get("cy"))


def test_the_way_to_the_hole_is_what_is_left_and_what_the_errors_take(bore):
    read = Read(bore)
    worst = read.found.clearance.worst
    assert read.length_m("left-over") == pytest.approx(worst.worst_case_m, abs=0.005)
    assert read.length_m("lost") == pytest.approx(worst.loss_m, abs=0.005)


def test_the_hole_crossed_squarely_is_cut_lengthwise_at_its_diameter_and_depth(bore):
    read = Read(bore)
    hole, band = read.one("hole"), read.one("hole-band")
    assert float(hole.get("ry")) / read.per_m == pytest.approx(0.1, abs=0.001)
    assert float(hole.get("rx")) > 1000.0
    assert float(band.get("ry")) / read.per_m == pytest.approx(0.1 + 0.15, abs=0.001)
    assert read.depth_m(numbers(hole.get("transform"))[1]) == pytest.approx(2.0, abs=0.005)
    assert "seen from the right of the bore" in read.drawing.plane_words
    assert {"to the entry", "to the exit"} <= set(words(read.root))


def test_a_line_to_the_right_alongside_stands_right_of_a_round_hole(bore):
    bore.job.marks.all().delete()
    mark = MarkFactory(job=bore.job, stated_width_m=0.2, geometry=line((10, -0.5), (90, -0.5)))
    for east_m in (20, 50, 80):
        TestHoleFactory(job=bore.job, mark=mark, position=point(east_m, -0.5), depth_to_top_m=1.9)
    read = Read(bore)
    hole, body = read.one("hole"), read.one("body")
    x, y = numbers(hole.get("transform"))[:2]
    assert float(hole.get("rx")) == pytest.approx(float(hole.get("ry")), rel=0.02)
    assert (float(body.get("cx")) - x) / read.per_m == pytest.approx(0.5, abs=0.01)
    worst = read.found.clearance.worst
    lower_m = worst.bore_point_m[2] - worst.line_point_m[2]
    assert (float(body.get("cy")) - y) / read.per_m == pytest.approx(lower_m, abs=0.01)
    assert "facing the exit" in read.drawing.plane_words
    assert {"left of the bore", "right of the bore"} <= set(words(read.root))


def test_the_hole_may_be_off_by_every_error_of_the_bore(bore):
    bore.job.marks.all().delete()
    mark = MarkFactory(job=bore.job, stated_width_m=0.2, geometry=line((10, 0.5), (90, 0.5)))
    TestHoleFactory(job=bore.job, mark=mark, position=point(50, 0.5), depth_to_top_m=1.9)
    band = Read(bore).one("hole-band")
    read = Read(bore)
    assert float(band.get("width")) / read.per_m == pytest.approx(2 * (0.1 + 0.30), abs=0.01)
    assert float(band.get("height")) / read.per_m == pytest.approx(2 * (0.1 + 0.15), abs=0.01)


def test_an_overlap_reaches_back_into_the_line(bore):
    TestHole.objects.update(depth_to_top_m=1.95)
    read = Read(bore)
    left, lost = read.one("left-over"), read.one("lost")
    assert read.found.clearance.worst_case_m < 0.0
    assert (left.get("x2"), left.get("y2")) == (lost.get("x1"), lost.get("y1"))
    assert read.length_m("left-over") == pytest.approx(-read.found.clearance.worst_case_m, abs=0.005)
    assert {"left in the worst case", "taken by the errors"} <= {name for name, _ in read.drawing.key}


def test_a_duct_bank_shows_its_box_and_the_circle_that_counts(bore):
    TestHole.objects.update(outside_width_m=0.6, outside_height_m=0.4)
    read = Read(bore)
    body, circle = read.one("body"), read.one("circumscribed")
    assert float(body.get("width")) / read.per_m == pytest.approx(0.6, abs=0.01)
    assert float(body.get("height")) / read.per_m == pytest.approx(0.4, abs=0.01)
    assert float(circle.get("r")) / read.per_m == pytest.approx(math.hypot(0.3, 0.2), abs=0.01)


def test_a_line_of_unknown_depth_is_a_band_with_words_and_no_circle(bore):
    TestHole.objects.all().delete()
    read = Read(bore)
    body, zone = read.one("unknown-body"), read.one("unknown-band")
    assert float(body.get("width")) / read.per_m == pytest.approx(0.1, abs=0.005)
    assert float(zone.get("width")) / read.per_m == pytest.approx(0.1 + 2 * 0.6096, abs=0.01)
    assert {"?", "depth unknown"} <= set(words(read.root))
    assert of_class(read.root, "ring") == of_class(read.root, "left-over") == []
    assert [name for name, _ in read.drawing.key][1].endswith("depth unknown")


def test_a_single_painted_point_has_a_section_too(bore):
    Mark.objects.update(geometry=point(50, 0.2))
    read = Read(bore)
    assert read.one("body").tag == "circle"
    TestHole.objects.all().delete()
    assert "depth unknown" in words(Read(bore).root)


def test_every_entry_of_the_key_has_its_balloon(bore):
    read = Read(bore)
    shown = [one.text for one in of_class(read.root, "balloon-number")]
    assert sorted(shown) == [str(number + 1) for number in range(len(read.drawing.key))]
    assert len(shown) == 5


def test_the_picture_is_described_in_words_for_who_does_not_see_it(bore):
    read = Read(bore)
    assert read.root.get("role") == "img"
    assert read.root.find("title").text.endswith(read.found.mark.ref)
    for name, figure in read.drawing.key:
        assert f"{name}: {figure}" in read.root.find("desc").text
