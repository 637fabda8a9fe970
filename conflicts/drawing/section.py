"""The cross-section at a crossing as a picture to scale, with balloons for its key."""

import math
from dataclasses import dataclass

from conflicts.crossings import FoundCrossing
from conflicts.drawing.scale import HEIGHT_STEPS, UNIT_M, Scale, tick_label, tick_step_m, ticks_m
from conflicts.drawing.section_drilled import DrilledHole, drilled_hole, drilled_hole_parts, is_lengthwise
from conflicts.drawing.section_figures import Section, section_at
from conflicts.drawing.spread import spread
from conflicts.drawing.svg import Element, element
from conflicts.drilled import Drilled
from conflicts.drilled_beside import ON_PLAN_M
from conflicts.scene import Scene
from locates.units import format_length

# Units of the picture are those of a phone's page, on which it is as wide as the sheet.
WIDTH_PX, LEFT_PX, TOP_PX, FOOT_PX = 350.0, 44.0, 12.0, 52.0
PLOT_PX, MOST_HEIGHT_PX = 300.0, 380.0
MOST_PX_PER_M = 320.0
BALLOON_PX = 9.0
LEAST_HALF_WIDTH_M = 0.5


@dataclass(frozen=True)
class SectionDrawing:
    """A cross-section as markup, the plane in words, and the key of its balloons in order.

    ``shows_drilled`` where the drilled path goes through the plane.
    """

    svg: str
    plane_words: str
    station_m: float
    key: list[tuple[str, str]]
    shows_drilled: bool


@dataclass(frozen=True)
class _Callout:
    """A place of the picture and what the key says of it: a name, and a figure or nothing."""

    at_px: tuple[float, float]
    name: str
    figure: str


def draw_section(scene: Scene, found: FoundCrossing, drilled: Drilled | None = None) -> SectionDrawing:
    """Draw the cross-section of a crossing.

    Parameters
    ----------
    scene : Scene
    found : FoundCrossing
        One of the scene's.
    drilled : Drilled, optional
        What was drilled, to lie beside the planned hole where it has come to the plane.
    """
    section = section_at(scene, found)
    bored = None if drilled is None else drilled_hole(scene, section, drilled)
    units = scene.inputs.job.show_units
    scale, bottom = _scale(scene, section, bored)
    parts = [_earth(scale, section, bottom)]
    parts += [_test_hole(scale, section, across) for _, across in section.test_holes]
    parts.append(_hole_zone(scene, scale, section))
    parts += _line(scale, section) if section.depth_is_known else _unknown_line(scene, scale, section, bottom)
    parts.append(_hole(scale, section))
    if bored is not None:
        parts += drilled_hole_parts(scale, bored)
    parts += _way(scale, section)
    callouts = _callouts(scene, scale, section)
    if bored is not None:
        callouts.append(_drilled_callout(scene, scale, section, bored))
    height = bottom + FOOT_PX
    plot = element("rect", x=LEFT_PX, y=TOP_PX, width=PLOT_PX, height=bottom - TOP_PX)
    svg = element(
        "svg",
        element("title", f"Cross-section at {found.mark.ref}", id="section-title"),
        element("desc", _description(section, callouts), id="section-words"),
        element("clipPath", plot, id="section-plot"),
        element("g", *parts, clip_path="url(#section-plot)"),
        *_axes(scale, section, bottom, units),
        *_balloons(callouts, bottom),
        class_=f"drawing plot paint-{found.mark.facility_type}",
        role="img",
        aria_labelledby="section-title",
        aria_describedby="section-words",
        viewbox=f"0 0 {WIDTH_PX:.0f} {height:.0f}",
        width=WIDTH_PX,
        height=height,
    )
    key = [(one.name, one.figure) for one in callouts]
    return SectionDrawing(svg.text(), section.plane.words, section.station_m, key, bored is not None)


