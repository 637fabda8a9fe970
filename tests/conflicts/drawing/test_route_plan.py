"""The overview of a job's bores: to scale, each with its sign and words, nothing across another's words."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.drawing.route_plan import WIDTH_PX, PlanBore, PlanGap, draw_route


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
