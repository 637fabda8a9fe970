"""All that the page of the audit shows: figures, the plot of margins, and a page of one part."""

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from conflicts.audit.columns import Cell, page_cells, page_columns
from conflicts.audit.crossing_sections import MARGINS
from conflicts.audit.figures import Figure, audit_figures
from conflicts.audit.parts import BY_CODE, SECTIONS
from conflicts.audit.places import read_place, write_place
from conflicts.audit.sections import Section
from conflicts.drawing.margins_plot import (
    MOST_COLUMNS,
    NARROW,
    MarginPoint,
    draw_margins,
    legend_mark,
)
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_margins import PlottedMargin, margin_figures, plotted_margins
from locates.local_time import format_moment
from locates.units import format_length

ROWS_A_PAGE = 50
KINDS = {
    "worst-case": ("worst case at signing", "worst case below what is required"),
    "as-drilled": ("worst case as drilled", "worst case as drilled below what is required"),
    "measured": ("gap measured on a watch", "gap below what is required"),
}


@dataclass(frozen=True)
class Part:
    """A part, and how many rows of it fit."""

    section: Section
    count: int


@dataclass(frozen=True)
class PlotRow:
    """A drawn margin in words."""

    name: str
    when: str
    kind: str
    margin: str
    is_stop: bool


@dataclass(frozen=True)
class Plot:
    """The drawn margins: picture, the same for a phone, how many there were, key and table."""

    svg: SafeString
    narrow_svg: SafeString
    points: list[MarginPoint]
    total: int
    legend: list[tuple[SafeString, str]]
    rows: list[PlotRow]


@dataclass(frozen=True)
class AuditPage:
    """The page."""

    section: Section
    parts: list[Part]
    figures: list[Figure]
    plot: Plot | None
    unknown_margins: int
    headings: list[str]
    rows: list[list[Cell]]
    next_place: str
    not_narrowed: list[str]


def read_audit(filters: AuditFilters, code: str, after: str) -> AuditPage:
    """A page of the audit; of a part that there is not, the first.

    Raises `PlaceInListError` where ``after`` is no place in the part.
    """
    section = BY_CODE.get(code, SECTIONS[0])
    found = section.rows(filters, read_place(after, section.readers), ROWS_A_PAGE + 1)
    rows = found[:ROWS_A_PAGE]
    every = margin_figures(filters)
    # Counted with their figures: counting alone would read them all once more.
    counts = {MARGINS.code: every.count}
    counts |= {one.code: one.count(filters) for one in SECTIONS if one.code not in counts}
    parts = [Part(one, counts[one.code]) for one in SECTIONS]
    margins, total = plotted_margins(filters, MOST_COLUMNS)
    units, zone = _look(margins)
    return AuditPage(
        section=section,
        parts=parts,
        figures=audit_figures(counts, every, units),
        plot=_plot(margins, total, units, zone) if margins else None,
        unknown_margins=every.unknown,
        headings=[one.heading for one in page_columns(section.columns)],
        rows=[page_cells(section.columns, row, section.look_of(row)) for row in rows],
        next_place=write_place(section.place_of(rows[-1])) if len(found) > ROWS_A_PAGE else "",
        not_narrowed=_not_narrowed(section, filters),
    )


def _look(margins: list[PlottedMargin]) -> tuple[str, str]:
    """Units and zone of the margins: their jobs' own where these agree, else feet and UTC."""
    units, zones = {one.show_units for one in margins}, {one.time_zone for one in margins}
    return units.pop() if len(units) == 1 else "feet", zones.pop() if len(zones) == 1 else "UTC"


def _plot(margins: list[PlottedMargin], total: int, units: str, zone: str) -> Plot:
    points = [
        MarginPoint(
            one.at,
            one.margin_m,
            one.is_measured,
            f"{one.bore_name}, {one.mark_ref}",
            one.greatest_m,
            one.is_drilled,
        )
        for one in margins
    ]
    drawn, narrow = draw_margins(points, units, zone), draw_margins(points, units, zone, NARROW)
    return Plot(
        svg=mark_safe(drawn.svg),  # noqa: S308 - every text in it is escaped where it is drawn
        narrow_svg=mark_safe(narrow.svg),  # noqa: S308 - every text in it is escaped where it is drawn
        points=drawn.points,
        total=total,
        legend=[
            (mark_safe(legend_mark(kind, is_short=is_short)), words)  # noqa: S308 - constants
            for kind in KINDS
            if kind != "as-drilled" or any(one.kind == kind for one in points)
            for is_short, words in enumerate(KINDS[kind])
        ],
        rows=[_plot_row(one, units, zone) for one in drawn.points],
    )


def _plot_row(point: MarginPoint, units: str, zone: str) -> PlotRow:
    return PlotRow(
        name=point.name,
        when=format_moment(point.at, zone),
        kind=_kind_words(point),
        margin=format_length(point.margin_m, units, "down"),
        is_stop=point.margin_m < 0.0,
    )


def _kind_words(point: MarginPoint) -> str:
    if point.is_measured:
        return "gap measured, as drilled" if point.is_drilled else "gap measured"
    return "worst case as drilled" if point.is_drilled else "worst case"


def _not_narrowed(section: Section, filters: AuditFilters) -> list[str]:
    words: dict[str, Any] = {"verdict": "A verdict does not narrow it: these records have none."}
    return [words[name] for name in section.passed_by if getattr(filters, name)]
