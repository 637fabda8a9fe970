"""The plan of a bore among its lines as a picture to scale, north up, for a sheet of paper."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely

from conflicts.crossings import FoundCrossing
from conflicts.drawing.free_places import Placer
from conflicts.drawing.profile_lines import FacilityWords
from conflicts.drawing.profile_sheet import short_ref
from conflicts.drawing.scale import STATION_STEPS, UNIT_M, Scale, tick_label, tick_step_m, ticks_m
from conflicts.drawing.svg import Element, element, points
from conflicts.engine.frame import FloatArray
from conflicts.engine.verdict import Verdict
from conflicts.scene import Scene, SceneLine
from locates.units import format_station

# The drawing's paper, in its units: a landscape sheet, taller only where the bore runs north.
WIDTH_PX, MOST_HEIGHT_PX, LEAST_HEIGHT_PX = 940.0, 540.0, 300.0
BESIDE_M = 6.0
BALLOON_PX, LETTER_PX = 8.0, 14.0
BAR_SPACE_PX, FOOT_PX = 150.0, 40.0
TICK_PX = 5.0
# Where along what is seen of a line its letter goes, the first free place taken.
ALONG = (0.94, 0.06, 0.8, 0.2, 0.66, 0.34, 0.5)


@dataclass(frozen=True)
class PlanDrawing:
    """A plan as markup, and its words for who does not see it."""

    svg: str
    words: str


@dataclass(frozen=True, eq=False)
class _Sheet:
    """The plan's scale, its paper, and what is seen of the ground on it, in metres."""

    scale: Scale
    height_px: float
    seen_m: shapely.Polygon

    def px(self, points_m: FloatArray) -> list[tuple[float, float]]:
        return [(self.scale.x(east), self.scale.y(north)) for east, north in points_m[:, :2]]


def draw_plan(scene: Scene, crossings: list[FoundCrossing], words: FacilityWords) -> PlanDrawing:
    """Draw the plan of a bore: its alignment, the lines near it with their zones, holes and crossings.

    Parameters
    ----------
    scene : Scene
    crossings : list of FoundCrossing
        By station; the plan numbers them so, from 1.
    words : FacilityWords

    Returns
    -------
    PlanDrawing
        Distances at one scale in all directions, with a bar that states it, and an arrow to grid north of
        the ground frame, which is true north in the middle of the bore.
    """
    sheet = _sheet(scene)
    placer = Placer(WIDTH_PX, sheet.height_px)
    ends = _ends(sheet, scene, placer)
    numbers = _balloons(sheet, crossings, scene, placer)
    letters = [part for one in scene.lines for part in _letter(sheet, one, words, placer)]
    frame = {"x": 0.5, "y": 0.5, "width": WIDTH_PX - 1.0, "height": sheet.height_px - 1.0}
    drawn = element(
        "g",
        *_zones(sheet, scene),
        *(_area(sheet, scene.polygon_m(pit.rings), "pit-plan") for pit in scene.inputs.pits),
        *(part for one in scene.lines for part in _line(sheet, one)),
        *_bore(sheet, scene),
        *(part for one in scene.lines for part in _holes(sheet, scene, one)),
        clip_path="url(#plan-frame)",
    )
    described = _words(scene, crossings)
    svg = element(
        "svg",
        element("title", f"Plan of {scene.inputs.name}"),
        element("desc", described),
        element("clipPath", element("rect", **frame), id="plan-frame"),
        element("rect", class_="sheet-edge", **frame),
        drawn,
        *_stations(sheet, scene),
        *letters,
        *numbers,
        *ends,
        *_furniture(sheet, scene),
        class_="plan plot",
        width=WIDTH_PX,
        height=sheet.height_px + FOOT_PX,
        viewbox=f"0 0 {WIDTH_PX:.0f} {sheet.height_px + FOOT_PX:.1f}",
    )
    return PlanDrawing(svg.text(), described)


def _words(scene: Scene, crossings: list[FoundCrossing]) -> str:
    units = scene.inputs.job.show_units
    count = len(crossings)
    return (
        f"Plan of {scene.inputs.name}, north up, to scale, from the entry at station "
        f"{format_station(0.0, units)} to the exit at {format_station(scene.path.length_m, units)}, with "
        f"{len(scene.lines)} marked {'line' if len(scene.lines) == 1 else 'lines'} near it and "
        f"{count} {'crossing' if count == 1 else 'crossings'}, numbered as in the table of crossings."
    )


