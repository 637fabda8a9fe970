"""Profiles as the pages show them: drawn and in words, changed by hand, held beside each other."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from conflicts.drawing.profile import ProfileDrawing, draw_profile, spread_of
from conflicts.drawing.profile_lines import FacilityWords
from conflicts.engine.profile_arcs import RodProfile
from conflicts.plan_ground import PlanGround
from conflicts.plan_sheet import LineRow, PlanSheet, plan_sheet
from conflicts.plan_text import (
    PER_RATIO,
    NoPlanError,
    PitchEdit,
    PlanTextError,
    edited,
    read_edits,
    read_plan,
    written_edits,
    written_plan,
)
from conflicts.planned_profile import PlannedProfile
from conflicts.sentences import line_name, station_words
from locates.angles import parse_pitch_ratio
from locates.errors import GradeError

# What another profile may be: the planned one, the one before any change by hand, or one kept from before.
PLANNED, START, KEPT = "planned", "start", "kept"


@dataclass(frozen=True, eq=False)
class ShownPlan:
    """A profile drawn and in words; ``text`` is its text for an address, empty where it has no rods.

    ``moves_entry`` says that the rig stands elsewhere than recorded.
    """

    sheet: PlanSheet
    drawing: ProfileDrawing
    svg: SafeString
    axis_svg: SafeString
    text: str
    moves_entry: bool


@dataclass(frozen=True, eq=False)
class HandPlan:
    """A profile whose pitches were changed by hand: the text that it began as, and the changes in order.

    ``drilled`` of its rods are in the ground: their pitches stay.
    """

    text: str
    edits: tuple[PitchEdit, ...]
    profile: PlannedProfile
    rods: RodProfile
    drilled: int = 0

    @property
    def edits_text(self) -> str:
        """The changes as a text."""
        return written_edits(self.edits)

    @property
    def edits_before(self) -> str:
        """The changes but for the last."""
        return written_edits(self.edits[:-1])


@dataclass(frozen=True)
class HoleWanted:
    """A line of unknown depth that a search met, with where to dig."""

    name: str
    mark_ref: str
    blocks: str
    sentence: str


def shown_plan(
    profile: PlannedProfile, words: FacilityWords, name: str = "", beside: PlannedProfile | None = None
) -> ShownPlan:
    """A profile drawn and in words; ``name`` begins names in its picture, one beside it shares its scale."""
    drawing = draw_profile(
        profile.scene,
        list(profile.crossings),
        words,
        shows_rods=profile.rods is not None,
        name=name,
        beside=None if beside is None else spread_of(beside.scene, list(beside.crossings), beside.entry_m),
        entry_m=profile.entry_m,
    )
    return ShownPlan(
        sheet=plan_sheet(profile),
        drawing=drawing,
        # Markup of ours, in which every text of a record is escaped.
        svg=mark_safe(drawing.svg),  # noqa: S308
        axis_svg=mark_safe(drawing.axis_svg),  # noqa: S308
        text="" if profile.rods is None else written_plan(profile.rods),
        moves_entry=abs(profile.entry_m) > 0.0,
    )


def by_hand(ground: PlanGround, text: str, edits_text: str, rod: str = "", percent: str = "") -> HandPlan:
    """A profile with its pitches changed, and measured; with no text that of the bore's own rods.

    Raises
    ------
    NoPlanError
        No text, and a bore without rods of its own.
    PlanTextError
        Texts that stand for no profile or no change, or a pitch that is none.
    EngineError
        Rods that no path can be built from.
    """
    if not text:
        text = _own_text(ground)
    start = read_plan(text)
    edits = read_edits(edits_text, len(start.lengths_m))
    if rod:
        pitch = pitch_ratio(percent)
        edits = read_edits(
            ".".join(filter(None, (edits_text, f"{rod}~{round(pitch * PER_RATIO)}"))), len(start.lengths_m)
        )
    drilled = ground.head.count if ground.head is not None and ground.head.is_kept_by(start) else 0
    fixed = next((one.rod for one in edits if drilled and one.rod <= drilled), None)
    if fixed is not None:
        raise PlanTextError("changed pitch", f"rod {fixed}", f"a rod past {drilled}, the last in the ground")
    rods = edited(start, edits, ground.exit_station_m, drilled)
    return HandPlan(text, edits, ground.measured(rods), rods, drilled)


def _own_text(ground: PlanGround) -> str:
    planned = ground.planned().rods
    if planned is None:
        raise NoPlanError
    return written_plan(planned)


def pitch_ratio(typed: str) -> float:
    """A pitch as a box holds it: a bare figure is in percent, as the box says.

    Raises
    ------
    PlanTextError
        Anything else, or more than 100 %.
    """
    text = typed.strip()
    try:
        found = parse_pitch_ratio(text if text[-1:] in ("%", "°", "g", "s") else f"{text} %")
    except GradeError as error:
        raise PlanTextError("pitch", typed, "percent such as -12.5, or degrees such as -7.1 deg") from error
    if abs(found) > 1.0:
        raise PlanTextError("pitch", typed, "100 % at most, up or down")
    return found


def holes_wanted(ground: PlanGround, found: PlannedProfile) -> list[HoleWanted]:
    """The lines of unknown depth that a search met, each with where to dig by the recorded profile."""
    if found.demands is None:
        return []
    units = found.inputs.job.show_units
    dig = {one.mark.mark_id: one.sentence for one in ground.planned().crossings}
    return [
        HoleWanted(
            name=line_name(line.mark.operator, line.mark.ref),
            mark_ref=line.mark.ref,
            blocks=f"{station_words(line.from_m, units)} to {station_words(line.to_m, units)}",
            sentence=dig.get(line.mark.mark_id, "Have its depth measured where the bore would pass it."),
        )
        for line in found.demands.lines
        if not line.depth_is_known
    ]


def compared(ground: PlanGround, asked: Mapping[str, Any], words: FacilityWords) -> dict[str, Any]:
    """Two profiles of a bore, drawn, and their figures in pairs.

    Raises
    ------
    NoPlanError
        No text, and a bore without rods of its own.
    PlanTextError
        Texts that stand for no profile.
    """
    text, edits = asked.get("plan", ""), asked.get("edits", "")
    one = by_hand(ground, text, edits)
    beside = asked.get("beside", PLANNED)
    if beside == START:
        other, title = by_hand(ground, text, "").profile, "Before the changes by hand"
    elif beside == KEPT:
        other, title = by_hand(ground, asked.get("kept", ""), "").profile, "Kept before"
    else:
        beside, other, title = PLANNED, ground.planned(), "The bore's plan now"
    first = shown_plan(one.profile, words, "one-", beside=other)
    second = shown_plan(other, words, "other-", beside=one.profile)
    return {
        "plan": one,
        "beside": beside,
        "kept": asked.get("kept", ""),
        "sides": (("This profile", "one-", first), (title, "other-", second)),
        "facts": _paired(dict(first.sheet.facts), dict(second.sheet.facts)),
        "margins": _margins(first.sheet.lines, second.sheet.lines),
    }


def _paired(one: Mapping[str, str], other: Mapping[str, str]) -> list[tuple[str, str, str]]:
    return [(label, one.get(label, ""), other.get(label, "")) for label in {**one, **other}]


def _margins(
    one: tuple[LineRow, ...], other: tuple[LineRow, ...]
) -> list[tuple[LineRow, LineRow | None, LineRow | None]]:
    """Every meeting with a line, with its margin in both, the least of the first profile first.

    A line that is met twice stands twice: what belongs together is of one line and shares stations.
    """
    left = list(other)
    pairs: list[tuple[LineRow | None, LineRow | None]] = []
    for row in one:
        same = max(
            (each for each in left if _shared_m(row, each) >= 0.0), key=partial(_shared_m, row), default=None
        )
        if same is not None:
            left.remove(same)
        pairs.append((row, same))
    pairs += [(None, each) for each in left]
    return [(first or second, first, second) for first, second in pairs]


def _shared_m(one: LineRow, other: LineRow) -> float:
    """How long a stretch two meetings share; below 0 where they have none, or are of two lines."""
    if one.mark_id != other.mark_id:
        return -1.0
    return min(one.to_m, other.to_m) - max(one.from_m, other.from_m)
