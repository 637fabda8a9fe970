"""The clearance record of a bore: all that it says, as plain values, and the digests that name it."""

import hashlib
import json
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import UTC, datetime
from typing import Any

from conflicts.record.chain_sheet import RecordChain
from conflicts.record.drilled_sheet import RecordDrilled
from conflicts.record.passes import RecordPasses
from conflicts.worked import Worked
from conflicts.worked_verdict import Step

# Grows with every change of the program that changes what a record says or how it looks, so that one that was
# made before is not taken for the same.
RECORD_VERSION = 20

MOST_HOLES_WRITTEN_LARGE = 2

NO_MOMENT = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Picture:
    """A drawing as a file of its own, and the words for who does not see it."""

    svg: str
    words: str


@dataclass(frozen=True)
class RecordPhoto:
    """A photo as it is printed: a copy without its private metadata, and what tells of the original."""

    of: str
    file_name: str
    sha256: str
    taken_at: datetime | None
    place: str
    kept_at: datetime
    kept_by: str
    print_copy: bytes


@dataclass(frozen=True)
class RecordHole:
    """A test hole on a line."""

    ref: str
    found: bool
    depth_to_top_m: float | None
    dug_depth_m: float | None
    outside_width_m: float | None
    outside_height_m: float | None
    material: str
    measured_at: datetime
    measured_by: str
    measured_how: str
    error_m: float | None
    is_open: bool | None
    ticket_number: str


@dataclass(frozen=True)
class RecordMark:
    """A mark as it was logged."""

    ref: str
    operator: str
    emergency_phone: str
    facility_name: str
    facility_type: str
    letter: str
    marked_at: datetime
    re_marked_at: datetime | None
    located_by: str
    ticket_number: str
    accuracy_m: float | None
    stated_depth_m: float | None
    is_intact: bool | None
    size_words: str


@dataclass(frozen=True)
class RecordWatch:
    """One pass of head or reamer watched in the open test hole."""

    pass_made: str
    seen: bool
    gap_m: float | None
    required_m: float
    head_depth_m: float | None
    watched_by: str
    watched_at: datetime
    remarks: str
    confirmed: tuple[str, ...]


@dataclass(frozen=True)
class RecordCamera:
    """A camera inspection of a gravity sewer."""

    stage: str
    result: str
    inspected_at: datetime
    inspected_by: str
    remarks: str


@dataclass(frozen=True)
class RecordUnplanned:
    """A crossing not of the plan: gone since a release or a rod named it, or of the drilled hole alone."""

    mark_ref: str
    operator: str
    kind: str
    station_m: float
    verdict: str
    worst_case_m: float | None
    required_m: float
    named_at: datetime | None
    met_by_rod: int | None
    excused_by: str
    passes_needed: tuple[str, ...]
    watches: tuple[RecordWatch, ...]
    cameras: tuple[RecordCamera, ...]
    photos: tuple[RecordPhoto, ...]


@dataclass(frozen=True)
class RecordCrossing:
    """One crossing: its members of the assessment document, their sums, and the records behind them."""

    number: int
    figures: dict[str, Any]
    mark: RecordMark
    sums: tuple[Worked, ...]
    exposure: tuple[str, ...]
    steps: tuple[Step, ...]
    holes: tuple[RecordHole, ...]
    section: Picture
    section_key: tuple[tuple[str, str], ...]
    passes_needed: tuple[str, ...]
    watches: tuple[RecordWatch, ...]
    cameras: tuple[RecordCamera, ...]
    photos: tuple[RecordPhoto, ...]

    @property
    def has_room(self) -> bool:
        """Whether so little stands with it that its page can be written larger."""
        is_more = bool(self.watches or self.cameras or self.photos)
        return len(self.holes) <= MOST_HOLES_WRITTEN_LARGE and not is_more


@dataclass(frozen=True)
class RecordResponse:
    """An operator's answer in the history of a ticket."""

    operator: str
    answer: str
    responded_at: datetime | None
    answered_by: str
    note: str
    counts: bool


@dataclass(frozen=True)
class RecordTicket:
    """A ticket of the job with every answer on it."""

    number: str
    kind: str
    called_at: datetime | None
    legal_start_at: datetime | None
    response_due_at: datetime | None
    expires_at: datetime | None
    boring_declared: bool | None
    override_reason: str
    is_in_force: bool
    responses: tuple[RecordResponse, ...]


@dataclass(frozen=True)
class RecordSignature:
    """Something that was signed: what, by whom, when, on which grounds, and how it stands."""

    what: str
    signed_by: str
    signed_at: datetime
    says: tuple[str, ...]
    grounds_digest: str
    standing: str
    shift_from: datetime | None = None
    shift_until: datetime | None = None


@dataclass(frozen=True)
class RecordEvidence:
    """A photo or a paper of a variance, and in words whether its signature covers it; gone ones unkept."""

    what: str
    file_name: str
    sha256: str
    kept_at: datetime | None
    kept_by: str
    standing: str


