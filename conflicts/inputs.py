"""Everything that an assessment of one bore rests on, as plain values read from the records.

Their digest tells whether stored figures are still those of the records.
"""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any

from conflicts.hole_passes import HoleSize
from conflicts.site_records import NO_SITE_RECORDS, SiteRecords

Position = tuple[float, float]

# Grows with every change of the program that changes a figure, a verdict or a sentence, so that what an older
# program stored is computed anew.
PROGRAM_VERSION = 11

# Outside size assumed where neither a test hole nor the mark nor the job gives one, m. Common practice, no
# source: on the large side of what is met under streets, for a larger line leaves less clearance.
DEFAULT_OUTSIDE_M = {
    "electric": 0.15,
    "gas_oil_steam": 0.20,
    "communication": 0.15,
    "potable_water": 0.30,
    "reclaimed_water": 0.30,
    "sewer_drain": 0.30,
    "unknown": 0.30,
}

# Separation asked where no requirement of the job fits, m: one foot at a crossing, two alongside.
DEFAULT_CROSSING_M = 0.305
DEFAULT_ALONGSIDE_M = 0.61


@dataclass(frozen=True)
class RuleInput:
    """What the jurisdiction's rule asks of trenchless work."""

    code: str
    version: int
    citation: str
    boring_must_be_declared: bool
    every_line_must_be_exposed: bool
    sewer_camera_required: bool


@dataclass(frozen=True)
class RequirementInput:
    """Separation that a job asks for; no operator or type means any."""

    operator: str | None
    facility_type: str
    crossing_m: float
    alongside_m: float


@dataclass(frozen=True)
class JobInput:
    """A job's settings. ``tolerance_is_sure`` is false where a width from a doubtful rule would be used."""

    name: str
    time_zone: str
    show_units: str
    mean_height_m: float | None
    tolerance_zone_m: float
    tolerance_is_sure: bool
    reach_m: float
    spacing_m: float
    default_outside_m: dict[str, float]
    bore_horizontal_m: float
    bore_vertical_m: float
    test_hole_m: float
    slope_ratio: float
    requirements: tuple[RequirementInput, ...]
    rule: RuleInput


@dataclass(frozen=True)
class RodsInput:
    """A rod-by-rod plan as recorded; a heading is None where the rod follows the alignment."""

    entry_elevation_m: float
    lengths_m: tuple[float, ...]
    pitches_ratio: tuple[float, ...]
    headings_rad: tuple[float | None, ...]


@dataclass(frozen=True)
class RigInput:
    """Limits of the rig, and how far its bit is ahead of the antenna; None where not recorded."""

    rod_length_m: float | None
    bend_radius_m: float | None
    entry_pitch_ratio_min: float | None
    entry_pitch_ratio_max: float | None
    exit_pitch_ratio_min: float | None
    exit_pitch_ratio_max: float | None
    minimum_cover_m: float | None
    bit_lead_m: float | None = None


@dataclass(frozen=True)
class PitInput:
    """A pit at an end of the bore."""

    end: str
    depth_m: float | None
    rings: tuple[tuple[Position, ...], ...]


@dataclass(frozen=True)
class ResponseInput:
    """An operator's latest answer on a ticket, and whether it has marks in the ticket's work area."""

    operator: str
    response: str
    responded_at: datetime | None
    has_marks: bool


@dataclass(frozen=True)
class TicketInput:
    """A ticket of the job; ``polygons`` hold an outer ring and its holes each."""

    number: str
    response_due_at: datetime | None
    legal_start_at: datetime | None
    expires_at: datetime | None
    ticket_kind: str
    work_finished_at: datetime | None
    boring_declared: bool | None
    polygons: tuple[tuple[tuple[Position, ...], ...], ...]
    responses: tuple[ResponseInput, ...]


@dataclass(frozen=True)
class TestHoleInput:
    """A test hole."""

    # Not a test class, whatever its name says to pytest.
    __test__ = False

    ref: str
    found: bool
    depth_to_top_m: float | None
    dug_depth_m: float | None
    outside_width_m: float | None
    outside_height_m: float | None
    ground_elevation_m: float | None
    measured_at: datetime
    error_m: float | None
    is_open: bool | None
    position: Position


