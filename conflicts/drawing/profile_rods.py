"""The rods of a profile: a tick at each joint of the hole, and pitch and change of pitch in a strip below."""

import numpy as np

from conflicts.drawing.profile_sheet import LEFT_PX, Sheet
from conflicts.drawing.svg import Element, element
from conflicts.engine.profile_arcs import RodProfile
from conflicts.scene import Scene
from locates.units import format_grade

ROW_PX, HEAD_PX = 46.0, 20.0
ROD_STRIP_PX = HEAD_PX + 2.0 * ROW_PX
# Figures that stand upright, and numbers that lie, no closer than this.
STANDING_PX, LYING_PX = 14.0, 24.0
TICK_PX = 7.0


def rods_of(scene: Scene) -> RodProfile | None:
    """The rods of a bore in the plane of its alignment; None where it has none or they have headings."""
    rods = scene.rods
    if rods is None or not np.isnan(rods.headings_rad).all():
        return None
    return RodProfile(0.0, rods.entry_elevation_m, rods.lengths_m[1:], np.arctan(rods.pitches_ratio))


def joint_marks(sheet: Sheet, rods: RodProfile) -> list[Element]:
    """A tick across the hole at each joint."""
    stations, elevations = rods.joints_m()
    return [
        element(
            "path",
            d=f"M{sheet.scale.x(at):.1f} {sheet.scale.y(up) - TICK_PX:.1f}v{2 * TICK_PX:.0f}",
            class_="joint",
        )
        for at, up in zip(stations, elevations, strict=True)
    ]


def rod_strip(sheet: Sheet, rods: RodProfile) -> list[Element]:
    """Number of each rod at its far end, the pitch there and its change, as many as find room."""
    stations, _ = rods.joints_m()
    pitches = np.tan(rods.angles_rad)
    places = [sheet.scale.x(float(one)) for one in stations]
    top = sheet.height_px
    heads = ("Rod", "Pitch %", "Change %")
    ends = (top + HEAD_PX - 6.0, top + HEAD_PX + ROW_PX - 4.0, top + HEAD_PX + 2.0 * ROW_PX - 4.0)
    parts: list[Element | str] = [
        element("text", words, x=LEFT_PX - 10.0, y=end, class_="tick end")
        for words, end in zip(heads, ends, strict=True)
    ]
    figures = _with_room(places, STANDING_PX)
    for number in _with_room(places, LYING_PX) - {0}:
        parts.append(element("text", str(number), x=places[number], y=ends[0], class_="tick middle"))
    for number in sorted(figures):
        pitch = float(pitches[number])
        parts.append(_standing(_figure(pitch), places[number], ends[1]))
        if number:
            parts.append(_standing(_figure(pitch - float(pitches[number - 1])), places[number], ends[2]))
    return [element("g", *parts, aria_hidden="true")]


def _with_room(places: list[float], apart_px: float) -> set[int]:
    """The joints whose figures find room beside that of the one before."""
    found, last = set(), -np.inf
    for number, place in enumerate(places):
        if place - last >= apart_px:
            found.add(number)
            last = place
    return found


def _standing(words: str, x: float, y: float) -> Element:
    return element(
        "text", words, transform=f"translate({x + 4.0:.1f} {y:.1f}) rotate(-90)", class_="tick start"
    )


def _figure(ratio: float) -> str:
    return format_grade(ratio).removesuffix("%").strip()