def _scale(scene: Scene, section: Section, bored: DrilledHole | None) -> tuple[Scale, float]:
    """One scale both ways for all that is shown, and the foot of the plot."""
    job, sizes = scene.inputs.job, section.found.clearance.sizes
    radius = sizes.bore_radius_m
    hole_up = radius + job.bore_vertical_m
    lows, highs = [section.hole_m[1] - hole_up], [section.hole_m[1] + hole_up, section.ground_m]
    if section.depth_is_known:
        away = sizes.line_radius_m + section.found.required_m
        lows.append(section.line_m[1] - away)
        highs.append(section.line_m[1] + away)
    else:
        away = sizes.line_plan_radius_m + job.tolerance_zone_m
    lefts = [-radius - job.bore_horizontal_m, section.line_m[0] - away, -LEAST_HALF_WIDTH_M]
    rights = [radius + job.bore_horizontal_m, section.line_m[0] + away, LEAST_HALF_WIDTH_M]
    if bored is not None:
        up_m, wide_m = radius + bored.vertical_m, radius + bored.horizontal_m
        lows.append(bored.elevation_m - up_m)
        highs.append(bored.elevation_m + up_m)
        lefts.append(bored.across_m - wide_m)
        rights.append(bored.across_m + wide_m)
    spare = 0.12 * (max(highs) - min(lows))
    low, high = min(lows) - spare, max(highs) + spare
    left, right = min(lefts) - spare, max(rights) + spare
    px_per_m = min(PLOT_PX / (right - left), MOST_HEIGHT_PX / (high - low), MOST_PX_PER_M)
    middle = 0.5 * (left + right)
    scale = Scale(LEFT_PX, TOP_PX, middle - 0.5 * PLOT_PX / px_per_m, high, px_per_m, px_per_m)
    return scale, scale.y(low)


def _earth(scale: Scale, section: Section, bottom: float) -> Element:
    y = scale.y(section.ground_m)
    return element(
        "g",
        element("rect", x=LEFT_PX, y=y, width=PLOT_PX, height=bottom - y, class_="earth"),
        element("line", x1=LEFT_PX, y1=y, x2=LEFT_PX + PLOT_PX, y2=y, class_="ground"),
    )


def _test_hole(scale: Scale, section: Section, across_m: float) -> Element:
    found_m = section.line_m[1] + section.found.clearance.sizes.line_half_height_m
    x, top, bottom = scale.x(across_m), scale.y(section.ground_m), scale.y(found_m)
    return element("path", d=f"M{x - 5:.1f} {top:.1f}V{bottom:.1f}H{x + 5:.1f}V{top:.1f}", class_="shaft")


def _hole(scale: Scale, section: Section) -> Element:
    radius = section.found.clearance.sizes.bore_radius_m
    return _ellipse(scale, section, section.hole_half_length_m, radius, "hole")


def _hole_zone(scene: Scene, scale: Scale, section: Section) -> Element:
    """Where the hole may lie: its outline moved by every error in plan and height."""
    radius, job = section.found.clearance.sizes.bore_radius_m, scene.inputs.job
    if is_lengthwise(scene, section):
        wide = radius + job.bore_vertical_m
        return _ellipse(scale, section, section.hole_half_length_m * wide / radius, wide, "hole-band")
    return _rounded(scale, section.hole_m, radius, job.bore_horizontal_m, job.bore_vertical_m, "hole-band")


def _ellipse(scale: Scale, section: Section, long_m: float, short_m: float, class_: str) -> Element:
    x, y = scale.x(section.hole_m[0]), scale.y(section.hole_m[1])
    turned = f"translate({x:.2f} {y:.2f}) rotate({-math.degrees(section.hole_tilt_rad):.2f})"
    long_px, short_px = long_m * scale.across_px_per_m, short_m * scale.up_px_per_m
    return element("ellipse", rx=f"{long_px:.2f}", ry=f"{short_px:.2f}", transform=turned, class_=class_)


def _rounded(
    scale: Scale,
    centre_m: tuple[float, float],
    radius_m: float,
    across_m: float,
    up_m: float,
    class_: str,
) -> Element:
    """A circle moved by up to so much across and up: a rectangle with its corners rounded."""
    half_x, half_y = (radius_m + across_m) * scale.across_px_per_m, (radius_m + up_m) * scale.up_px_per_m
    x, y = scale.x(centre_m[0]) - half_x, scale.y(centre_m[1]) - half_y
    corner = radius_m * scale.across_px_per_m
    return element("rect", x=x, y=y, width=2 * half_x, height=2 * half_y, rx=corner, ry=corner, class_=class_)


def _line(scale: Scale, section: Section) -> list[Element]:
    """The line, where it may lie, the required clearance round it, and the way from it to the hole."""
    clearance = section.found.clearance
    worst, sizes = clearance.worst, clearance.sizes
    if worst is None:
        return []
    x, y = scale.x(section.line_m[0]), scale.y(section.line_m[1])

    def circle(radius_m: float, class_: str) -> Element:
        return element(
            "circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius_m * scale.across_px_per_m:.2f}", class_=class_
        )

    radius = sizes.line_radius_m
    parts = [
        circle(radius + section.found.required_m, "ring"),
        _rounded(scale, section.line_m, radius, worst.line_horizontal_m, worst.line_vertical_m, "error"),
    ]
    if section.found.line.line.size.is_duct_bank:
        half_x = sizes.line_plan_radius_m * scale.across_px_per_m
        half_y = sizes.line_half_height_m * scale.up_px_per_m
        parts.append(circle(radius, "circumscribed"))
        parts.append(
            element("rect", x=x - half_x, y=y - half_y, width=2 * half_x, height=2 * half_y, class_="body")
        )
    else:
        parts.append(circle(radius, "body"))
    return parts


