"""What the tickets of a job cover of one bore, ticket by ticket: now, and until the planned finish."""

from dataclasses import dataclass
from datetime import datetime

from conflicts.engine.coverage import covered_stations, is_covered, uncovered_stations
from conflicts.inputs import TicketInput
from conflicts.ticket_check import TicketCover, is_in_force, why_not_in_force

Ranges = list[tuple[float, float]]


@dataclass(frozen=True)
class TicketSpan:
    """The stations that one ticket's work area covers, and whether the ticket is in force.

    ``lapse`` says why it is not in force from now until the planned finish; it is empty where it is.
    """

    number: str
    covered_m: Ranges
    expires_at: datetime | None
    is_in_force_now: bool
    lapse: str


@dataclass(frozen=True)
class PitCover:
    """Whether a pit lies in the work area of tickets in force now, and of those that last."""

    end: str
    is_covered_now: bool
    is_covered_to_finish: bool


@dataclass(frozen=True)
class CoverageSheet:
    """The cover of a bore.

    Attributes
    ----------
    length_m : float
        Of the bore in plan.
    spans : list of TicketSpan
        The tickets whose work area the bore or a pit of it enters, as the job lists them.
    gaps_now_m, gaps_to_finish_m : list of (from_m, to_m)
        Stations that no ticket in force now covers, and that none covers which lasts until the finish.
    pits : list of PitCover
    finish_at : datetime or None
        The planned finish, if it is known and to come.
    """

    length_m: float
    spans: list[TicketSpan]
    gaps_now_m: Ranges
    gaps_to_finish_m: Ranges
    pits: list[PitCover]
    finish_at: datetime | None

    @property
    def bare_pits(self) -> list[str]:
        """Ends of the bore whose pit no ticket covers until the finish."""
        return [pit.end for pit in self.pits if not pit.is_covered_to_finish]

    @property
    def is_whole(self) -> bool:
        """Whether tickets in force cover every foot and pit until a planned finish that is known."""
        return self.finish_at is not None and not self.gaps_to_finish_m and not self.bare_pits


def coverage_sheet(cover: TicketCover) -> CoverageSheet:
    """The cover of a bore by the tickets that touch it."""
    scene, at = cover.scene, cover.at
    finish_at = scene.inputs.planned_finish_at
    now = [ticket for ticket in cover.touching if is_in_force(ticket, at)]
    area_now, area_lasting = scene.area_m(now), scene.area_m(cover.in_force)
    pits = [(pit.end, scene.polygon_m(pit.rings)) for pit in scene.inputs.pits]
    return CoverageSheet(
        length_m=scene.path.length_m,
        spans=[_span(cover, ticket) for ticket in cover.touching],
        gaps_now_m=uncovered_stations(scene.plan_m, area_now),
        gaps_to_finish_m=cover.gaps_m,
        pits=[PitCover(end, is_covered(pit, area_now), is_covered(pit, area_lasting)) for end, pit in pits],
        finish_at=finish_at if finish_at is not None and finish_at >= at else None,
    )


def _span(cover: TicketCover, ticket: TicketInput) -> TicketSpan:
    return TicketSpan(
        number=ticket.number,
        covered_m=covered_stations(cover.scene.plan_m, cover.scene.area_m([ticket])),
        expires_at=ticket.expires_at,
        is_in_force_now=is_in_force(ticket, cover.at),
        lapse=why_not_in_force(ticket, cover.scene, cover.at) or "",
    )
