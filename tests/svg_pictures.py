"""Reading the pictures that the program draws: elements by class, and the scale that their axes state."""

import re
from xml.etree import ElementTree

from locates.minus import plain_minus

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
METRES_PER_FOOT = 0.3048


def picture(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - a picture that the program itself drew


def of_class(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [one for one in root.iter() if name in one.get("class", "").split()]


def numbers(text: str) -> list[float]:
    return [float(one) for one in NUMBER.findall(text)]


def places(element: ElementTree.Element) -> list[tuple[float, float]]:
    """The points of a polyline or polygon."""
    flat = numbers(element.get("points"))
    return list(zip(flat[::2], flat[1::2], strict=True))


def words(root: ElementTree.Element) -> list[str]:
    return [one.text for one in root.iter("text")]


class AxisScale:
    """Metres from places, by two ticks of each axis of a profile in feet."""

    def __init__(self, root: ElementTree.Element) -> None:
        stations, heights = {}, {}
        for tick in of_class(root, "tick"):
            if "+" in tick.text:
                hundreds, feet = tick.text.split("+")
                stations[(int(hundreds) * 100 + float(feet)) * METRES_PER_FOOT] = float(tick.get("x"))
            else:
                # The words hang 4 below their tick.
                heights[float(plain_minus(tick.text)) * METRES_PER_FOOT] = float(tick.get("y")) - 4.0
        (s0, x0), *_, (s1, x1) = sorted(stations.items())
        (h0, y0), *_, (h1, y1) = sorted(heights.items())
        self.x0, self.s0, self.across = x0, s0, (x1 - x0) / (s1 - s0)
        self.y0, self.h0, self.up = y0, h0, (y0 - y1) / (h1 - h0)

    def station_m(self, x: float) -> float:
        return self.s0 + (x - self.x0) / self.across

    def elevation_m(self, y: float) -> float:
        return self.h0 + (self.y0 - y) / self.up
