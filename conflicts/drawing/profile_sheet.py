"""The sheet of a profile: its scale, its axes and the row of labels above the ground."""

from dataclasses import dataclass

from conflicts.drawing.profile_figures import ProfileFigures
from conflicts.drawing.scale import (
    HEIGHT_STEPS,
    STATION_STEPS,
    UNIT_M,
    Scale,
    tick_label,
    tick_step_m,
    ticks_m,
)
from conflicts.drawing.svg import Element, element
from locates.units import format_station

# Units of the picture are those of the page. The plot fills a desk's sheet; taller it would hide the list.
PLOT_WIDTH_PX = 1216.0
# Of each of two plots that stand side by side on it.
BESIDE_WIDTH_PX = 540.0
MOST_PLOT_HEIGHT_PX = 260.0
LEFT_PX, RIGHT_PX = 76.0, 28.0
AXIS_PX = 46.0
EXAGGERATIONS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)

# Room for a label: lying, with its reference beside its signs, or standing where lying ones do not fit.
SIGNS_PX, LETTER_PX, GAP_PX = 40.0, 7.2, 12.0
STANDING_WIDTH_PX = 25.0
LYING_HEIGHT_PX, STANDING_SIGNS_PX = 28.0, 58.0
ELBOW_PX = 26.0
LONGEST_REF = 9


@dataclass(frozen=True)
class Sheet:
    """A profile's paper.

    Attributes
    ----------
    scale : Scale
    width_px, height_px : float
        Of the whole picture.
    right_px, bottom_px : float
        Of the plot.
    labels_stand : bool
        Labels are written upwards, since they would not fit beside each other.
    show_units : str
    height_from_ground : bool
        The ground is flat at 0, so that heights are depths.
    counted_from_m : float
        The station that the profile's entry is called: not 0 where the rig stands elsewhere than recorded.
    """

    scale: Scale
    width_px: float
    height_px: float
    right_px: float
    bottom_px: float
    labels_stand: bool
    show_units: str
    height_from_ground: bool
    counted_from_m: float = 0.0

    def station(self, at_m: float) -> str:
        """A place along the profile as people call it."""
        return format_station(self.counted_from_m + at_m, self.show_units)


def short_ref(ref: str) -> str:
    """A reference cut to what a label holds."""
    return ref if len(ref) <= LONGEST_REF else f"{ref[: LONGEST_REF - 1].rstrip()}\N{HORIZONTAL ELLIPSIS}"


def label_widths_px(figures: ProfileFigures, labels_stand: bool) -> list[float]:
    """Room that the label of each line takes."""
    if labels_stand:
        return [STANDING_WIDTH_PX for _ in figures.lines]
    return [SIGNS_PX + LETTER_PX * len(short_ref(one.found.mark.ref)) + GAP_PX for one in figures.lines]


@dataclass(frozen=True)
class Spread:
    """From where to where what is drawn goes, along and up."""

    stations_m: tuple[float, float]
    elevations_m: tuple[float, float]

    def with_(self, other: "Spread | None") -> "Spread":
        """What holds both."""
        if other is None:
            return self
        return Spread(_hull(self.stations_m, other.stations_m), _hull(self.elevations_m, other.elevations_m))

    def shifted(self, by_m: float) -> "Spread":
        """The same with stations counted from elsewhere."""
        first, last = self.stations_m
        return Spread((first + by_m, last + by_m), self.elevations_m)


