"""Margins over time as a picture: worst cases of releases and of drilled holes, gaps seen on watches."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from conflicts.drawing.scale import HEIGHT_STEPS, UNIT_M, Scale, tick_label, tick_step_m, ticks_m
from conflicts.drawing.svg import Element, element
from conflicts.drawing.time_ticks import TimeTick, time_ticks

RADIUS_PX = 5.0
MOST_COLUMNS = 105
"""Stretches of time that are told apart, each as wide as a mark."""


@dataclass(frozen=True)
class Paper:
    """How large the picture is, what stands about the plot, and how many moments its foot has room for."""

    name: str
    width_px: float
    height_px: float
    left_px: float
    right_px: float
    top_px: float
    foot_px: float
    most_ticks: int

    @property
    def floor_px(self) -> float:
        """The foot of the plot."""
        return self.height_px - self.foot_px

    @property
    def far_px(self) -> float:
        """The right edge of the plot."""
        return self.width_px - self.right_px


WIDE = Paper("wide", 1200.0, 300.0, 62.0, 36.0, 14.0, 58.0, 9)
NARROW = Paper("narrow", 340.0, 280.0, 52.0, 26.0, 14.0, 58.0, 4)
"""As wide as a phone that is held upright shows it, so that nobody has to scroll it."""


@dataclass(frozen=True)
class MarginPoint:
    """One margin.

    Attributes
    ----------
    at : datetime
        When it was signed, watched or drilled, with an offset.
    margin_m : float
        Worst case or measured gap less the required clearance; negative is too near.
    is_measured : bool
        Measured on a watch; otherwise a worst case, that a release was signed on or of the hole as drilled.
    name : str
        Bore and mark, for the picture's words.
    greatest_m : float
        The greatest margin of those for which this one, the least, stands.
    is_drilled : bool
        Of a line that the drilled hole alone meets.
    """

    at: datetime
    margin_m: float
    is_measured: bool
    name: str
    greatest_m: float
    is_drilled: bool = False

    @property
    def kind(self) -> str:
        """Which mark it has: of a measured gap, of the hole as drilled, or of a worst case at signing."""
        if self.is_measured:
            return "measured"
        return "as-drilled" if self.is_drilled else "worst-case"


@dataclass(frozen=True)
class MarginsDrawing:
    """The picture as markup, and the points that stand in it in order of time."""

    svg: str
    points: list[MarginPoint]


def draw_margins(
    points: Sequence[MarginPoint], show_units: str, time_zone: str, paper: Paper = WIDE
) -> MarginsDrawing:
    """Draw margins over time.

    Parameters
    ----------
    points : sequence of MarginPoint
        At least one.
    show_units : str
        ``feet`` or ``metric``.
    time_zone : str
        IANA name of the zone of the days along the foot.
    paper : Paper
        Its name is part of the picture's ids, so that two stand on one page.

    Returns
    -------
    MarginsDrawing
        Kind and sign are told by shape as well as by colour: a ring for a worst case, a square for one of
        the hole as drilled, a diamond for a measured gap, and a stroke through it where it is less than
        required. Of marks of one kind that would
        lie beside each other in less than their width the least is drawn, with a line up to the greatest.
    """
    shown = sorted(points, key=lambda one: (one.at, one.is_measured, one.is_drilled, one.name, one.margin_m))
    begin, end, ticks = time_ticks(shown[0].at, shown[-1].at, time_zone, paper.most_ticks)
    scale = _scale(shown, begin, end, paper)
    parts = [*_heights(scale, show_units, paper), *_times(scale, ticks, begin, paper)]
    zero = scale.y(0.0)
    parts.append(element("line", x1=paper.left_px, y1=zero, x2=paper.far_px, y2=zero, class_="required"))
    parts += _marks(shown, scale, begin)
    words = f"Days of {time_zone.replace('_', ' ')}"
    parts.append(element("text", words, x=paper.far_px, y=paper.height_px - 8, class_="note end"))
    title, desc = f"margins-title-{paper.name}", f"margins-words-{paper.name}"
    svg = element(
        "svg",
        element("title", "Margins over time", id=title),
        element("desc", _description(shown), id=desc),
        *parts,
        class_="plot margins",
        role="img",
        aria_labelledby=title,
        aria_describedby=desc,
        viewbox=f"0 0 {paper.width_px:.0f} {paper.height_px:.0f}",
        width=paper.width_px,
        height=paper.height_px,
    )
    return MarginsDrawing(svg.text(), shown)


def legend_mark(kind: str, *, is_short: bool) -> str:
    """One mark alone, for the key beside the picture.

    Parameters
    ----------
    kind : {"worst-case", "as-drilled", "measured"}
    is_short : bool
        Less than required.

    Returns
    -------
    str
        SVG markup, hidden from readers: the words of the key stand beside it.
    """
    mark = _shape(12.0, 12.0, kind, is_short=is_short)
    return element("svg", mark, class_="plot margins-key", viewbox="0 0 24 24", aria_hidden="true").text()


def _scale(shown: Sequence[MarginPoint], begin: datetime, end: datetime, paper: Paper) -> Scale:
    """Seconds across, metres up; the required clearance is always in sight."""
    low = min(0.0, *(one.margin_m for one in shown))
    high = max(0.0, *(one.greatest_m for one in shown))
    spare = 0.08 * (high - low) or 0.1
    across = (paper.far_px - paper.left_px) / (end - begin).total_seconds()
    up = (paper.floor_px - paper.top_px) / (high - low + 2.0 * spare)
    return Scale(paper.left_px, paper.top_px, 0.0, high + spare, across, up)


def _heights(scale: Scale, show_units: str, paper: Paper) -> list[Element]:
    unit, word = UNIT_M[show_units], "ft" if show_units == "feet" else "m"
    step = tick_step_m(scale.up_px_per_m, 26.0, HEIGHT_STEPS[show_units], unit)
    left, floor = paper.left_px, paper.floor_px
    low = scale.top_m - (floor - paper.top_px) / scale.up_px_per_m
    parts = []
    for at in ticks_m(low, scale.top_m, step):
        y = scale.y(at)
        parts.append(element("line", x1=left, y1=y, x2=paper.far_px, y2=y, class_="grid"))
        parts.append(element("text", tick_label(at, step, unit), x=left - 8, y=y + 4, class_="tick end"))
    turned = f"translate(14 {0.5 * (paper.top_px + floor):.0f}) rotate(-90)"
    parts.append(element("text", f"Margin, {word}", transform=turned, class_="note middle"))
    parts.append(element("line", x1=left, y1=paper.top_px, x2=left, y2=floor, class_="axis"))
    return parts


def _times(scale: Scale, ticks: list[TimeTick], begin: datetime, paper: Paper) -> list[Element]:
    floor = paper.floor_px
    parts = [element("line", x1=paper.left_px, y1=floor, x2=paper.far_px, y2=floor, class_="axis")]
    for tick in ticks:
        x = scale.x((tick.at - begin).total_seconds())
        parts.append(element("line", x1=x, y1=floor, x2=x, y2=floor + 6, class_="axis"))
        parts.append(element("text", tick.upper, x=x, y=floor + 19, class_="tick middle"))
        parts.append(element("text", tick.lower, x=x, y=floor + 33, class_="tick middle"))
    return parts


def _marks(shown: Sequence[MarginPoint], scale: Scale, begin: datetime) -> list[Element]:
    """The least of each stretch and kind, the lines up to the greatest under all of them."""
    columns: dict[tuple[str, int], list[MarginPoint]] = {}
    for one in shown:
        x = scale.x((one.at - begin).total_seconds())
        columns.setdefault((one.kind, int(x // (2.0 * RADIUS_PX))), []).append(one)
    lines, marks = [], []
    for beside in columns.values():
        least = min(beside, key=lambda one: one.margin_m)
        x, y = scale.x((least.at - begin).total_seconds()), scale.y(least.margin_m)
        top = scale.y(max(one.greatest_m for one in beside))
        if y - top > RADIUS_PX:
            lines.append(
                element("path", d=f"M{x:.1f} {y:.1f}V{top:.1f}m-3 0h6", class_=f"spread {least.kind}")
            )
        mark = _shape(x, y, least.kind, is_short=least.margin_m < 0.0)
        marks.append((least.margin_m, mark))
    # The least are drawn last, so that none is hidden by a larger one.
    return [*lines, *(mark for _, mark in sorted(marks, key=lambda one: -one[0]))]


def _shape(x: float, y: float, kind: str, *, is_short: bool) -> Element:
    r = RADIUS_PX
    if kind == "measured":
        body = element("path", d=f"M{x:.1f} {y - r:.1f}l{r} {r}l{-r} {r}l{-r} {-r}z")
    elif kind == "as-drilled":
        half = r - 0.5
        body = element("path", d=f"M{x - half:.1f} {y - half:.1f}h{2 * half}v{2 * half}h{-2 * half}z")
    else:
        body = element("circle", cx=x, cy=y, r=r)
    if not is_short:
        return element("g", body, class_=f"margin {kind}")
    far = r + 3.0
    stroke = element("path", d=f"M{x - far:.1f} {y + far:.1f}l{2 * far} {-2 * far}", class_="strike")
    return element("g", body, stroke, class_=f"margin {kind} is-short")


def _description(shown: Sequence[MarginPoint]) -> str:
    count = Counter(one.kind for one in shown)
    short = sum(one.margin_m < 0.0 for one in shown)
    least = min(shown, key=lambda one: one.margin_m)
    drilled = ""
    if count["as-drilled"]:
        drilled = f", {count['as-drilled']} worst cases as drilled of lines that the plan does not meet,"
    return (
        f"{count['worst-case']} worst cases at the signing of releases{drilled} and {count['measured']} gaps "
        f"measured on watches, each less what is required; {short} of them below what is required. The least "
        f"is of {least.name}. The table below has the figures."
    )
