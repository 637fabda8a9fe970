"""The crossings of a clearance record: figures, sums, cross-sections, and the records behind them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from conflicts.checks import Assessed
from conflicts.crossings import FoundCrossing
from conflicts.drawing.on_paper import on_paper
from conflicts.drawing.section import draw_section
from conflicts.drilled import Drilled
from conflicts.record.sheet import (
    Picture,
    RecordCamera,
    RecordCrossing,
    RecordHole,
    RecordMark,
    RecordPhoto,
    RecordWatch,
)
from conflicts.scene import SceneLine
from conflicts.views.facility_words import FACILITY_WORDS
from conflicts.worked import worked_figures
from conflicts.worked_verdict import exposure_words, verdict_words
from locates.models import Mark, TestHole
from locates.units import format_length


class AtCrossing:
    """What was signed and photographed at one crossing."""

    def __init__(self) -> None:
        self.passes_needed: list[str] = []
        self.watches: list[RecordWatch] = []
        self.cameras: list[RecordCamera] = []
        self.photos: list[RecordPhoto] = []


@dataclass(frozen=True)
class Lines:
    """The marks of the lines that a bore crosses, and their test holes, by the mark's id."""

    marks: Mapping[UUID, Mark]
    holes: Mapping[UUID, Sequence[TestHole]]


def read_lines(assessed: Assessed) -> Lines:
    """The records of the lines of an assessment's crossings; two queries."""
    wanted = {UUID(one.mark.mark_id) for one in assessed.crossings}
    marks = Mark.objects.select_related("operator", "ticket").in_bulk(wanted)
    holes: dict[UUID, list[TestHole]] = {mark_id: [] for mark_id in marks}
    for hole in TestHole.objects.filter(mark__in=wanted).select_related("ticket").order_by("ref"):
        holes[hole.mark_id].append(hole)
    return Lines(marks, holes)


def crossings_of(
    assessed: Assessed,
    members: Sequence[dict[str, Any]],
    lines: Lines,
    signed: Mapping[int, AtCrossing],
    drilled: Drilled | None,
) -> tuple[RecordCrossing, ...]:
    """The crossings of an assessment with their members of its document, by station, each drawn.

    ``signed`` is by the place of a crossing along the bore, from 0; ``drilled`` is what was drilled of it.
    """
    return tuple(
        _crossing(
            place,
            found,
            assessed,
            figures,
            lines.marks[UUID(found.mark.mark_id)],
            lines.holes[UUID(found.mark.mark_id)],
            signed.get(place) or AtCrossing(),
            drilled,
        )
        for place, (found, figures) in enumerate(zip(assessed.crossings, members, strict=True))
    )


def _crossing(
    place: int,
    found: FoundCrossing,
    assessed: Assessed,
    figures: dict[str, Any],
    mark: Mark,
    holes: Sequence[TestHole],
    signed: AtCrossing,
    drilled: Drilled | None,
) -> RecordCrossing:
    job = assessed.scene.inputs.job
    section = draw_section(assessed.scene, found, drilled)
    key = "; ".join(f"{name}: {figure}" if figure else name for name, figure in section.key)
    words = f"Cross-section at {found.mark.ref}. {section.plane_words}. {key}."
    return RecordCrossing(
        number=place + 1,
        figures=figures,
        mark=_mark(mark, found.line, job.show_units),
        sums=tuple(worked_figures(found, job)),
        exposure=tuple(exposure_words(found, job)),
        steps=tuple(verdict_words(found, job)),
        holes=tuple(_hole(hole) for hole in holes),
        section=Picture(on_paper(section.svg), words),
        section_key=tuple(section.key),
        passes_needed=tuple(signed.passes_needed),
        watches=tuple(signed.watches),
        cameras=tuple(signed.cameras),
        photos=tuple(signed.photos),
    )


def _mark(mark: Mark, line: SceneLine, units: str) -> RecordMark:
    size = line.line.size
    words = format_length(size.width_m, units)
    if size.is_duct_bank:
        words = f"{words} wide, {format_length(size.height_m, units)} high"
    if size.is_assumed:
        words = f"{words}, assumed for its type: neither measured nor stated"
    elif size.is_measured:
        words = f"{words}, the largest measured in its test holes"
    else:
        words = f"{words}, as the mark states"
    return RecordMark(
        ref=mark.ref,
        operator=mark.operator.name,
        emergency_phone=mark.operator.emergency_phone,
        facility_name=mark.get_facility_type_display(),
        facility_type=mark.facility_type,
        letter=FACILITY_WORDS.letters[mark.facility_type],
        marked_at=mark.marked_at,
        re_marked_at=mark.re_marked_at,
        located_by=mark.located_by,
        ticket_number="" if mark.ticket is None else mark.ticket.number,
        accuracy_m=mark.horizontal_accuracy_m,
        stated_depth_m=mark.stated_depth_m,
        is_intact=mark.is_intact,
        size_words=words,
    )


def _hole(hole: TestHole) -> RecordHole:
    return RecordHole(
        ref=hole.ref,
        found=hole.found,
        depth_to_top_m=hole.depth_to_top_m,
        dug_depth_m=hole.dug_depth_m,
        outside_width_m=hole.outside_width_m,
        outside_height_m=hole.outside_height_m,
        material=hole.material,
        measured_at=hole.measured_at,
        measured_by=hole.measured_by,
        measured_how=hole.measured_how,
        error_m=hole.error_m,
        is_open=hole.is_open,
        ticket_number="" if hole.ticket is None else hole.ticket.number,
    )
