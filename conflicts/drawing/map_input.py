"""What the map of a job or of a bore is drawn from, as plain values read from the records."""

from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

import shapely


class MapMark(NamedTuple):
    """A painted line or point."""

    mark_id: UUID
    ref: str
    operator: str
    facility_type: str
    stated_width_m: float | None
    stated_height_m: float | None
    is_intact: bool | None
    shape: shapely.Geometry


class MapHole(NamedTuple):
    """A test hole."""

    ref: str
    mark_id: UUID | None
    mark_ref: str | None
    found: bool
    depth_to_top_m: float | None
    dug_depth_m: float | None
    outside_width_m: float | None
    outside_height_m: float | None
    is_open: bool | None
    shape: shapely.Point


class MapFeature(NamedTuple):
    """A surface feature, and the type of the mark that is said to explain it."""

    ref: str
    feature_type: str
    facility_type: str
    explained_by_type: str | None
    signed_off_reason: str
    error_m: float | None
    shape: shapely.Point


class MapTicket(NamedTuple):
    """A ticket and its work area."""

    number: str
    legal_start_at: datetime | None
    expires_at: datetime | None
    ticket_kind: str
    work_finished_at: datetime | None
    is_in_force: bool
    shape: shapely.MultiPolygon


class MapLinework(NamedTuple):
    """A piece of the map's base."""

    feature_type: str
    label: str
    shape: shapely.Geometry


class MapBore(NamedTuple):
    """A bore in plan, and why no crossing of it is drawn, where that is so."""

    bore_id: UUID
    name: str
    final_diameter_m: float
    address: str
    no_crossings_because: str
    finish_at: datetime | None
    shape: shapely.LineString


class MapDrilled(NamedTuple):
    """A path that was drilled: the one in the ground with its band, or an abandoned leg by its name."""

    bore_id: UUID
    leg: str
    words: str
    shape: shapely.LineString
    band: shapely.Polygon | None


class MapPit(NamedTuple):
    """A pit at an end of a bore."""

    bore_id: UUID
    end: str
    depth_m: float | None
    shape: shapely.Polygon


class MapCrossing(NamedTuple):
    """A crossing with its verdict; the position is None where it is not known."""

    bore_id: UUID
    sequence: int
    mark_id: UUID | None
    mark_ref: str
    operator: str
    station_m: float
    worst_case_m: float | None
    required_m: float | None
    verdict: str
    longitude_deg: float | None
    latitude_deg: float | None
    address: str


class MapDrilledCrossing(NamedTuple):
    """A crossing of the hole as drilled; ``is_alone`` where the plan does not meet the line there.

    ``leg`` is the abandoned leg that has it, empty for the rods in the ground; ``is_whole`` says that the
    head has left the line's tolerance zone, ``answered_by`` who signed a variance in force for it.
    ``is_held_to_then`` says that it is held to what was asked when the line was drilled past.
    """

    bore_id: UUID
    leg: str
    is_alone: bool
    is_whole: bool
    answered_by: str
    mark_id: UUID
    mark_ref: str
    operator: str
    station_m: float
    worst_case_m: float | None
    required_m: float
    verdict: str
    longitude_deg: float
    latitude_deg: float
    address: str
    is_held_to_then: bool


@dataclass(frozen=True)
class MapJob:
    """What the drawing must know of the job; ``outside_m`` is the size assumed of each facility type."""

    name: str
    show_units: str
    time_zone: str
    mean_height_m: float | None
    tolerance_zone_m: float | None
    tolerance_is_sure: bool
    reach_m: float | None
    outside_m: dict[str, float]


@dataclass(frozen=True, eq=False)
class MapRecords:
    """Everything that is drawn; ``bore_id`` is the bore whose map it is, or None for the map of a job.

    ``facilities`` are the types in their usual order, each with its letter code and name.
    """

    job: MapJob
    bore_id: UUID | None
    facilities: list[tuple[str, str, str]]
    marks: list[MapMark]
    holes: list[MapHole]
    features: list[MapFeature]
    tickets: list[MapTicket]
    linework: list[MapLinework]
    bores: list[MapBore]
    pits: list[MapPit]
    crossings: list[MapCrossing]
    drilled: list[MapDrilled]
    drilled_crossings: list[MapDrilledCrossing]

    def shapes(self) -> list[shapely.Geometry]:
        """The geometries of all records."""
        lists = (self.marks, self.holes, self.features, self.tickets, self.linework, self.bores, self.pits)
        return [record.shape for records in lists for record in records]