def _way(scale: Scale, section: Section) -> list[Element]:
    """The way from the line to the hole: what is left of it in the worst case, and what the errors take."""
    parts = []
    for name, (from_m, to_m) in _ways(section).items():
        (x1, y1), (x2, y2) = (_towards_hole(scale, section, away) for away in (from_m, to_m))
        parts += [element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=one) for one in ("way-halo", name)]
    return parts


def _ways(section: Section) -> dict[str, tuple[float, float]]:
    """Along the way from the line's centre to the hole's: what is left in the worst case, and the errors."""
    clearance = section.found.clearance
    worst, edge = clearance.worst, clearance.sizes.line_radius_m
    if worst is None:
        return {}
    reached = edge + worst.worst_case_m
    return {"left-over": (edge, reached), "lost": (reached, reached + worst.loss_m)}


def _towards_hole(scale: Scale, section: Section, away_m: float) -> tuple[float, float]:
    across, up = section.way_to_hole
    return scale.x(section.line_m[0] + away_m * across), scale.y(section.line_m[1] + away_m * up)


def _unknown_line(scene: Scene, scale: Scale, section: Section, bottom: float) -> list[Element]:
    """A line of unknown depth: where its paint and the zone round that are, all the way down."""
    half = section.found.clearance.sizes.line_plan_radius_m
    top, x = scale.y(section.ground_m), scale.x(section.line_m[0])
    parts = []
    for more, class_ in ((scene.inputs.job.tolerance_zone_m, "unknown-band"), (0.0, "unknown-body")):
        wide = (half + more) * scale.across_px_per_m
        parts.append(element("rect", x=x - wide, y=top, width=2 * wide, height=bottom - top, class_=class_))
    middle = 0.5 * (top + bottom)
    parts.append(element("text", "?", x=x, y=middle, class_="question middle"))
    parts.append(element("text", "depth unknown", x=x, y=middle + 18, class_="note middle"))
    return parts


def _callouts(scene: Scene, scale: Scale, section: Section) -> list[_Callout]:
    """What the key explains, each at a place of the picture."""
    found, units = section.found, scene.inputs.job.show_units
    clearance, worst = found.clearance, found.clearance.worst
    hole = format_length(2.0 * clearance.sizes.bore_radius_m, units)
    half = min(section.hole_half_length_m, 0.3 * PLOT_PX / scale.across_px_per_m)
    hole_at = (
        scale.x(half * math.cos(section.hole_tilt_rad)),
        scale.y(section.hole_m[1] + half * math.sin(section.hole_tilt_rad)),
    )
    callouts = [_Callout(hole_at, "finished hole", f"{hole} wide")]
    size = found.line.line.size
    wide = format_length(size.width_m, units)
    line = f"{wide} wide, {format_length(size.height_m, units)} high" if size.is_duct_bank else f"{wide} wide"
    if size.is_assumed:
        line = f"{line}, assumed"
    if worst is None:
        middle = 0.5 * (section.ground_m + section.hole_m[1])
        place = scale.x(section.line_m[0] + clearance.sizes.line_plan_radius_m), scale.y(middle)
        return [*callouts, _Callout(place, f"{found.mark.ref}, depth unknown", line)]
    line_at = scale.x(section.line_m[0] + clearance.sizes.line_plan_radius_m), scale.y(section.line_m[1])
    callouts.append(_Callout(line_at, found.mark.ref, line))
    ring = clearance.sizes.line_radius_m + found.required_m
    tilt = math.radians(50.0 if section.way_to_hole[1] < 0.0 else -50.0)
    ring_at = (
        scale.x(section.line_m[0] + ring * math.cos(tilt)),
        scale.y(section.line_m[1] + ring * math.sin(tilt)),
    )
    required = format_length(found.required_m, units, "up")
    callouts.append(_Callout(ring_at, "required clearance", f"{required} from the edge of the line"))
    ways = {name: 0.5 * (low + high) for name, (low, high) in _ways(section).items()}
    left = format_length(worst.worst_case_m, units, "down")
    lost = format_length(worst.loss_m, units, "up")
    callouts.append(
        _Callout(_towards_hole(scale, section, ways["left-over"]), "left in the worst case", left)
    )
    callouts.append(_Callout(_towards_hole(scale, section, ways["lost"]), "taken by the errors", lost))
    return callouts


