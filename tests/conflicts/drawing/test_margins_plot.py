"""The plot of margins over time: every mark at its moment and height, its kind and sign told by shape."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from conflicts.drawing.margins_plot import NARROW, WIDE, MarginPoint, draw_margins
from locates.minus import plain_minus
from tests.svg_pictures import METRES_PER_FOOT, numbers, of_class, picture

AT = datetime(2026, 4, 21, 14, 0, tzinfo=UTC)


def point(hours, margin_m, is_measured=False, name="Main run, G-1"):
    return MarginPoint(AT + timedelta(hours=hours), margin_m, is_measured, name, margin_m)


def margin_of(root, y):
    """Metres from a place down the picture, by two ticks of the axis."""
    heights = {
        float(plain_minus(one.text)) * METRES_PER_FOOT: float(one.get("y")) - 4.0
        for one in of_class(root, "tick")
        if "end" in one.get("class")
    }
    (m0, y0), *_, (m1, y1) = sorted(heights.items())
    return m0 + (y - y0) * (m1 - m0) / (y1 - y0)


def middle(mark):
    circle = mark.find("circle")
    if circle is not None:
        return float(circle.get("cx")), float(circle.get("cy"))
    x, y, r = numbers(mark.find("path").get("d"))[:3]
    return x, y + r


def test_every_margin_stands_at_its_height_and_in_order_of_time():
    points = [point(0, 0.4), point(2, 0.15, is_measured=True), point(5, -0.2)]
    root = picture(draw_margins(points, "feet", "UTC").svg)
    marks = sorted(map(middle, of_class(root, "margin")))
    assert [margin_of(root, y) for _, y in marks] == [
        pytest.approx(one.margin_m, abs=0.005) for one in points
    ]
    (x0, _), (x1, _), (x2, _) = marks
    assert (x1 - x0) / (x2 - x0) == pytest.approx(2 / 5, abs=0.001)


def test_kind_and_sign_are_told_by_shape():
    points = [
        point(0, 0.4),
        point(1, 0.4, is_measured=True),
        point(2, -0.1),
        point(3, -0.1, is_measured=True),
    ]
    root = picture(draw_margins(points, "metric", "UTC").svg)
    shapes = [
        (mark.find("circle") is not None, any("strike" in one.get("class", "") for one in mark))
        for mark in sorted(of_class(root, "margin"), key=lambda mark: middle(mark)[0])
    ]
    assert shapes == [(True, False), (False, False), (True, True), (False, True)]


def test_what_is_required_is_always_in_sight():
    root = picture(draw_margins([point(0, 3.0)], "metric", "UTC").svg)
    (line,) = of_class(root, "required")
    assert margin_of(root, float(line.get("y1"))) / METRES_PER_FOOT == pytest.approx(0.0, abs=0.01)


def test_the_words_count_what_is_drawn_and_name_the_least():
    points = [point(0, 0.4), point(2, -0.2, is_measured=True, name="Main run, <W-3>")]
    root = picture(draw_margins(points, "feet", "UTC").svg)
    words = root.find("desc").text
    assert "1 worst cases at the signing of releases and 1 gaps measured" in words
    assert "1 of them below what is required. The least is of Main run, <W-3>." in words


def ends_of(line):
    """Foot and head of a line up, down the picture."""
    _, y0, y1, *_ = numbers(line.get("d"))
    return y0, y1


def test_of_marks_of_a_kind_that_would_lie_on_each_other_the_least_is_drawn_with_a_line_to_the_greatest():
    points = [point(0, 0.1), point(0.01, 0.5), point(0, 0.9), point(0, 0.7, is_measured=True), point(9, 0.2)]
    drawing = draw_margins(points, "feet", "UTC")
    root = picture(drawing.svg)
    assert len(drawing.points) == 5
    heights = sorted(margin_of(root, middle(mark)[1]) for mark in of_class(root, "margin"))
    assert heights == [pytest.approx(one, abs=0.005) for one in (0.1, 0.2, 0.7)]
    (line,) = of_class(root, "spread")
    assert [margin_of(root, y) for y in ends_of(line)] == [
        pytest.approx(one, abs=0.005) for one in (0.1, 0.9)
    ]


def test_a_mark_that_stands_for_others_has_a_line_to_the_greatest_of_them():
    one = MarginPoint(AT, 0.1, False, "Main run, G-1", 1.4)
    root = picture(draw_margins([one], "metric", "UTC").svg)
    (line,) = of_class(root, "spread")
    top = margin_of(root, ends_of(line)[1]) / METRES_PER_FOOT
    assert top == pytest.approx(1.4, abs=0.01)


@pytest.mark.parametrize("paper", [WIDE, NARROW])
@pytest.mark.parametrize("days", [0.3, 3, 20, 60, 200, 400, 1500])
def test_words_along_the_foot_stand_apart_and_marks_within_the_picture_however_long_the_time(paper, days):
    points = [point(24 * days * place / 399, 0.1 + place % 7 / 10) for place in range(400)]
    root = picture(draw_margins(points, "feet", "UTC", paper).svg)
    floor = paper.floor_px
    placed = sorted(
        float(one.get("x")) for one in of_class(root, "tick") if float(one.get("y")) == floor + 19.0
    )
    # The longest, "12 am" and "Nov 30", are narrower at 12 px (0.75 rem).
    assert min(after - before for before, after in pairwise(placed)) > 44.0
    assert placed[0] >= 22.0
    assert placed[-1] <= paper.width_px - 22.0
    across = sorted(middle(mark)[0] for mark in of_class(root, "margin"))
    assert paper.left_px <= across[0]
    assert across[-1] <= paper.far_px
    assert len(across) <= (paper.far_px - paper.left_px) / 10.0 + 1


def test_two_pictures_on_a_page_have_ids_of_their_own():
    wide, narrow = (picture(draw_margins([point(0, 0.4)], "feet", "UTC", one).svg) for one in (WIDE, NARROW))
    ids = [[one.get("id") for one in root.iter() if one.get("id")] for root in (wide, narrow)]
    assert not set(ids[0]) & set(ids[1])
    for root, own in zip((wide, narrow), ids, strict=True):
        assert [root.get("aria-labelledby"), root.get("aria-describedby")] == own