def _sheet(scene: Scene) -> _Sheet:
    shapes = [shapely.LineString(scene.plan_m), *(scene.polygon_m(pit.rings) for pit in scene.inputs.pits)]
    west, south, east, north = shapely.total_bounds(shapes)
    wide, tall = east - west + 2.0 * BESIDE_M, north - south + 2.0 * BESIDE_M
    px_per_m = min(WIDTH_PX / wide, MOST_HEIGHT_PX / tall)
    height = min(MOST_HEIGHT_PX, max(LEAST_HEIGHT_PX, tall * px_per_m))
    half_wide, half_tall = 0.5 * WIDTH_PX / px_per_m, 0.5 * height / px_per_m
    middle_east, middle_north = 0.5 * (west + east), 0.5 * (south + north)
    left, top = middle_east - half_wide, middle_north + half_tall
    seen = shapely.box(left, middle_north - half_tall, middle_east + half_wide, top)
    return _Sheet(Scale(0.0, 0.0, float(left), float(top), px_per_m, px_per_m), float(height), seen)


def _zones(sheet: _Sheet, scene: Scene) -> list[Element]:
    zone_m = scene.inputs.job.tolerance_zone_m
    return [
        _area(sheet, piece, f"zone paint-{one.mark.facility_type}")
        for one in scene.lines
        for piece in _polygons(
            shapely.buffer(_shape(one.line.points_m), zone_m + one.line.size.plan_radius_m), sheet
        )
    ]


def _polygons(shape: shapely.Geometry, sheet: _Sheet) -> Iterable[shapely.Polygon]:
    seen = shapely.intersection(shape, shapely.buffer(sheet.seen_m, 2.0))
    return [one for one in shapely.get_parts(seen) if one.geom_type == "Polygon" and not one.is_empty]


def _area(sheet: _Sheet, shape: shapely.Polygon, class_: str) -> Element:
    outline = sheet.px(shapely.get_coordinates(shape.exterior))
    return element("polygon", points=points(outline), class_=class_)


def _shape(points_m: FloatArray) -> shapely.Geometry:
    plan = points_m[:, :2]
    return shapely.Point(plan[0]) if len(plan) == 1 else shapely.LineString(plan)


def _line(sheet: _Sheet, one: SceneLine) -> list[Element]:
    """The line where its test holes found it, in its paint on an edge of ink."""
    place = sheet.px(one.line.points_m)
    paint = f"paint-{one.mark.facility_type}"
    if len(place) == 1:
        [(x, y)] = place
        return [element("circle", cx=x, cy=y, r=4.0, class_=f"painted-point {paint}")]
    drawn = points(place)
    return [
        element("polyline", points=drawn, class_="line-edge"),
        element("polyline", points=drawn, class_=f"line-paint {paint}"),
    ]


def _bore(sheet: _Sheet, scene: Scene) -> list[Element]:
    drawn = points(sheet.px(scene.plan_m))
    width = f"{max(2.0, 2.0 * scene.bore_radius_m * sheet.scale.across_px_per_m):.2f}"
    return [
        element("polyline", points=drawn, class_="bore-edge", stroke_width=f"{float(width) + 2.0:.2f}"),
        element("polyline", points=drawn, class_="bore-line", stroke_width=width),
    ]


def _stations(sheet: _Sheet, scene: Scene) -> list[Element]:
    """Ticks along the bore."""
    units = scene.inputs.job.show_units
    step = tick_step_m(sheet.scale.across_px_per_m, 60.0, STATION_STEPS[units], UNIT_M[units])
    parts = []
    for at in ticks_m(0.0, scene.path.length_m, step):
        (x, y), (across_x, across_y) = _at(sheet, scene, at)
        parts.append(
            element(
                "line",
                x1=x - TICK_PX * across_x,
                y1=y - TICK_PX * across_y,
                x2=x + TICK_PX * across_x,
                y2=y + TICK_PX * across_y,
                class_="axis",
            )
        )
    return parts


def _ends(sheet: _Sheet, scene: Scene, placer: Placer) -> list[Element]:
    """The entry and the exit, named."""
    parts = []
    for at, name in ((0.0, "Entry"), (scene.path.length_m, "Exit")):
        (x, y), _ = _at(sheet, scene, at)
        label = f"{name} {format_station(at, scene.inputs.job.show_units)}"
        wide = 7.0 * len(label)
        lefts = [x + 10.0, x - 10.0 - wide, x - 0.5 * wide]
        wanted = [(left + 7.0, y + down) for down in (22.0, -22.0, 40.0, -40.0) for left in lefts]
        left, middle = placer.first_free(wanted, wide, 14.0)
        parts.append(element("circle", cx=x, cy=y, r=4.0, class_="bore-end"))
        parts.append(element("text", label, x=left - 7.0, y=middle + 4.0, class_="end-name start"))
    return parts


