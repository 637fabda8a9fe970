"""What a clearance record says of the rods that were drilled, as plain values."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class RecordRod:
    """A rod in the ground, with how far its end was off the plan; None where that was not read."""

    number: int
    station_m: float
    length_m: float
    depth_m: float | None
    pitch_ratio: float
    deeper_m: float | None
    right_m: float | None
    vertical_error_m: float
    horizontal_error_m: float
    logged_at: datetime
    logged_by: str
    remarks: str


@dataclass(frozen=True)
class RecordOffPlan:
    """How far rods were off the plan, each told by the rod with the most."""

    name: str
    deeper_m: float | None
    depth_at: str
    vertical_error_m: float | None
    right_m: float | None
    plan_at: str
    horizontal_error_m: float | None


@dataclass(frozen=True)
class RecordDrilledLine:
    """A line held against the path that was drilled.

    ``asked_now_m`` is what is asked for now where it is held to more, as when it was drilled past; else None.
    """

    mark_ref: str
    operator: str
    station_m: float
    verdict: str
    separation_m: float | None
    worst_case_m: float | None
    required_m: float
    asked_now_m: float | None
    is_whole: bool
    excused_by: str


@dataclass(frozen=True)
class RecordLeg:
    """Rods that were pulled back."""

    name: str
    first: int
    last: int
    reason: str
    withdrawn_at: datetime
    withdrawn_by: str


@dataclass(frozen=True)
class RecordLocatorCheck:
    """The locating device held against a measured depth."""

    hole_ref: str
    device: str
    read_depth_m: float
    measured_depth_m: float
    checked_at: datetime
    checked_by: str


@dataclass(frozen=True)
class RecordDrilled:
    """What was drilled beside the plan.

    ``profile_svg`` is "" where nothing can be drawn, and ``problem`` says why; ``corrections_m`` is the most
    that fixes moved it, in plan and in height; ``undone`` counts entries that were taken back.
    """

    profile_svg: str
    profile_words: str
    problem: str
    drilled_m: float | None
    corrections_m: tuple[float, float] | None
    off_plan: tuple[RecordOffPlan, ...]
    lines: tuple[RecordDrilledLine, ...]
    rods: tuple[RecordRod, ...]
    legs: tuple[RecordLeg, ...]
    undone: int
    checks: tuple[RecordLocatorCheck, ...]
