"""What was drilled, over the plan of a profile: its path in the band it may lie in, and abandoned legs."""

from collections.abc import Sequence

import numpy as np

from conflicts.drawing.profile_ground import placed
from conflicts.drawing.profile_sheet import Sheet
from conflicts.drawing.svg import Element, element, points
from conflicts.drilled import Drilled
from conflicts.drilled_beside import NamedPath
from locates.units import format_length, format_station

HEAD_PX = 5.0


def drilled_parts(sheet: Sheet, paths: Sequence[NamedPath]) -> list[Element]:
    """Paths that were drilled, abandoned legs with their names, then the one in the ground with its head."""
    return [_leg(sheet, path) if path.name else _in_ground(sheet, path.drilled) for path in paths]


def drilled_words(sheet: Sheet, paths: Sequence[NamedPath]) -> list[str]:
    """The same in sentences, for whoever does not see it."""
    found = []
    for path in paths:
        name, head = path.name, path.drilled.head
        end = f"to station {format_station(head.station_m, sheet.show_units)}, rod {head.rod.number}"
        found.append(f"{name} was drilled {end}, and pulled back." if name else f"Drilled {end}.")
    return found


def lowest_m(paths: Sequence[NamedPath]) -> list[float]:
    """Lowest elevation at which each path may lie."""
    return [
        min(float(joint.point_m[2] - joint.vertical_error_m) for joint in path.drilled.joints)
        for path in paths
    ]


def _in_ground(sheet: Sheet, drilled: Drilled) -> Element:
    errors = np.interp(
        drilled.path.stations_m,
        [0.0, *(joint.own_station_m for joint in drilled.joints)],
        [drilled.joints[0].vertical_error_m, *(joint.vertical_error_m for joint in drilled.joints)],
    )
    centre = _centre(drilled)
    up = np.column_stack([np.zeros_like(errors), errors])
    band = [*placed(sheet, centre + up), *reversed(placed(sheet, centre - up))]
    [(x, y)] = placed(sheet, centre[-1:])
    head = drilled.head
    words = (
        f"Drilled to station {format_station(head.station_m, sheet.show_units)}, "
        f"{format_length(head.depth_m, sheet.show_units)} deep, {head.rod.number} rods"
    )
    return element(
        "g",
        element("title", words),
        element("polygon", points=points(band), class_="drilled-band"),
        # Edged with paper, so that it stands off the plan's hole under it.
        element("polyline", points=points(placed(sheet, centre)), class_="drilled-edge"),
        element("polyline", points=points(placed(sheet, centre)), class_="drilled"),
        element("circle", cx=x, cy=y, r=HEAD_PX, class_="drilled-head"),
    )


def _leg(sheet: Sheet, path: NamedPath) -> Element:
    name, drilled = path.name, path.drilled
    centre = _centre(drilled)[drilled.path.stations_m >= path.begins_m]
    x, y = placed(sheet, centre[-1:])[0]
    return element(
        "g",
        element("title", f"{name}: pulled back, {drilled.head.rod.number} rods"),
        element("polyline", points=points(placed(sheet, centre)), class_="abandoned"),
        element(
            "path", d=f"M{x - 5:.1f} {y - 5:.1f}l10 10M{x + 5:.1f} {y - 5:.1f}l-10 10", class_="abandoned-end"
        ),
        element("text", name, x=x + 9, y=y + 4, class_="note start"),
    )


def _centre(drilled: Drilled) -> np.ndarray:
    return np.column_stack([drilled.stations_m, drilled.path.points_m[:, 2]])