def _drilled_callout(scene: Scene, scale: Scale, section: Section, bored: DrilledHole) -> _Callout:
    """Where the drilled hole lies beside the planned one."""
    units = scene.inputs.job.show_units
    aside = (bored.aside_m, "right of the plan", "left of the plan")
    if bored.along_m is None:
        right, left = section.plane.right_words, section.plane.left_words
        aside = (bored.across_m, right.replace("the bore", "the plan"), left.replace("the bore", "the plan"))
    words = ", ".join(
        f"{format_length(abs(off_m), units)} {more if off_m > 0.0 else less}"
        for off_m, more, less in ((section.hole_m[1] - bored.elevation_m, "deeper", "shallower"), aside)
        if abs(off_m) >= ON_PLAN_M
    )
    at = scale.x(bored.across_m), scale.y(bored.elevation_m)
    return _Callout(at, "as drilled", words or "on plan")


def _balloons(callouts: list[_Callout], bottom: float) -> list[Element]:
    """A number for every entry of the key, in a column on the right, with a line to its place."""
    order = sorted(range(len(callouts)), key=lambda index: callouts[index].at_px[1])
    wanted = [callouts[index].at_px[1] for index in order]
    places = spread(wanted, [2.0 * BALLOON_PX + 4.0] * len(order), TOP_PX, bottom)
    column = LEFT_PX + PLOT_PX - BALLOON_PX - 3.0
    parts = []
    for index, y in zip(order, places, strict=True):
        x, at = callouts[index].at_px
        parts.append(element("line", x1=min(x, column), y1=at, x2=column, y2=y, class_="leader"))
        parts.append(element("circle", cx=column, cy=y, r=BALLOON_PX, class_="balloon"))
        parts.append(element("text", str(index + 1), x=column, y=y + 4.0, class_="balloon-number middle"))
    return parts


def _axes(scale: Scale, section: Section, bottom: float, units: str) -> list[Element]:
    """Depths under the ground here, both ways in words, and a bar to measure with."""
    unit = UNIT_M[units]
    word = "ft" if units == "feet" else "m"
    step = tick_step_m(scale.up_px_per_m, 24.0, HEIGHT_STEPS[units], unit)
    low = section.ground_m - scale.top_m
    deep = low + (bottom - TOP_PX) / scale.up_px_per_m
    parts = [element("line", x1=LEFT_PX, y1=TOP_PX, x2=LEFT_PX, y2=bottom, class_="axis")]
    for at in ticks_m(max(0.0, low), deep, step):
        y = scale.y(section.ground_m - at)
        parts.append(element("line", x1=LEFT_PX - 5, y1=y, x2=LEFT_PX, y2=y, class_="axis"))
        parts.append(element("text", tick_label(at, step, unit), x=LEFT_PX - 8, y=y + 4, class_="tick end"))
    turned = f"translate(11 {0.5 * (TOP_PX + bottom):.0f}) rotate(-90)"
    parts.append(element("text", f"Depth, {word}", transform=turned, class_="note middle"))
    right = LEFT_PX + PLOT_PX
    parts.append(element("line", x1=LEFT_PX, y1=bottom, x2=right, y2=bottom, class_="axis"))
    parts.append(element("text", section.plane.left_words, x=LEFT_PX, y=bottom + 18, class_="note start"))
    parts.append(element("text", section.plane.right_words, x=right, y=bottom + 18, class_="note end"))
    bar = tick_step_m(scale.across_px_per_m, 30.0, HEIGHT_STEPS[units], unit)
    wide = bar * scale.across_px_per_m
    start = 0.5 * (LEFT_PX + right - wide)
    y = bottom + 36
    parts.append(element("path", d=f"M{start:.1f} {y - 4:.1f}v8m0 -4h{wide:.1f}m0 -4v8", class_="scale-bar"))
    parts.append(
        element(
            "text", f"{tick_label(bar, bar, unit)} {word}", x=start + wide + 8, y=y + 4, class_="tick start"
        )
    )
    return parts


def _description(section: Section, callouts: list[_Callout]) -> str:
    key = "; ".join(f"{one.name}: {one.figure}" for one in callouts)
    return f"{section.plane.words}. To scale, heights as lengths. {key}."