def _hull(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    return min(one[0], other[0]), max(one[1], other[1])


def profile_sheet(
    figures: ProfileFigures,
    show_units: str,
    *,
    height_from_ground: bool,
    is_true_scale: bool,
    beside: Spread | None = None,
    counted_from_m: float = 0.0,
) -> Sheet:
    """The sheet on which a profile is readable, or one whose heights and lengths have the same scale.

    It has room for what is drawn beside it too, so that two profiles have one scale, and half the width.
    """
    drawn = Spread(figures.stations_m, figures.elevations_m)
    if beside is not None:
        drawn = drawn.with_(beside.shifted(-counted_from_m))
    low, high = drawn.elevations_m
    spare_m = 0.06 * (high - low) + 0.1
    first, last = drawn.stations_m
    first, last = first - 0.012 * (last - first), last + 0.004 * (last - first)
    tall_m = high - low + 2.0 * spare_m
    wide_px = PLOT_WIDTH_PX if beside is None else BESIDE_WIDTH_PX
    across = min(wide_px / (last - first), MOST_PLOT_HEIGHT_PX / tall_m)
    most = MOST_PLOT_HEIGHT_PX / (tall_m * across) + 1e-9
    up = across * max(one for one in EXAGGERATIONS if one <= most)
    if is_true_scale:
        across = up
    right = LEFT_PX + across * (last - first)
    labels_stand = sum(label_widths_px(figures, labels_stand=False)) > right - LEFT_PX
    longest = max((len(short_ref(one.found.mark.ref)) for one in figures.lines), default=0)
    top = (STANDING_SIGNS_PX + LETTER_PX * longest if labels_stand else LYING_HEIGHT_PX) + ELBOW_PX
    bottom = top + up * tall_m
    return Sheet(
        scale=Scale(LEFT_PX, top, first, high + spare_m, across, up),
        width_px=right + RIGHT_PX,
        height_px=bottom + AXIS_PX,
        right_px=right,
        bottom_px=bottom,
        labels_stand=labels_stand,
        show_units=show_units,
        height_from_ground=height_from_ground,
        counted_from_m=counted_from_m,
    )


def station_axis(sheet: Sheet, length_m: float) -> Element:
    """Ticks of station along the foot of the plot, its ends named entry and exit."""
    scale, bottom = sheet.scale, sheet.bottom_px
    unit = UNIT_M[sheet.show_units]
    step = tick_step_m(scale.across_px_per_m, 76.0, STATION_STEPS[sheet.show_units], unit)
    parts: list[Element | str] = []
    entry_m = sheet.counted_from_m
    for counted in ticks_m(entry_m, entry_m + length_m, step):
        x = scale.x(counted - entry_m)
        label = format_station(counted, sheet.show_units).removesuffix(".0")
        parts.append(element("line", x1=x, y1=scale.top_px, x2=x, y2=bottom, class_="grid"))
        parts.append(element("line", x1=x, y1=bottom, x2=x, y2=bottom + 6, class_="axis"))
        parts.append(element("text", label, x=x, y=bottom + 19, class_="tick middle"))
    parts.append(element("line", x1=scale.left_px, y1=bottom, x2=sheet.right_px, y2=bottom, class_="axis"))
    for words, at, anchor in (
        (f"Entry {sheet.station(0.0)}", 0.0, "start"),
        (f"Exit {sheet.station(length_m)}", length_m, "end"),
    ):
        parts.append(element("text", words, x=scale.x(at), y=bottom + 37, class_=f"note {anchor}"))
    middle = 0.5 * (scale.left_px + sheet.right_px)
    parts.append(
        element("text", f"Station, {unit_word(sheet)}", x=middle, y=bottom + 37, class_="note middle")
    )
    return element("g", *parts, aria_hidden="true")


def height_axis(sheet: Sheet) -> Element:
    """Ticks of elevation, or of depth under flat ground, up the left side."""
    parts: list[Element | str] = []
    for at, label in _heights(sheet):
        y = sheet.scale.y(at)
        parts.append(element("line", x1=LEFT_PX - 6, y1=y, x2=LEFT_PX, y2=y, class_="axis"))
        parts.append(element("text", label, x=LEFT_PX - 10, y=y + 4, class_="tick end"))
    parts.append(
        element("line", x1=LEFT_PX, y1=sheet.scale.top_px, x2=LEFT_PX, y2=sheet.bottom_px, class_="axis")
    )
    middle = 0.5 * (sheet.scale.top_px + sheet.bottom_px)
    name = "Depth" if sheet.height_from_ground else "Elevation"
    turned = f"translate(14 {middle:.0f}) rotate(-90)"
    parts.append(element("text", f"{name}, {unit_word(sheet)}", transform=turned, class_="note middle"))
    return element("g", *parts, aria_hidden="true")


def height_grid(sheet: Sheet) -> Element:
    """A hair line across the plot at each tick of height."""
    lines = [
        element(
            "line", x1=LEFT_PX, y1=sheet.scale.y(at), x2=sheet.right_px, y2=sheet.scale.y(at), class_="grid"
        )
        for at, _ in _heights(sheet)
    ]
    return element("g", *lines, aria_hidden="true")


def unit_word(sheet: Sheet) -> str:
    """Unit of the axes."""
    return "ft" if sheet.show_units == "feet" else "m"


def _heights(sheet: Sheet) -> list[tuple[float, str]]:
    scale, unit = sheet.scale, UNIT_M[sheet.show_units]
    step = tick_step_m(scale.up_px_per_m, 24.0, HEIGHT_STEPS[sheet.show_units], unit)
    low = scale.top_m - (sheet.bottom_px - scale.top_px) / scale.up_px_per_m
    sign = -1.0 if sheet.height_from_ground else 1.0
    return [(at, tick_label(sign * at, step, unit)) for at in ticks_m(low, scale.top_m, step)]