@dataclass(frozen=True)
class RecordVariance:
    """A reasoned exception, asked for by one person and signed by another."""

    subject: str
    reason: str
    evidence: str
    requested_by: str
    requested_at: datetime
    signed_by: str
    signed_at: datetime | None
    valid_from: datetime | None
    valid_until: datetime | None
    bound_to: str
    standing: str
    files: tuple[RecordEvidence, ...]
    photos: tuple[RecordPhoto, ...]


@dataclass(frozen=True)
class RecordWalk:
    """A walk along the bore on a day of drilling."""

    walked_at: datetime
    walked_by: str
    marks_intact: bool
    device_checked: bool
    device: str
    holes_open: bool
    remarks: str
    photos: tuple[RecordPhoto, ...]


@dataclass(frozen=True)
class RecordDamage:
    """What somebody told of a line that was damaged, or nearly.

    ``names_bore`` is whether it names this bore; one that names none may be of it.
    """

    kind: str
    happened_at: datetime
    facility_name: str
    mark_ref: str
    operator: str
    names_bore: bool
    place: str
    what_happened: str
    who_was_called: str
    reported_by: str
    entered_at: datetime
    photos: tuple[RecordPhoto, ...]


@dataclass(frozen=True)
class RecordCheck:
    """One of the checks behind a release."""

    title: str
    holds: bool
    sentence: str


@dataclass(frozen=True)
class RecordVerdict:
    """What the cover says: a headline, whether it stops the work, and what there is to add."""

    headline: str
    stops: bool
    because: tuple[str, ...]


@dataclass(frozen=True)
class RecordJob:
    """The job that the bore is part of, and the settings that its figures rest on."""

    name: str
    organisation: str
    time_zone: str
    show_units: str
    datum: str
    rule: str
    rule_citation: str
    rule_checked_on: str
    tolerance_zone_m: float
    reach_m: float
    spacing_m: float
    bore_horizontal_m: float
    bore_vertical_m: float
    test_hole_m: float
    slope_ratio: float


@dataclass(frozen=True)
class RecordBore:
    """The bore as planned."""

    name: str
    length_m: float
    final_diameter_m: float
    pilot_diameter_m: float | None
    product: str
    planned_start_at: datetime | None
    planned_finish_at: datetime | None


@dataclass(frozen=True)
class ClearanceRecord:
    """Everything that the clearance record of one bore says, as of one moment."""

    as_of: datetime
    job: RecordJob
    bore: RecordBore
    verdict: RecordVerdict
    assessment_digest: str
    checks: tuple[RecordCheck, ...]
    coverage_gaps_m: tuple[tuple[float, float], ...]
    signatures: tuple[RecordSignature, ...]
    not_borne_out: tuple[str, ...]
    plan: Picture
    profile: Picture
    drilled: RecordDrilled | None
    passes: RecordPasses | None
    crossings: tuple[RecordCrossing, ...]
    gone: tuple[RecordUnplanned, ...]
    drilled_alone: tuple[RecordUnplanned, ...]
    tickets: tuple[RecordTicket, ...]
    variances: tuple[RecordVariance, ...]
    walks: tuple[RecordWalk, ...]
    lost_watches: tuple[RecordWatch, ...]
    damage: tuple[RecordDamage, ...]
    photos: tuple[RecordPhoto, ...]
    chain: RecordChain

    def inputs_digest(self) -> str:
        """SHA-256 of the program's version and of all that the record says, its moment included."""
        return _digest([RECORD_VERSION, self])

    def said_digest(self) -> str:
        """The same without the moment: equal where nothing that the record says has changed since."""
        return _digest([RECORD_VERSION, replace(self, as_of=NO_MOMENT)])

    def formulas(self) -> list[tuple[str, str]]:
        """Each formula that a figure of a crossing is worked out by, with the figure's name, once."""
        found: dict[str, dict[str, None]] = {}
        for one in (one for crossing in self.crossings for one in crossing.sums if one.formula):
            found.setdefault(one.name, {})[one.formula] = None
        return [(name, formula) for name, formulas in found.items() for formula in formulas]

    def all_photos(self) -> list[RecordPhoto]:
        """Every photo that is printed, in the order of the pages."""
        groups = (self.variances, self.walks, self.gone, self.damage, self.drilled_alone, self.crossings)
        return [*self.photos, *(photo for group in groups for one in group for photo in one.photos)]


def _digest(value: Any) -> str:
    text = json.dumps(
        value, default=_plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    """What JSON does not know: a dataclass as its members, a moment as UTC text, bytes as their digest."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, bytes):
        return hashlib.sha256(value).hexdigest()
    if is_dataclass(value):
        return {one.name: getattr(value, one.name) for one in fields(value)}
    raise TypeError(f"A clearance record holds no {type(value).__name__}.")