def _at(sheet: _Sheet, scene: Scene, station_m: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where a station stands on the paper, and the direction across the bore there."""
    length = scene.path.length_m
    near = np.array([max(0.0, station_m - 0.5), min(length, station_m + 0.5)])
    ends = np.array([scene.path.at(one)[:2] for one in near])
    ahead = ends[1] - ends[0]
    ahead = ahead / np.linalg.norm(ahead)
    [place] = sheet.px(np.array([scene.path.at(station_m)[:2]]))
    # Down the paper is south.
    return place, (float(-ahead[1]), float(-ahead[0]))


def _holes(sheet: _Sheet, scene: Scene, one: SceneLine) -> list[Element]:
    parts = []
    for hole in one.mark.holes:
        [(x, y)] = sheet.px(scene.points_m((hole.position,)))
        if hole.found:
            parts.append(element("circle", cx=x, cy=y, r=3.2, class_="hole-found"))
        else:
            parts.append(
                element(
                    "path", d=f"M{x - 3:.1f} {y - 3:.1f}l6 6M{x + 3:.1f} {y - 3:.1f}l-6 6", class_="missed"
                )
            )
    return parts


def _balloons(sheet: _Sheet, crossings: list[FoundCrossing], scene: Scene, placer: Placer) -> list[Element]:
    """A numbered balloon for each crossing, joined to its place; filled where it is not clear."""
    parts: list[Element] = []
    for number, one in enumerate(crossings, 1):
        [(x, y)] = sheet.px(np.asarray(one.clearance.point_m).reshape(1, -1))
        _, across = _at(sheet, scene, one.clearance.station_m)
        at_x, at_y = placer.beside((x, y), across, BALLOON_PX, first_left=number % 2 == 0)
        state = "is-clear" if one.verdict is Verdict.CLEAR else "is-open"
        parts += [
            element("line", x1=x, y1=y, x2=at_x, y2=at_y, class_="leader"),
            element("circle", cx=x, cy=y, r=1.8, class_="crossing-point"),
            element("circle", cx=at_x, cy=at_y, r=BALLOON_PX, class_=f"balloon {state}"),
            element("text", str(number), x=at_x, y=at_y + 3.2, class_=f"number middle {state}"),
        ]
    return parts


def _letter(sheet: _Sheet, one: SceneLine, words: FacilityWords, placer: Placer) -> list[Element]:
    """The letter code of a line and its reference, on what is seen of it."""
    seen = shapely.intersection(_shape(one.line.points_m), shapely.buffer(sheet.seen_m, -1.0))
    if seen.is_empty:
        return []
    longest = max(shapely.get_parts(seen), key=lambda part: part.length)
    places = longest
    if longest.geom_type == "LineString":
        places = [shapely.line_interpolate_point(longest, share, normalized=True) for share in ALONG]
    wanted = sheet.px(shapely.get_coordinates(places))
    ref = short_ref(one.mark.ref)
    x, y = placer.first_free(wanted, LETTER_PX + 6.4 * len(ref) + 4.0, LETTER_PX)
    left, top = x - 0.5 * LETTER_PX, y - 0.5 * LETTER_PX
    return [
        element(
            "g",
            element("rect", x=left, y=top, width=LETTER_PX, height=LETTER_PX, class_="letter-box"),
            element("text", words.letters[one.mark.facility_type], x=x, y=y + 3.8, class_="letter middle"),
            element("text", ref, x=left + LETTER_PX + 3.0, y=y + 3.6, class_="line-ref start"),
            class_=f"paint-{one.mark.facility_type}",
        )
    ]


def _furniture(sheet: _Sheet, scene: Scene) -> list[Element]:
    """The bar that states the scale and the arrow to the north, below the plan."""
    units = scene.inputs.job.show_units
    unit, steps, px_per_m = UNIT_M[units], STATION_STEPS[units], sheet.scale.across_px_per_m
    fitting = [step for step in steps if step * unit * px_per_m <= BAR_SPACE_PX]
    long_m = (fitting[-1] if fitting else steps[0]) * unit
    half, left, top = 0.5 * long_m * px_per_m, 8.0, sheet.height_px + 26.0
    word = "ft" if units == "feet" else "m"
    label = f"{tick_label(long_m, long_m, unit)} {word}"
    north, north_top = WIDTH_PX - 40.0, sheet.height_px + 8.0
    return [
        element("rect", x=left, y=top, width=half, height=5.0, class_="bar-dark"),
        element("rect", x=left + half, y=top, width=half, height=5.0, class_="bar-light"),
        element("text", "0", x=left, y=top - 5.0, class_="tick middle"),
        element("text", label, x=left + 2.0 * half, y=top - 5.0, class_="tick middle"),
        element("path", d=f"M{north:.1f} {north_top:.1f}l7 24l-7 -6l-7 6z", class_="north"),
        element("text", "N", x=north + 16.0, y=north_top + 20.0, class_="north-name middle"),
    ]
