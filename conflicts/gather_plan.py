"""What a profile of a bore is searched from: its records, and those about the way behind its entry."""

from dataclasses import dataclass, replace
from uuid import UUID

import numpy as np
from django.contrib.gis.geos import LineString

from conflicts.engine.frame import frame_about
from conflicts.gather import bores_to_read, inputs_of
from conflicts.gather_rods import gather_rods
from conflicts.inputs import BoreInputs
from conflicts.models import Bore
from conflicts.rod_log import RodLog
from conflicts.snapshot import one_snapshot


@dataclass(frozen=True, eq=False)
class ToPlan:
    """A bore as recorded, and carried straight back with nothing planned, read as one state.

    Attributes
    ----------
    recorded : BoreInputs
    carried_back : BoreInputs
        Its stations begin behind the recorded entry. Beside are the marks that are near what was drilled.
    behind_m : float
        So far behind it.
    log : RodLog
        The rods in the ground.
    """

    recorded: BoreInputs
    carried_back: BoreInputs
    behind_m: float
    log: RodLog


def gather_to_plan(bore_id: UUID, behind_m: float) -> ToPlan:
    """Read a bore and what lies along it and behind it.

    Parameters
    ----------
    bore_id : UUID
    behind_m : float
        How far behind the entry the rig might stand.

    Raises
    ------
    UnassessableError
        A job without any tolerance zone.
    """
    with one_snapshot():
        bores = bores_to_read([bore_id])
        recorded = inputs_of(bores)[bore_id]
        log = gather_rods(bores)[bore_id]
        for bore in bores:
            _carry_back(bore, recorded.job.mean_height_m, behind_m)
        carried_back = inputs_of(bores)[bore_id]
    near_plan = {mark.mark_id for mark in carried_back.marks}
    # Rods are laid from the recorded entry: carried back, they would lead elsewhere.
    known = {mark.mark_id: mark for mark in (*recorded.marks, *recorded.marks_beside)}
    beside = tuple(mark for mark in known.values() if mark.mark_id not in near_plan)
    return ToPlan(recorded, replace(carried_back, marks_beside=beside), behind_m, log)


def _carry_back(bore: Bore, mean_height_m: float | None, behind_m: float) -> None:
    """Lengthen a bore that is not saved, and take its plan away."""
    lon_lat = np.array(bore.alignment.coords)
    frame = frame_about([lon_lat], mean_height_m)
    plan = frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])
    step = plan[1] - plan[0]
    behind = plan[0] - behind_m * step / np.linalg.norm(step)
    bore.alignment = LineString([*frame.to_geographic(behind).tolist(), *lon_lat.tolist()], srid=4326)
    bore.ground_stations_m = [station + behind_m for station in bore.ground_stations_m]
    bore.rod_lengths_m, bore.rod_pitches_ratio, bore.rod_headings_rad = [], [], []
    bore.profile_by = "elevation"
    bore.profile_stations_m, bore.profile_values_m = [0.0, behind_m + bore.alignment_length_m], [0.0, 0.0]
