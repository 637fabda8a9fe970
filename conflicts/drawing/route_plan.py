"""The bores of a job in plan, north up, each with how it stands by a shape and a word, and nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from conflicts.drawing.free_places import Placer
from conflicts.drawing.scale import UNIT_M, tick_label
from conflicts.drawing.svg import Element, element, points
from conflicts.engine.frame import FloatArray

WIDTH_PX = 960.0
MARGIN_PX = 60.0
LEAST_HEIGHT_PX, MOST_HEIGHT_PX = 200.0, 560.0
SIGN_PX = 24.0
LETTER_PX = 8.6
LINE_PX = 18.0
AWAY_PX = (30.0, 48.0, 66.0, 90.0)
SCALE_STEPS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)


@dataclass(frozen=True, eq=False)
class PlanBore:
    """A bore as it is drawn; ``sign`` names a shape of the page, ``state`` the class of its colour."""

    name: str
    words: str
    sign: str
    state: str
    plan_m: FloatArray
    pits: tuple[shapely.Polygon, ...]


@dataclass(frozen=True, eq=False)
class PlanGap:
    """A stretch that no bore fills; ``is_joined`` where the route goes across it all the same."""

    ends_m: FloatArray
    words: str
    is_joined: bool


def draw_route(bores: Sequence[PlanBore], gaps: Sequence[PlanGap], show_units: str) -> str:
    """Draw the bores of a job.

    Parameters
    ----------
    bores : sequence of PlanBore
        At least one, in one frame of metres.
    gaps : sequence of PlanGap
    show_units : {"feet", "metric"}

    Returns
    -------
    str
        An SVG element, to a scale that is drawn in it. Shapes stand in the page that shows it.
    """
    low_m, high_m = _box_m(bores)
    span_m = np.maximum(high_m - low_m, 1.0)
    room = (WIDTH_PX - 2 * MARGIN_PX, MOST_HEIGHT_PX - 2 * MARGIN_PX)
    px_per_m = float(min(room[0] / span_m[0], room[1] / span_m[1]))
    height = max(LEAST_HEIGHT_PX, px_per_m * float(span_m[1]) + 2 * MARGIN_PX)
    middle_m = 0.5 * (low_m + high_m)

    def to_px(points_m: FloatArray) -> list[tuple[float, float]]:
        away = (points_m - middle_m) * px_per_m
        return [(0.5 * WIDTH_PX + east, 0.5 * height - north) for east, north in away.tolist()]

    placer = Placer(WIDTH_PX, height)
    placer.take(0.0, height - 30.0, 260.0, height)
    lines = [to_px(bore.plan_m) for bore in bores]
    for line in lines:
        _take_line(placer, line)
    parts = [
        element("polygon", points=points(to_px(np.array(pit.exterior.coords))), class_="route-pit")
        for bore in bores
        for pit in bore.pits
    ]
    parts += [
        element(
            "polyline",
            points=points(to_px(gap.ends_m)),
            class_="route-joined" if gap.is_joined else "route-open",
        )
        for gap in gaps
    ]
    parts += [element("polyline", points=points(line), class_="route-casing") for line in lines]
    parts += [
        element("polyline", points=points(line), class_=f"route-line {bore.state}".rstrip())
        for bore, line in zip(bores, lines, strict=True)
    ]
    for bore, line in zip(bores, lines, strict=True):
        parts += _state(bore, line, placer)
    parts += [part for gap in gaps for part in _gap(gap, to_px(gap.ends_m), placer)]
    parts += _scale(px_per_m, height, show_units)
    return element(
        "svg",
        *parts,
        viewbox=f"0 0 {WIDTH_PX:g} {height:.1f}",
        class_="route-drawing",
        role="img",
        aria_label=_words(bores),
    ).text()


def _words(bores: Sequence[PlanBore]) -> str:
    """What the picture shows, for whoever does not see it."""
    return f"Bores in plan: {'; '.join(f'{bore.name}, {bore.words}' for bore in bores)}."


def _box_m(bores: Sequence[PlanBore]) -> tuple[FloatArray, FloatArray]:
    every = np.concatenate([bore.plan_m for bore in bores])
    return every.min(axis=0), every.max(axis=0)


def _take_line(placer: Placer, line: list[tuple[float, float]]) -> None:
    """Keep labels off a line, in boxes as wide as a sign."""
    drawn = shapely.LineString(line if len(set(line)) > 1 else [line[0], (line[0][0] + 1.0, line[0][1])])
    for at in np.arange(0.0, drawn.length, 10.0).tolist():
        place = drawn.interpolate(at)
        placer.take(place.x - 6.0, place.y - 6.0, place.x + 6.0, place.y + 6.0)


def _state(bore: PlanBore, line: list[tuple[float, float]], placer: Placer) -> list[Element]:
    """The sign of a bore beside its middle, its name and the word, with a line that leads there."""
    drawn = shapely.LineString(line if len(set(line)) > 1 else [line[0], (line[0][0] + 1.0, line[0][1])])
    place = drawn.interpolate(0.5, normalized=True)
    wide = SIGN_PX + 8.0 + LETTER_PX * max(len(bore.name), len(bore.words))
    tall = 2.0 * LINE_PX
    wanted = [
        (left + 0.5 * tall, place.y + away)
        for distance in AWAY_PX
        for away in (-distance, distance)
        for left in (place.x - 0.5 * wide, place.x + 14.0, place.x - 14.0 - wide)
    ]
    x, y = placer.first_free(wanted, wide, tall)
    left = x - 0.5 * tall
    text = left + SIGN_PX + 6.0
    return [
        element(
            "line",
            x1=place.x,
            y1=place.y,
            x2=min(max(place.x, left), left + wide),
            y2=min(max(place.y, y - 0.5 * tall), y + 0.5 * tall),
            class_="route-leader",
        ),
        element("circle", cx=left + 0.5 * SIGN_PX, cy=y, r=0.5 * SIGN_PX + 2.0, class_="route-ground"),
        element(
            "use",
            href=f"#{bore.sign}",
            x=left,
            y=y - 0.5 * SIGN_PX,
            width=SIGN_PX,
            height=SIGN_PX,
            class_=bore.state,
        ),
        element("text", bore.name, x=text, y=y - 3.0, class_="route-name"),
        element("text", bore.words, x=text, y=y + LINE_PX - 4.0, class_=f"route-word {bore.state}".rstrip()),
    ]


def _gap(gap: PlanGap, line: list[tuple[float, float]], placer: Placer) -> list[Element]:
    (x1, y1), (x2, y2) = line
    middle_x, middle_y = 0.5 * (x1 + x2), 0.5 * (y1 + y2)
    if gap.is_joined and np.hypot(x2 - x1, y2 - y1) < SIGN_PX:
        return []
    wide = LETTER_PX * len(gap.words)
    wanted = [
        (left + 0.5 * LINE_PX, middle_y + away)
        for distance in (16.0, 34.0, 52.0, 70.0)
        for away in (distance, -distance)
        for left in (middle_x - 0.5 * wide, middle_x + 12.0, middle_x - 12.0 - wide)
    ]
    x, y = placer.first_free(wanted, wide, LINE_PX)
    state = "" if gap.is_joined else "is-stop"
    return [element("text", gap.words, x=x - 0.5 * LINE_PX, y=y + 5.0, class_=f"route-word {state}".rstrip())]


def _scale(px_per_m: float, height: float, show_units: str) -> list[Element]:
    """A bar of a round length at the foot, and where north is."""
    unit_m = UNIT_M[show_units]
    step = max((one for one in SCALE_STEPS if one * unit_m * px_per_m <= 200.0), default=SCALE_STEPS[0])
    wide = step * unit_m * px_per_m
    foot = height - 12.0
    unit = "ft" if show_units == "feet" else "m"
    label = f"{tick_label(step * unit_m, step * unit_m, unit_m)} {unit}, north is up"
    return [
        element(
            "path", d=f"M12 {foot - 8:.1f}V{foot:.1f}H{12 + wide:.1f}V{foot - 8:.1f}", class_="route-scale"
        ),
        element("text", label, x=20.0 + wide, y=foot, class_="route-word"),
    ]
