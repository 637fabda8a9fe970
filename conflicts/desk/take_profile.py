"""Take a profile as the plan of its bore, in place of the one that it had."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.gis.geos import LineString, Polygon
from django.db import transaction

from conflicts.alignment import alignment_length_m
from conflicts.engine.frame import FloatArray, GroundFrame, chainages_m, frame_about
from conflicts.engine.path import distinct_points
from conflicts.engine.profile_arcs import RodProfile
from conflicts.exchange.record_beside import bore_faults_beside
from conflicts.models import Bore, Pit
from conflicts.models.pit import PitEnd
from locates.desk.save_record import save_record
from locates.errors import JobFileError

# The rig that stands nearer to the recorded entry than this has not been moved, m.
NOT_MOVED_M = 1e-6


class PlanFaultsError(Exception):
    """A profile that the job file's rules refuse as a plan."""

    def __init__(self, faults: list[JobFileError]) -> None:
        self.faults = faults
        super().__init__("; ".join(map(str, faults)))


@dataclass(frozen=True)
class MovedPit:
    """An entry pit that goes with the entry, as it was opened."""

    pit: Pit
    opened_version: int


def take_profile(
    bore: Bore,
    rods: RodProfile,
    *,
    by: AbstractBaseUser,
    opened_version: int,
    moved_pit: MovedPit | None = None,
) -> None:
    """Store a profile as a bore's rods, with its entry where the profile has it.

    The rig's limits stay as they are recorded. Everything that rests on the bore is told. Both records are
    stored, or none.

    Raises
    ------
    PlanFaultsError
        Rods that the job file's rules refuse.
    ChangedMeanwhileError, RetiredMeanwhileError, ValidationError
        As `save_record`; the last also where what is in the ground would move, or the bore is closed out.
    """
    before = bore.alignment
    plan_by_rods(bore, rods)
    faults = bore_faults_beside(bore)
    if faults:
        raise PlanFaultsError(faults)
    with transaction.atomic():
        save_record(bore, by=by, opened_version=opened_version)
        if moved_pit is not None:
            moved_pit.pit.area = area_with_entry(moved_pit.pit.area, before, bore)
            save_record(moved_pit.pit, by=by, opened_version=moved_pit.opened_version)


def entry_moves(rods: RodProfile) -> bool:
    """Whether a profile begins elsewhere than at the recorded entry."""
    return abs(rods.entry_station_m) >= NOT_MOVED_M


def entry_pit_of(bore: Bore) -> Pit | None:
    """The pit at the entry of a bore; None where none is recorded."""
    return Pit.objects.filter(bore=bore, end=PitEnd.ENTRY).first()


def area_with_entry(area: Polygon, before: LineString, bore: Bore) -> Polygon:
    """A pit's area as it lies about the entry that moved as it lay about the one before.

    It is turned with the first stretch, where the alignment bends between both.
    """
    frame = frame_about([before.coords, bore.alignment.coords], bore.job.mean_height_m)
    (old, old_rad), (new, new_rad) = (_begin(frame, line) for line in (before, bore.alignment))
    turn = new_rad - old_rad
    # Headings turn clockwise, from north.
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])

    def moved(ring: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        lon_lat = np.array(ring)
        places = frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])
        corners = frame.to_geographic(new + (places - old) @ turned.T).tolist()
        return [tuple(one) for one in [*corners[:-1], corners[0]]]

    return Polygon(*(moved(ring) for ring in area.coords), srid=area.srid)


def _begin(frame: GroundFrame, line: LineString) -> tuple[FloatArray, float]:
    """Where a line begins, and where it heads there."""
    lon_lat = np.array(line.coords)
    plan = distinct_points(frame.to_ground(lon_lat[:, 0], lon_lat[:, 1]))
    ahead = plan[1] - plan[0]
    return plan[0], float(np.arctan2(ahead[0], ahead[1]))


def plan_by_rods(bore: Bore, rods: RodProfile) -> None:
    """Put a profile into a bore that is not saved."""
    if entry_moves(rods):
        _move_entry(bore, rods.entry_station_m)
    bore.profile_by, bore.profile_stations_m, bore.profile_values_m = "", [], []
    bore.rods_entry_elevation_m = rods.entry_elevation_m
    bore.rod_lengths_m = [0.0, *(float(one) for one in rods.lengths_m)]
    bore.rod_pitches_ratio = [float(np.tan(one)) for one in rods.angles_rad]
    bore.rod_headings_rad = [None] * len(bore.rod_lengths_m)


def is_planned_so(bore: Bore, rods: RodProfile) -> bool:
    """Whether a bore has these very rods from its recorded entry."""
    lengths = [0.0, *(float(one) for one in rods.lengths_m)]
    pitches = [float(np.tan(one)) for one in rods.angles_rad]
    return bore.rod_lengths_m == lengths and bore.rod_pitches_ratio == pitches


def _move_entry(bore: Bore, station_m: float) -> None:
    """Begin a bore at a station of its alignment, or behind it in line with its first stretch."""
    lon_lat = np.array(bore.alignment.coords)
    frame = frame_about([lon_lat], bore.job.mean_height_m)
    plan = frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])
    begin = frame.to_geographic(_place_m(plan, station_m))[0]
    kept = lon_lat[1:] if station_m < 0.0 else lon_lat[chainages_m(plan) > station_m + NOT_MOVED_M]
    bore.alignment = LineString([*map(tuple, [begin, *kept])], srid=4326)
    bore.alignment_length_m = alignment_length_m(bore.alignment.coords, bore.job.mean_height_m)
    bore.ground_stations_m, bore.ground_elevations_m = _ground_from(bore, station_m)


def _place_m(plan_m: FloatArray, station_m: float) -> FloatArray:
    chainage = chainages_m(plan_m)
    if station_m < 0.0:
        ahead = (plan_m[1] - plan_m[0]) / chainage[1]
        return (plan_m[0] + station_m * ahead)[None, :]
    return np.array([[np.interp(station_m, chainage, plan_m[:, axis]) for axis in range(2)]])


def _ground_from(bore: Bore, station_m: float) -> tuple[list[float], list[float]]:
    """The bore's own ground from its new entry on, held before its first point as it was."""
    stations, elevations = np.array(bore.ground_stations_m), np.array(bore.ground_elevations_m)
    if len(stations) == 0:
        return [], []
    begins_at = float(np.interp(station_m, stations, elevations))
    ahead = stations > station_m + NOT_MOVED_M
    return (
        [0.0, *(float(one) - station_m for one in stations[ahead])],
        [begins_at, *map(float, elevations[ahead])],
    )