@dataclass(frozen=True)
class MarkInput:
    """A mark near the bore, with every test hole dug for it."""

    mark_id: str
    ref: str
    operator: str
    facility_type: str
    stated_width_m: float | None
    stated_height_m: float | None
    horizontal_accuracy_m: float | None
    is_intact: bool | None
    re_marked_at: datetime | None
    points: tuple[Position, ...]
    holes: tuple[TestHoleInput, ...]


@dataclass(frozen=True)
class SurfaceFeatureInput:
    """A surface feature near the bore, and the type of the mark that is said to explain it.

    ``error_m`` is how far off its position may be, None where nobody said.
    """

    ref: str
    feature_type: str
    facility_type: str
    explained_by_type: str | None
    signed_off_reason: str
    error_m: float | None
    position: Position


@dataclass(frozen=True)
class BoreInputs:
    """One bore and all that its assessment reads.

    ``ground`` is the bore's own, by station; ``ground_points`` (longitude, latitude, elevation) are read
    where it is empty. ``stray_holes`` are found test holes near the bore that belong to no mark. ``wider`` is
    how wide the hole is where a pass left it wider than planned somewhere, else None. ``marks_beside`` are
    near what was drilled and not near the plan: no figure of the plan rests on them.
    """

    job: JobInput
    name: str
    alignment: tuple[Position, ...]
    final_diameter_m: float
    ground: tuple[tuple[float, float], ...]
    ground_points: tuple[tuple[float, float, float], ...]
    profile_by: str
    profile: tuple[tuple[float, float], ...]
    rods: RodsInput | None
    rig: RigInput
    planned_finish_at: datetime | None
    pits: tuple[PitInput, ...]
    tickets: tuple[TicketInput, ...]
    marks: tuple[MarkInput, ...]
    stray_holes: tuple[TestHoleInput, ...]
    surface_features: tuple[SurfaceFeatureInput, ...]
    site: SiteRecords = NO_SITE_RECORDS
    wider: HoleSize | None = None
    marks_beside: tuple[MarkInput, ...] = ()

    @property
    def hole(self) -> HoleSize:
        """How wide the hole counts along the plan."""
        return HoleSize((self.final_diameter_m,)) if self.wider is None else self.wider

    def digest(self) -> str:
        """SHA-256 of the program's version and of every input: the same for equal inputs."""
        return self._digest

    @cached_property
    def _digest(self) -> str:
        return _digest_of([PROGRAM_VERSION, self])

    def drilled_digest(self) -> str:
        """The same of all that tells what the drilled hole meets; empty where no rod was ever logged.

        A line that is gone and that a release names is that one's, not the rods'.
        """
        site = self.site
        if site.log is None:
            return ""
        return _digest_of([self.digest(), site.log, site.made, self.marks_beside, site.named])


def _digest_of(grounds: list[Any]) -> str:
    text = json.dumps(
        grounds,
        default=_plain,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    """A dataclass as its members and a moment as UTC text, for the digest."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    members = dict(vars(value))
    # The digest is of what a job file carries: a key of the database is not an input, nor is a deadline or
    # what was recorded at the site, on which no figure and no verdict rests, nor what only the drilled hole
    # meets.
    for left_out in ("mark_id", "response_due_at", "site", "marks_beside"):
        members.pop(left_out, None)
    return members


@dataclass(frozen=True)
class AskedSeparation:
    """A separation that is asked for, and of what: the requirement of the job it is from.

    ``requirement`` is None where no requirement of the job fits and the program's own default counts.
    """

    required_m: float
    requirement: RequirementInput | None


def asked_separation(
    requirements: Iterable[RequirementInput], operator: str, facility_type: str, kind: str
) -> AskedSeparation:
    """Separation that a job asks for from a line; the most specific requirement wins.

    Parameters
    ----------
    requirements : iterable of RequirementInput
    operator, facility_type : str
        Of the line.
    kind : str
        "crossing" or "alongside".

    Notes
    -----
    In order: operator and type, operator, type, neither; then the program's own default.
    """
    by_key = {(one.operator, one.facility_type): one for one in requirements}
    for key in ((operator, facility_type), (operator, ""), (None, facility_type), (None, "")):
        if key in by_key:
            found = by_key[key]
            return AskedSeparation(found.crossing_m if kind == "crossing" else found.alongside_m, found)
    return AskedSeparation(DEFAULT_CROSSING_M if kind == "crossing" else DEFAULT_ALONGSIDE_M, None)
