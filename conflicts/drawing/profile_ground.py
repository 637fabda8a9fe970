"""The ground of a profile and what is in it of ours: minimum cover, pits, test holes, the finished hole."""

import numpy as np

from conflicts.drawing.profile_figures import ProfileFigures, ShownHole, ShownPit
from conflicts.drawing.profile_sheet import Sheet
from conflicts.drawing.svg import Element, element, points
from conflicts.engine.frame import FloatArray
from locates.units import format_length

HALF_SHAFT_PX = 4.0


def placed(sheet: Sheet, places_m: FloatArray) -> list[tuple[float, float]]:
    """Stations and elevations as places of the picture."""
    return [(sheet.scale.x(station), sheet.scale.y(elevation)) for station, elevation in places_m]


def ground_parts(sheet: Sheet, figures: ProfileFigures) -> list[Element]:
    """The earth, the ground over it, the minimum cover, pits and test holes, from back to front."""
    surface = placed(sheet, figures.ground_m)
    earth = [*surface, (surface[-1][0], sheet.bottom_px), (surface[0][0], sheet.bottom_px)]
    parts = [element("polygon", points=points(earth), class_="earth")]
    if figures.cover_m is not None:
        parts.append(element("polyline", points=points(placed(sheet, figures.cover_m)), class_="cover"))
    parts += [_pit(sheet, pit) for pit in figures.pits]
    parts += [_test_hole(sheet, hole) for hole in figures.holes]
    parts.append(element("polyline", points=points(surface), class_="ground"))
    return parts


def hole_parts(sheet: Sheet, figures: ProfileFigures) -> list[Element]:
    """The finished hole at its true diameter, in the band that it may lie in."""
    up = np.array([0.0, figures.hole_error_m])
    band = [
        *placed(sheet, figures.hole_top_m + up),
        *reversed(placed(sheet, figures.hole_bottom_m - up)),
    ]
    hole = [*placed(sheet, figures.hole_top_m), *reversed(placed(sheet, figures.hole_bottom_m))]
    return [
        element("polygon", points=points(band), class_="hole-band"),
        element("polygon", points=points(hole), class_="hole"),
    ]


def _pit(sheet: Sheet, pit: ShownPit) -> Element:
    scale = sheet.scale
    left, right, top = scale.x(pit.from_m), scale.x(pit.to_m), scale.y(pit.ground_m)
    bottom = sheet.bottom_px if pit.bottom_m is None else scale.y(pit.bottom_m)
    box = element(
        "rect",
        x=left,
        y=top,
        width=right - left,
        height=max(0.0, bottom - top),
        class_="pit" if pit.bottom_m is not None else "pit is-unknown",
    )
    if pit.bottom_m is not None:
        depth = format_length(pit.ground_m - pit.bottom_m, sheet.show_units)
        return element("g", element("title", f"{pit.end.capitalize()} pit, {depth} deep"), box)
    mark = element("text", "?", x=0.5 * (left + right), y=0.5 * (top + bottom), class_="note middle")
    return element("g", element("title", f"{pit.end.capitalize()} pit, depth unknown"), box, mark)


def _test_hole(sheet: Sheet, shown: ShownHole) -> Element:
    scale, units = sheet.scale, sheet.show_units
    x, top, bottom = scale.x(shown.station_m), scale.y(shown.ground_m), scale.y(shown.bottom_m)
    left, right = x - HALF_SHAFT_PX, x + HALF_SHAFT_PX
    away = format_length(shown.away_m, units)
    line = shown.mark_ref or "a line that nobody marked"
    shaft = element("path", d=f"M{left:.1f} {top:.1f}V{bottom:.1f}H{right:.1f}V{top:.1f}", class_="shaft")
    if shown.top_m is None:
        words = f"Test hole {shown.hole.ref}: {line} not found, {away} from the bore"
        miss = f"M{left:.1f} {bottom - 8:.1f}l8 8M{right:.1f} {bottom - 8:.1f}l-8 8"
        found = element("path", d=miss, class_="shaft-miss")
    else:
        depth = format_length(shown.ground_m - shown.top_m, units)
        words = f"Test hole {shown.hole.ref}: top of {line} {depth} deep, {away} from the bore"
        y = scale.y(shown.top_m)
        found = element("line", x1=left - 3, y1=y, x2=right + 3, y2=y, class_="shaft-found")
    return element("g", element("title", words), shaft, found)
