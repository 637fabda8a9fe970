"""The plot of margins over time: every mark at its moment and height, its kind and sign told by shape."""

from datetime import UTC, datetime, timedelta

import pytest

from conflicts.drawing.margins_plot import MarginPoint, draw_margins
from locates.minus import plain_minus
from tests.svg_pictures import METRES_PER_FOOT, numbers, of_class, picture

AT = datetime(2026, 4, 21, 14, 0, tzinfo=UTC)


def point(hours, margin_m, is_measured=False, name="Main run, G-1"):
    return MarginPoint(AT + timedelta(hours=hours), margin_m, is_measured, name)


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


def test_few_are_all_drawn_and_none_hides_another():
    points = [point(0, 0.1), point(0, 0.1), point(0, 0.7, is_measured=True)]
    drawing = draw_margins(points, "feet", "UTC")
    assert len(of_class(picture(drawing.svg), "margin")) == len(drawing.points) == 3
