"""The overview of a job's bores: to scale, each with its sign and words, nothing across another's words."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.drawing.route_plan import (
    LETTER_PX,
    LINE_PX,
    NARROW,
    NARROW_PX,
    WIDE,
    WIDTH_PX,
    PlanBore,
    PlanGap,
    draw_route,
)


def bore(name, *places_m, sign="stage-held", state="is-stop"):
    return PlanBore(name, "not released", sign, state, np.array(places_m, dtype=float), ())


def elements(svg, name):
    return list(ElementTree.fromstring(svg).iter(name))  # noqa: S314 - made here


def test_each_bore_has_its_shape_its_name_and_its_word():
    svg = draw_route(
        [
            bore("West", (0, 0), (90, 10)),
            bore("Eas<t", (95, 10), (190, 40), sign="sign-passes", state="is-free"),
        ],
        [PlanGap(np.array([(90.0, 10.0), (95.0, 10.0)]), "16 ft 5 in apart", is_joined=False)],
        "feet",
    )
    assert [one.get("href") for one in elements(svg, "use")] == ["#stage-held", "#sign-passes"]
    words = [one.text for one in elements(svg, "text")]
    assert words == [
        "West",
        "not released",
        "Eas<t",
        "not released",
        "16 ft 5 in apart",
        "100 ft, north is up",
    ]


def test_the_picture_says_in_words_how_each_bore_stands():
    svg = draw_route([bore("West", (0, 0), (90, 10)), bore("East", (95, 10), (190, 40))], [], "feet")
    root = ElementTree.fromstring(svg)  # noqa: S314 - made here
    assert root.get("aria-label") == "Bores in plan: West, not released; East, not released."


def test_the_bar_is_as_long_as_it_says():
    svg = draw_route([bore("A", (0, 0), (100, 0)), bore("B", (100, 0), (160, 30))], [], "metric")
    [label] = [one.text for one in elements(svg, "text") if "north" in one.text]
    metres = float(label.split()[0])
    [bar] = [one.get("d") for one in elements(svg, "path")]
    left, right = map(float, re.fullmatch(r"M([\d.]+) [\d.]+V[\d.]+H([\d.]+)V[\d.]+", bar).groups())
    line = next(one.get("points") for one in elements(svg, "polyline") if "route-line" in one.get("class"))
    first, last = [tuple(map(float, place.split(","))) for place in line.split()]
    assert (right - left) / metres == pytest.approx((last[0] - first[0]) / 100.0, rel=2e-3)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(*[st.floats(-3000, 3000).map(lambda one: round(one, 2))] * 4), min_size=1, max_size=8
    ).filter(lambda sticks: all(one[:2] != one[2:] for one in sticks))
)
def test_everything_drawn_lies_on_the_sheet(sticks):
    svg = draw_route([bore(f"B{at}", one[:2], one[2:]) for at, one in enumerate(sticks)], [], "feet")
    height = float(ElementTree.fromstring(svg).get("viewBox").split()[3])  # noqa: S314 - made here
    for line in elements(svg, "polyline"):
        for place in line.get("points").split():
            x, y = map(float, place.split(","))
            assert -0.1 <= x <= WIDTH_PX + 0.1
            assert -0.1 <= y <= height + 0.1


def label_boxes(svg, sheet):
    """Of each bore's label: left, top, right and bottom, by the sizes of its letters."""
    names = [one for one in elements(svg, "text") if one.get("class") == "route-name"]
    rows = 2 if sheet.has_words else 1
    found = []
    for name in names:
        x, y = float(name.get("x")), float(name.get("y"))
        wide = LETTER_PX * max(len(name.text), len("not released") if sheet.has_words else 0)
        found.append((x - 30.0, y - 13.0, x + wide, y + 4.0 + LINE_PX * (rows - 1)))
    return found


@pytest.mark.parametrize("sheet", [WIDE, NARROW])
@pytest.mark.parametrize("turned", range(0, 180, 15))
def test_a_label_lies_on_no_line_however_short_and_however_turned(sheet, turned):
    along = np.array([np.cos(np.radians(turned)), np.sin(np.radians(turned))])
    short = bore("Short", (0, 0), tuple(12.0 * along))
    long = bore("Long", tuple(12.0 * along), tuple(12.0 * along + [150.0, 40.0]))
    svg = draw_route([short, long], [], "feet", sheet)
    lines = [
        shapely.LineString([tuple(map(float, place.split(","))) for place in one.get("points").split()])
        for one in elements(svg, "polyline")
        if "route-line" in one.get("class")
    ]
    assert len(lines) == 2
    boxes = [shapely.box(*one) for one in label_boxes(svg, sheet)]
    assert not any(box.intersects(line) for box in boxes for line in lines)
    assert not boxes[0].intersects(boxes[1])
    assert all(box.bounds[0] >= 0.0 and box.bounds[2] <= sheet.width_px + 0.5 for box in boxes)


def test_on_a_phone_a_label_is_the_sign_and_the_name_and_the_picture_says_the_rest():
    svg = draw_route([bore("West", (0, 0), (90, 10)), bore("East", (95, 10), (190, 40))], [], "feet", NARROW)
    assert [one.text for one in elements(svg, "text")][:2] == ["West", "East"]
    assert len(elements(svg, "use")) == 2
    root = ElementTree.fromstring(svg)  # noqa: S314 - made here
    assert root.get("aria-label") == "Bores in plan: West, not released; East, not released."
    assert root.get("viewBox").split()[2] == f"{NARROW_PX:g}"
