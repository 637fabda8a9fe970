"""Everything on the page of one crossing: figures with their sums, the cross-section, records behind them."""

from dataclasses import dataclass
from uuid import UUID

from conflicts.checks import Assessed
from conflicts.crossings import FoundCrossing
from conflicts.drawing.section import SectionDrawing, draw_section
from conflicts.drilled import Drilled, DrilledCrossing
from conflicts.to_watch import drilled_at
from conflicts.worked import Worked, worked_figures
from conflicts.worked_verdict import Step, exposure_words, verdict_words
from locates.models import Mark, TestHole


@dataclass(frozen=True, eq=False)
class CrossingSheet:
    """One crossing, its figures worked out, and the records that they are from.

    ``drilled`` is the same crossing as it was drilled; None where the head has not come to it.
    """

    found: FoundCrossing
    section: SectionDrawing
    figures: list[Worked]
    exposure: list[str]
    steps: list[Step]
    mark: Mark
    holes: list[TestHole]
    drilled: DrilledCrossing | None


def read_crossing_sheet(
    assessed: Assessed, sequence: int, drilled: Drilled | None = None
) -> CrossingSheet | None:
    """The sheet of a crossing by its place along the bore, from 0; None where there is none.

    Parameters
    ----------
    assessed : Assessed
    sequence : int
    drilled : Drilled, optional
        What was drilled of the bore.
    """
    if sequence >= len(assessed.crossings):
        return None
    found, job = assessed.crossings[sequence], assessed.scene.inputs.job
    mark = Mark.objects.select_related("operator", "ticket").filter(pk=UUID(found.mark.mark_id)).first()
    if mark is None:
        return None
    return CrossingSheet(
        found=found,
        section=draw_section(assessed.scene, found, drilled),
        figures=worked_figures(found, job),
        exposure=exposure_words(found, job),
        steps=verdict_words(found, job),
        mark=mark,
        holes=list(mark.test_holes.select_related("ticket").order_by("ref")),
        drilled=None if drilled is None else _as_drilled(assessed, found),
    )


def _as_drilled(assessed: Assessed, found: FoundCrossing) -> DrilledCrossing | None:
    """The crossing as it was drilled; of several one that stops."""
    station_m = found.clearance.station_m
    return min(
        drilled_at(assessed, found),
        key=lambda one: (not one.stops, abs(one.station_m - station_m)),
        default=None,
    )
