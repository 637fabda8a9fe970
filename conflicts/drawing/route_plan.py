"""The bores of a job in plan, north up, each with how it stands by a shape and a word, and nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from conflicts.drawing.free_places import Place, Placer
from conflicts.drawing.scale import UNIT_M, tick_label
from conflicts.drawing.svg import Element, element, points
from conflicts.engine.frame import FloatArray

WIDTH_PX, NARROW_PX = 960.0, 340.0
SIGN_PX = 24.0
LETTER_PX = 8.6
LINE_PX = 18.0
# How far the middle of a label may lie from the line that it names, the nearest first.
AWAY_PX = (30.0, 48.0, 66.0, 90.0, 120.0, 160.0)
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


@dataclass(frozen=True)
class Sheet:
    """How wide a picture is, what is kept free about it, between what it is tall, and what labels say."""

    width_px: float
    margin_px: float
    least_height_px: float
    most_height_px: float
    has_words: bool


WIDE = Sheet(WIDTH_PX, 60.0, 200.0, 560.0, has_words=True)
# On a phone a label is the sign and the name: how a bore stands is said by the sign, and in words below.
NARROW = Sheet(NARROW_PX, 40.0, 200.0, 420.0, has_words=False)


def draw_route(
    bores: Sequence[PlanBore], gaps: Sequence[PlanGap], show_units: str, sheet: Sheet = WIDE
) -> str:
    """Draw the bores of a job.

    Parameters
    ----------
    bores : sequence of PlanBore
        At least one, in one frame of metres.
    gaps : sequence of PlanGap
    show_units : {"feet", "metric"}
    sheet : Sheet

    Returns
    -------
    str
        An SVG element, to a scale that is drawn in it. Shapes stand in the page that shows it.
    """
    low_m, high_m = _box_m(bores)
    span_m = np.maximum(high_m - low_m, 1.0)
    width, margin = sheet.width_px, 2 * sheet.margin_px
    room = (width - margin, sheet.most_height_px - margin)
    px_per_m = float(min(room[0] / span_m[0], room[1] / span_m[1]))
    height = max(sheet.least_height_px, px_per_m * float(span_m[1]) + margin)
    middle_m = 0.5 * (low_m + high_m)

    def to_px(points_m: FloatArray) -> list[tuple[float, float]]:
        away = (points_m - middle_m) * px_per_m
        return [(0.5 * width + east, 0.5 * height - north) for east, north in away.tolist()]

    placer = Placer(width, height)
    placer.take(0.0, height - 30.0, min(width, 260.0), height)
    lines = [to_px(bore.plan_m) for bore in bores]
    for line in lines:
        _take_line(placer, _drawn(line))
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
        parts += _state(bore, _drawn(line), placer, sheet)
    parts += [part for gap in gaps for part in _gap(gap, to_px(gap.ends_m), placer, width)]
    parts += _scale(px_per_m, sheet, height, show_units)
    return element(
        "svg",
        *parts,
        viewbox=f"0 0 {width:g} {height:.1f}",
        class_="route-drawing" if sheet.has_words else "route-drawing is-narrow",
        role="img",
        aria_label=_words(bores),
    ).text()


def _words(bores: Sequence[PlanBore]) -> str:
    """What the picture shows, for whoever does not see it."""
    return f"Bores in plan: {'; '.join(f'{bore.name}, {bore.words}' for bore in bores)}."


def _box_m(bores: Sequence[PlanBore]) -> tuple[FloatArray, FloatArray]:
    every = np.concatenate([bore.plan_m for bore in bores])
    return every.min(axis=0), every.max(axis=0)


def _drawn(line: list[tuple[float, float]]) -> shapely.LineString:
    """A line as it is drawn; one without a length is a point's width long."""
    return shapely.LineString(line if len(set(line)) > 1 else [line[0], (line[0][0] + 1.0, line[0][1])])


def _take_line(placer: Placer, drawn: shapely.LineString) -> None:
    """Keep labels off a line and its ends, in boxes as wide as a sign."""
    for at in [*np.arange(0.0, drawn.length, 10.0).tolist(), drawn.length]:
        place = drawn.interpolate(at)
        placer.take(place.x - 6.0, place.y - 6.0, place.x + 6.0, place.y + 6.0)


def _places(at: shapely.Point, wide: float, tall: float, away: Sequence[float], width: float) -> list[Place]:
    """Where a label about a point may begin, the nearest first, all of it on the sheet."""
    half = 0.5 * tall
    places = [
        (left, at.y + side * up)
        for distance in away
        for left, up in (
            (at.x - 0.5 * wide, distance),
            (at.x + 14.0, distance),
            (at.x - 14.0 - wide, distance),
            # Beside the line, for one that runs up and down the sheet.
            (at.x + distance - half, 0.0),
            (at.x - distance + half - wide, 0.0),
        )
        for side in (-1.0, 1.0)
    ]
    most = max(0.0, width - wide)
    return [(min(max(0.0, left), most) + half, y) for left, y in places]


def _state(bore: PlanBore, drawn: shapely.LineString, placer: Placer, sheet: Sheet) -> list[Element]:
    """The sign of a bore beside its middle, its name and the word, with a line that leads there."""
    place = drawn.interpolate(0.5, normalized=True)
    words = bore.words if sheet.has_words else ""
    wide = SIGN_PX + 8.0 + LETTER_PX * max(len(bore.name), len(words))
    tall = (2.0 if words else 1.4) * LINE_PX
    x, y = placer.first_free(_places(place, wide, tall, AWAY_PX, sheet.width_px), wide, tall)
    left = x - 0.5 * tall
    text = left + SIGN_PX + 6.0
    name_y = y - 3.0 if words else y + 5.0
    word = element("text", words, x=text, y=y + LINE_PX - 4.0, class_=f"route-word {bore.state}".rstrip())
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
        element("text", bore.name, x=text, y=name_y, class_="route-name"),
        *([word] if words else []),
    ]


def _gap(gap: PlanGap, line: list[tuple[float, float]], placer: Placer, width: float) -> list[Element]:
    (x1, y1), (x2, y2) = line
    if gap.is_joined and np.hypot(x2 - x1, y2 - y1) < SIGN_PX:
        return []
    wide = LETTER_PX * len(gap.words)
    middle = shapely.Point(0.5 * (x1 + x2), 0.5 * (y1 + y2))
    away = (16.0, 34.0, 52.0, 70.0, 100.0, 140.0)
    x, y = placer.first_free(_places(middle, wide, LINE_PX, away, width), wide, LINE_PX)
    state = "" if gap.is_joined else "is-stop"
    return [element("text", gap.words, x=x - 0.5 * LINE_PX, y=y + 5.0, class_=f"route-word {state}".rstrip())]


def _scale(px_per_m: float, sheet: Sheet, height: float, show_units: str) -> list[Element]:
    """A bar of a round length at the foot, and where north is."""
    unit_m, longest = UNIT_M[show_units], 200.0 if sheet.has_words else 110.0
    step = max((one for one in SCALE_STEPS if one * unit_m * px_per_m <= longest), default=SCALE_STEPS[0])
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
