"""The lines of a profile: each at its true size, with its uncertainty, required clearance and label."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from conflicts.drawing.profile_figures import ProfileFigures, ShownLine
from conflicts.drawing.profile_ground import placed
from conflicts.drawing.profile_sheet import (
    ELBOW_PX,
    LEFT_PX,
    Sheet,
    label_widths_px,
    short_ref,
)
from conflicts.drawing.spread import spread
from conflicts.drawing.svg import Element, element, points
from conflicts.engine.frame import FloatArray
from conflicts.sentences import line_name, station_words
from locates.units import format_length

SIGN_PX = 16.0
# A band of unknown depth narrower than this is written upwards beside itself.
LYING_WORDS_PX = 120.0


@dataclass(frozen=True)
class FacilityWords:
    """What facility types are called: the letter code and the name of each."""

    letters: Mapping[str, str]
    names: Mapping[str, str]


def line_parts(
    sheet: Sheet, figures: ProfileFigures, words: FacilityWords, ground_at: FloatArray, name: str = ""
) -> list[Element]:
    """Every line as a link to its row in the list, in the order of the stations; ``name`` begins those."""
    widths = label_widths_px(figures, sheet.labels_stand)
    wanted = [sheet.scale.x(one.station_m) for one in figures.lines]
    middles = spread(wanted, widths, LEFT_PX, sheet.right_px)
    return [
        _line(sheet, one, words, middle, width, float(ground), name)
        for one, middle, width, ground in zip(figures.lines, middles, widths, ground_at, strict=True)
    ]


def spoken_words(shown: ShownLine, words: FacilityWords, sheet: Sheet) -> str:
    """What a line in the picture is called by a screen reader."""
    show_units = sheet.show_units
    found, clearance = shown.found, shown.found.clearance
    name = line_name(found.mark.operator, found.mark.ref)
    kind = words.names[found.mark.facility_type]
    at = station_words(sheet.counted_from_m + clearance.station_m, show_units)
    figures = "depth unknown"
    if shown.elevation_m is not None:
        left = format_length(clearance.worst_case_m, show_units, "down")
        figures = f"worst case {left}, required {format_length(found.required_m, show_units, 'up')}"
    return f"{name}, {kind}, {clearance.kind} at {at}: {found.verdict}, {figures}"


def _line(
    sheet: Sheet,
    shown: ShownLine,
    words: FacilityWords,
    middle: float,
    width: float,
    ground_m: float,
    name: str,
) -> Element:
    if shown.elevation_m is None:
        body, top = _unknown(sheet, shown, ground_m), sheet.scale.y(ground_m)
    elif shown.course_m is not None:
        body, top = (
            _alongside(sheet, shown, shown.course_m),
            sheet.scale.y(shown.elevation_m + shown.half_height_m),
        )
    else:
        body, top = (
            _across(sheet, shown, shown.elevation_m),
            sheet.scale.y(shown.elevation_m + shown.half_height_m),
        )
    x, label_bottom = sheet.scale.x(shown.station_m), sheet.scale.top_px - ELBOW_PX
    leader = [(middle, label_bottom), (middle, label_bottom + 4), (x, sheet.scale.top_px - 4), (x, top)]
    return element(
        "a",
        *body,
        element("polyline", points=points(leader), class_="leader"),
        *_label(sheet, shown, words, middle, width),
        href=f"#{name}crossing-{shown.sequence + 1}",
        class_=f"crossing is-{shown.found.verdict} paint-{shown.found.mark.facility_type}",
        data_crossing=str(shown.sequence),
        aria_label=spoken_words(shown, words, sheet),
    )


def _across(sheet: Sheet, shown: ShownLine, elevation_m: float) -> list[Element]:
    """A line that the bore crosses, cut square to itself, in rings of uncertainty and of clearance."""
    scale = sheet.scale
    x, y = scale.x(shown.station_m), scale.y(elevation_m)

    def ring(more_across_m: float, more_up_m: float, class_: str) -> Element:
        across = (shown.half_width_m + more_across_m) * scale.across_px_per_m
        up = (shown.half_height_m + more_up_m) * scale.up_px_per_m
        return Element("ellipse", _pairs(cx=x, cy=y, rx=across, ry=up, class_=class_), ())

    required_m = shown.found.required_m
    parts = [
        ring(shown.error_across_m + required_m, shown.error_up_m + required_m, "ring"),
        ring(shown.error_across_m, shown.error_up_m, "error"),
    ]
    if shown.found.line.line.size.is_duct_bank:
        half_x, half_y = shown.half_width_m * scale.across_px_per_m, shown.half_height_m * scale.up_px_per_m
        box = _pairs(x=x - half_x, y=y - half_y, width=2 * half_x, height=2 * half_y, class_="body")
        parts.append(Element("rect", box, ()))
    else:
        parts.append(ring(0.0, 0.0, "body"))
    parts.append(element("path", d=f"M{x - 4:.1f} {y:.1f}h8M{x:.1f} {y - 4:.1f}v8", class_="centre"))
    return parts


def _alongside(sheet: Sheet, shown: ShownLine, course_m: FloatArray) -> list[Element]:
    """A line beside the bore, from the side: bands of clearance and uncertainty, and its body."""
    places, errors = course_m[:, :2], course_m[:, 2]

    def band(more_m: FloatArray | float, class_: str) -> Element:
        up = np.column_stack(
            [np.zeros(len(places)), np.broadcast_to(shown.half_height_m + more_m, len(places))]
        )
        outline = [*placed(sheet, places + up), *reversed(placed(sheet, places - up))]
        return element("polygon", points=points(outline), class_=class_)

    return [band(errors + shown.found.required_m, "ring"), band(errors, "error"), band(0.0, "body")]


def _unknown(sheet: Sheet, shown: ShownLine, ground_m: float) -> list[Element]:
    """A line of unknown depth: a band from the ground down over all of its extent, and words that say so."""
    scale, clearance = sheet.scale, shown.found.clearance
    left, right = scale.x(clearance.from_m), scale.x(clearance.to_m)
    top, bottom = scale.y(ground_m), sheet.bottom_px
    band = element("rect", x=left, y=top, width=right - left, height=bottom - top, class_="unknown-band")
    if right - left >= LYING_WORDS_PX:
        middle = 0.5 * (left + right)
        return [band, element("text", "? depth unknown", x=middle, y=bottom - 10, class_="note middle")]
    turned = f"translate({right + 11:.1f} {bottom - 8:.1f}) rotate(-90)"
    return [
        band,
        element("text", "?", x=0.5 * (left + right), y=bottom - 10, class_="question middle"),
        element("text", "depth unknown", transform=turned, class_="note start"),
    ]


def _label(
    sheet: Sheet, shown: ShownLine, words: FacilityWords, middle: float, width: float
) -> list[Element]:
    """Shape of the verdict, letter of the type and reference, with a target round them."""
    bottom = sheet.scale.top_px - ELBOW_PX
    ref = short_ref(shown.found.mark.ref)
    letter = words.letters[shown.found.mark.facility_type]
    if sheet.labels_stand:
        left = middle - 0.5 * SIGN_PX
        verdict_at, letter_at = (left, bottom - 19.0), (left, bottom - 38.0)
        turned = f"translate({middle + 4.5:.1f} {bottom - 44:.1f}) rotate(-90)"
        name = element("text", ref, transform=turned, class_="ref start")
    else:
        left = middle - 0.5 * width + 4.0
        verdict_at, letter_at = (left, bottom - 19.0), (left + 18.0, bottom - 19.0)
        name = element("text", ref, x=left + 39.0, y=bottom - 6.5, class_="ref start")
    target = element(
        "rect", x=middle - 0.5 * width + 0.5, y=1.0, width=width - 1.0, height=bottom - 1.0, class_="target"
    )
    sign = Element(
        "use",
        (
            ("href", f"#verdict-{shown.found.verdict}"),
            *_pairs(x=verdict_at[0], y=verdict_at[1], width=SIGN_PX, height=SIGN_PX, class_="sign"),
        ),
        (),
    )
    box = element("rect", x=letter_at[0], y=letter_at[1], width=SIGN_PX, height=SIGN_PX, class_="letter-box")
    code = element("text", letter, x=letter_at[0] + 8.0, y=letter_at[1] + 12.2, class_="letter middle")
    return [target, sign, box, code, name]


def _pairs(**attributes: str | float) -> tuple[tuple[str, str], ...]:
    """Attributes whose lengths keep a hundredth: a small line is smaller than a tenth of a pixel."""
    return tuple(
        (key.rstrip("_"), value if isinstance(value, str) else f"{value:.2f}")
        for key, value in attributes.items()
    )
