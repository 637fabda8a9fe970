"""Margins over time as a picture: the worst cases of signed releases, and the gaps measured on watches."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.drawing.scale import HEIGHT_STEPS, UNIT_M, Scale, tick_label, tick_step_m, ticks_m
from conflicts.drawing.svg import Element, element
from conflicts.drawing.time_ticks import TimeTick, time_ticks

WIDTH_PX, HEIGHT_PX = 1200.0, 300.0
LEFT_PX, RIGHT_PX, TOP_PX, FOOT_PX = 62.0, 36.0, 14.0, 58.0
RADIUS_PX = 5.0
MOST_COLUMNS = 105
"""Stretches of time that are told apart, each as wide as a mark."""


@dataclass(frozen=True)
class MarginPoint:
    """One margin.

    Attributes
    ----------
    at : datetime
        When it was signed or watched, with an offset.
    margin_m : float
        Worst case or measured gap less the required clearance; negative is too near.
    is_measured : bool
        Measured on a watch; otherwise the worst case that a release was signed on.
    name : str
        Bore and mark, for the picture's words.
    """

    at: datetime
    margin_m: float
    is_measured: bool
    name: str


@dataclass(frozen=True)
class MarginsDrawing:
    """The picture as markup, and the points that stand in it in order of time."""

    svg: str
    points: list[MarginPoint]


def draw_margins(points: Sequence[MarginPoint], show_units: str, time_zone: str) -> MarginsDrawing:
    """Draw margins over time.

    Parameters
    ----------
    points : sequence of MarginPoint
        At least one.
    show_units : str
        ``feet`` or ``metric``.
    time_zone : str
        IANA name of the zone of the days along the foot.

    Returns
    -------
    MarginsDrawing
        Kind and sign are told by shape as well as by colour: a ring for a worst case, a diamond for a
        measured gap, and a stroke through it where it is less than required.
    """
    shown = sorted(points, key=lambda one: (one.at, one.is_measured, one.name, one.margin_m))
    begin, end, ticks = time_ticks(shown[0].at, shown[-1].at, time_zone)
    scale = _scale(shown, begin, end)
    floor = HEIGHT_PX - FOOT_PX
    parts = [*_heights(scale, show_units, floor), *_times(scale, ticks, begin, floor)]
    zero = scale.y(0.0)
    parts.append(element("line", x1=LEFT_PX, y1=zero, x2=WIDTH_PX - RIGHT_PX, y2=zero, class_="required"))
    # The least are drawn last, so that none is hidden by a larger one.
    for one in sorted(shown, key=lambda one: -one.margin_m):
        parts.append(_mark(scale.x((one.at - begin).total_seconds()), scale.y(one.margin_m), one))
    words = f"Days of {time_zone.replace('_', ' ')}"
    parts.append(element("text", words, x=WIDTH_PX - RIGHT_PX, y=HEIGHT_PX - 8, class_="note end"))
    svg = element(
        "svg",
        element("title", "Margins over time", id="margins-title"),
        element("desc", _description(shown), id="margins-words"),
        *parts,
        class_="plot margins",
        role="img",
        aria_labelledby="margins-title",
        aria_describedby="margins-words",
        viewbox=f"0 0 {WIDTH_PX:.0f} {HEIGHT_PX:.0f}",
        width=WIDTH_PX,
        height=HEIGHT_PX,
    )
    return MarginsDrawing(svg.text(), shown)


def legend_mark(*, is_measured: bool, is_short: bool) -> str:
    """One mark alone, for the key beside the picture.

    Parameters
    ----------
    is_measured, is_short : bool
        Of a measured gap; less than required.

    Returns
    -------
    str
        SVG markup, hidden from readers: the words of the key stand beside it.
    """
    mark = _shape(12.0, 12.0, is_measured=is_measured, is_short=is_short)
    return element("svg", mark, class_="plot margins-key", viewbox="0 0 24 24", aria_hidden="true").text()


def _scale(shown: Sequence[MarginPoint], begin: datetime, end: datetime) -> Scale:
    """Seconds across, metres up; the required clearance is always in sight."""
    low = min(0.0, *(one.margin_m for one in shown))
    high = max(0.0, *(one.margin_m for one in shown))
    spare = 0.08 * (high - low) or 0.1
    tall = HEIGHT_PX - FOOT_PX - TOP_PX
    across = (WIDTH_PX - RIGHT_PX - LEFT_PX) / (end - begin).total_seconds()
    return Scale(LEFT_PX, TOP_PX, 0.0, high + spare, across, tall / (high - low + 2.0 * spare))


def _heights(scale: Scale, show_units: str, floor: float) -> list[Element]:
    unit, word = UNIT_M[show_units], "ft" if show_units == "feet" else "m"
    step = tick_step_m(scale.up_px_per_m, 26.0, HEIGHT_STEPS[show_units], unit)
    low = scale.top_m - (floor - TOP_PX) / scale.up_px_per_m
    parts = []
    for at in ticks_m(low, scale.top_m, step):
        y = scale.y(at)
        parts.append(element("line", x1=LEFT_PX, y1=y, x2=WIDTH_PX - RIGHT_PX, y2=y, class_="grid"))
        parts.append(element("text", tick_label(at, step, unit), x=LEFT_PX - 8, y=y + 4, class_="tick end"))
    turned = f"translate(14 {0.5 * (TOP_PX + floor):.0f}) rotate(-90)"
    parts.append(element("text", f"Margin, {word}", transform=turned, class_="note middle"))
    parts.append(element("line", x1=LEFT_PX, y1=TOP_PX, x2=LEFT_PX, y2=floor, class_="axis"))
    return parts


def _times(scale: Scale, ticks: list[TimeTick], begin: datetime, floor: float) -> list[Element]:
    parts = [element("line", x1=LEFT_PX, y1=floor, x2=WIDTH_PX - RIGHT_PX, y2=floor, class_="axis")]
    for tick in ticks:
        x = scale.x((tick.at - begin).total_seconds())
        parts.append(element("line", x1=x, y1=floor, x2=x, y2=floor + 6, class_="axis"))
        parts.append(element("text", tick.upper, x=x, y=floor + 19, class_="tick middle"))
        parts.append(element("text", tick.lower, x=x, y=floor + 33, class_="tick middle"))
    return parts


def _mark(x: float, y: float, point: MarginPoint) -> Element:
    return _shape(x, y, is_measured=point.is_measured, is_short=point.margin_m < 0.0)


def _shape(x: float, y: float, *, is_measured: bool, is_short: bool) -> Element:
    r = RADIUS_PX
    if is_measured:
        body = element("path", d=f"M{x:.1f} {y - r:.1f}l{r} {r}l{-r} {r}l{-r} {-r}z")
    else:
        body = element("circle", cx=x, cy=y, r=r)
    kind = "measured" if is_measured else "worst-case"
    if not is_short:
        return element("g", body, class_=f"margin {kind}")
    far = r + 3.0
    stroke = element("path", d=f"M{x - far:.1f} {y + far:.1f}l{2 * far} {-2 * far}", class_="strike")
    return element("g", body, stroke, class_=f"margin {kind} is-short")


def _description(shown: Sequence[MarginPoint]) -> str:
    measured = sum(one.is_measured for one in shown)
    short = sum(one.margin_m < 0.0 for one in shown)
    least = min(shown, key=lambda one: one.margin_m)
    return (
        f"{len(shown) - measured} worst cases at the signing of releases and {measured} gaps measured on "
        f"watches, each less what is required; {short} of them below what is required. The least is of "
        f"{least.name}. The table below has the figures."
    )
