"""The draft of a ticket for the ground of a bore that no ticket in force covers until its planned finish."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.coverage_sheet import CoverageSheet
from conflicts.desk.corridor import corridor_along
from conflicts.engine.coverage import LEAST_GAP_M
from conflicts.models import Bore
from conflicts.models.pit import PitEnd
from conflicts.scene import Scene
from locates.models import Ticket
from locates.models.ticket import TicketKind

# To each side of the bore and of its pits, and past the ends of a stretch: it overlaps the ticket beside it.
CORRIDOR_M = 3.0
METHOD = "horizontal directional drilling"
SAMPLE_M = 0.5


@dataclass(frozen=True)
class ToDraft:
    """Stations, from and to, and ends with a pit, that a ticket is to be called in for."""

    stretches_m: list[tuple[float, float]]
    pit_ends: list[str]

    def __bool__(self) -> bool:
        """Whether there is anything to call in."""
        return bool(self.stretches_m or self.pit_ends)


def to_draft(sheet: CoverageSheet, gaps: Sequence[str]) -> ToDraft:
    """What a ticket is to be called in for: the gaps that were named, else all there are.

    ``gaps`` are named as by `gap_name`; a pit goes with the gap at its end.
    """
    stretches = sheet.gaps_to_finish_m
    pits = sheet.bare_pits
    if gaps:
        stretches = [one for one in stretches if gap_name(one) in gaps]
        ends_m = {PitEnd.ENTRY: 0.0, PitEnd.EXIT: sheet.length_m}
        pits = [end for end in pits if any(_reaches(one, ends_m[PitEnd(end)]) for one in stretches)]
    return ToDraft(stretches, pits)


def gap_name(gap_m: tuple[float, float]) -> str:
    """A gap as an address names it: its stations to the millimetre."""
    return f"{gap_m[0]:.3f}-{gap_m[1]:.3f}"


def _reaches(stretch_m: tuple[float, float], station_m: float) -> bool:
    return stretch_m[0] - LEAST_GAP_M <= station_m <= stretch_m[1] + LEAST_GAP_M


def draft_ticket(bore: Bore, scene: Scene, wanted: ToDraft) -> Ticket:
    """An unsaved ticket with its work area.

    Whether the boring was declared is left open: nobody has told the centre yet.
    """
    return Ticket(
        job=bore.job,
        ticket_kind=TicketKind.ROUTINE,
        area=corridor_along(bore, wanted.stretches_m, wanted.pit_ends, CORRIDOR_M),
        stated_depth_m=deepest_m(scene, wanted),
        stated_method=METHOD,
    )


def deepest_m(scene: Scene, wanted: ToDraft) -> float:
    """Depth of the hole's bottom below the ground where it is deepest, or of the deepest pit."""
    path = scene.path
    stations = np.union1d(np.arange(0.0, path.length_m, SAMPLE_M), path.stations_m)
    depth = scene.ground.at(stations) - np.interp(stations, path.stations_m, path.points_m[:, 2])
    inside = np.zeros(len(stations), dtype=bool)
    for low, high in wanted.stretches_m:
        inside |= (stations >= low - SAMPLE_M) & (stations <= high + SAMPLE_M)
    floors = [pit.depth_m or 0.0 for pit in scene.inputs.pits if pit.end in wanted.pit_ends]
    holes = (depth[inside] + scene.bore_radius_m).tolist()
    return float(max([*holes, *floors, 0.0]))
