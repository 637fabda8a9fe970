"""A profile in words: what it comes to, rod by rod for the operator, and line by line with its margins."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from conflicts.crossings import FoundCrossing
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.verdict import Verdict
from conflicts.planned_profile import PlannedProfile, margin_of
from conflicts.sentences import line_name
from locates.minus import plain_minus
from locates.units import format_grade, format_length, format_station

# Higher above the ground than this a hole does not begin or end, m: less than anybody measures.
OUT_OF_GROUND_M = 0.02
NO_LINES = (
    "No logged line comes within a tolerance zone of it. That is what the records say, not that nothing is "
    "buried here."
)


@dataclass(frozen=True)
class RodRow:
    """A joint of the table: the entry, or the far end of a rod.

    Attributes
    ----------
    number : int
        Of the rod; 0 is the entry.
    length : str
        Of a rod that is not as long as the longest; empty for the others.
    station, depth, pitch, change : str
    percent : str
        The pitch as a box for numbers holds it.
    near : str
        Lines beside the rod.
    """

    number: int
    length: str
    station: str
    depth: str
    pitch: str
    change: str
    percent: str
    near: str


@dataclass(frozen=True)
class LineRow:
    """A line with its margin over what is required, in the worst case; None where its depth is unknown.

    ``number`` is its place along the bore, from 1; it reaches from ``from_m`` to ``to_m``, counted as the
    stations are.
    """

    number: int
    name: str
    mark_id: str
    facility_type: str
    kind: str
    station: str
    from_m: float
    to_m: float
    passes: str
    worst_case: str
    required: str
    margin: str
    margin_m: float | None
    verdict: Verdict
    sentence: str


@dataclass(frozen=True)
class PlanSheet:
    """A profile in words.

    Attributes
    ----------
    answer : str
        What its least margin is, or what of it is not known.
    brief : str
        The same in a few words.
    is_enough : bool
        Every line of it is clear, and the rig can drill it.
    facts : tuple of (str, str)
        What is told of it, and what that is.
    faults : tuple of str
        Why it cannot be drilled as it is.
    rods : tuple of RodRow
        Empty for a profile of vertices.
    lines : tuple of LineRow
        Those of unknown depth first, then by margin.
    """

    answer: str
    brief: str
    is_enough: bool
    facts: tuple[tuple[str, str], ...]
    faults: tuple[str, ...]
    rods: tuple[RodRow, ...]
    lines: tuple[LineRow, ...]


def plan_sheet(given: PlannedProfile) -> PlanSheet:
    """A profile in words.

    Parameters
    ----------
    given : PlannedProfile
        With its scene.
    """
    units = given.inputs.job.show_units
    lines = _lines(given, units)
    faults = (*given.faults, *_out_of_ground(given, units))
    return PlanSheet(
        answer=f"It breaks a limit. {_answer(lines, units)}" if faults else _answer(lines, units),
        brief=_brief(lines, len(faults), units),
        is_enough=not faults and all(one.verdict is Verdict.CLEAR for one in lines),
        facts=_facts(given, units),
        faults=faults,
        rods=_rods(given, given.rods, units) if given.rods is not None else (),
        lines=lines,
    )


def margin_words(margin_m: float | None, show_units: str) -> str:
    """A margin over what is required, as to spare or as short; unknown is never to spare.

    Parameters
    ----------
    margin_m : float or None
    show_units : str
    """
    if margin_m is None:
        return "unknown"
    if margin_m < 0.0:
        return f"{format_length(-margin_m, show_units, 'up')} short"
    return f"{format_length(margin_m, show_units, 'down')} to spare"


def _brief(lines: Sequence[LineRow], faults: int, units: str) -> str:
    parts = []
    if faults:
        parts.append(f"{faults} limit{'' if faults == 1 else 's'} broken")
    unknown = sum(one.margin_m is None for one in lines)
    if unknown:
        parts.append(f"{unknown} of unknown depth")
    known = [one.margin_m for one in lines if one.margin_m is not None]
    parts.append(f"least room: {margin_words(min(known), units)}" if known else "no line of known depth near")
    return "; ".join(parts)


def _answer(lines: Sequence[LineRow], units: str) -> str:
    unknown = [one.name for one in lines if one.margin_m is None]
    known = [one for one in lines if one.margin_m is not None]
    if not lines:
        return NO_LINES
    parts = []
    if unknown:
        names = ", ".join(dict.fromkeys(unknown))
        parts.append(f"Of unknown depth: {names}. Nothing says that this profile misses what lies there.")
    if known:
        least = known[0]
        words = margin_words(least.margin_m, units)
        others = "" if not unknown else "Of the others, "
        first = "the least margin" if unknown else "The least margin"
        parts.append(f"{others}{first} above what is required, in the worst case: {words}, at {least.name}.")
    told = (Verdict.CLEAR, Verdict.SHORT, Verdict.OVERLAP)
    doubted = [one for one in known if one.verdict not in told]
    if doubted:
        names = ", ".join(f"{one.name} ({one.verdict})" for one in doubted)
        parts.append(f"Not clear all the same: {names}.")
    return " ".join(parts)


def _facts(given: PlannedProfile, units: str) -> tuple[tuple[str, str], ...]:
    scene = given.scene
    if scene is None:
        return ()
    stations, heights = scene.path.stations_m, scene.path.points_m[:, 2]
    depth = scene.ground.at(stations) - heights
    found = [("Length in plan", format_length(scene.path.length_m, units))]
    if given.rods is not None:
        found += [
            ("Rods", f"{len(given.rods.lengths_m)}, {format_length(given.rods.length_m, units)} of them"),
            ("Largest pitch change a rod", _change_words(given.rods)),
        ]
        entry_m = given.entry_m
        if abs(entry_m) >= 0.5e-3:
            side = "behind" if entry_m < 0.0 else "after"
            found.append(
                ("The rig stands", f"{format_length(abs(entry_m), units)} {side} the recorded entry")
            )
    steepest = float(np.abs(np.diff(heights) / np.diff(stations)).max())
    return (
        *found,
        ("Steepest pitch", format_grade(steepest)),
        ("Deepest, hole's centre", format_length(float(depth.max()), units)),
        ("Begins", _end_words(float(depth[0]), units)),
        ("Ends", _end_words(float(depth[-1]), units)),
    )


def _change_words(rods: RodProfile) -> str:
    """In percent, as the locating device shows it, and as the angle that the rod bends by."""
    largest = float(np.abs(np.diff(np.tan(rods.angles_rad))).max())
    angle_deg = float(np.degrees(np.abs(rods.turns_rad).max()))
    return f"{format_grade(largest)}, or {angle_deg:.1f}\N{DEGREE SIGN}"


def _end_words(depth_m: float, units: str) -> str:
    if abs(depth_m) <= OUT_OF_GROUND_M:
        return "at the surface"
    side = "below" if depth_m > 0.0 else "above"
    return f"{format_length(abs(depth_m), units)} {side} the ground"


def _out_of_ground(given: PlannedProfile, units: str) -> list[str]:
    """Where the hole's centre lies above the ground."""
    scene = given.scene
    if scene is None:
        return []
    above = scene.path.points_m[:, 2] - scene.ground.at(scene.path.stations_m)
    highest = int(above.argmax())
    if above[highest] <= OUT_OF_GROUND_M:
        return []
    where = format_station(float(scene.path.stations_m[highest]) + given.entry_m, units)
    return [
        f"At station {where} it lies {format_length(float(above[highest]), units, 'up')} above the ground."
    ]


def _rods(given: PlannedProfile, rods: RodProfile, units: str) -> tuple[RodRow, ...]:
    stations, elevations = rods.joints_m()
    pitches = np.tan(rods.angles_rad)
    depths = given.ground.at(stations) - elevations
    # The last rod in the ground is told as far as the bit, past its end.
    left = rods.lengths_m[given.drilled_rods :]
    whole_m = float((left if len(left) else rods.lengths_m).max())
    rows = []
    for number, (station, depth, pitch) in enumerate(zip(stations, depths, pitches, strict=True)):
        is_entry = number == 0
        rows.append(
            RodRow(
                number=number,
                length="" if is_entry else _cut_length(float(rods.lengths_m[number - 1]), whole_m, units),
                station=format_station(float(station), units),
                depth=format_length(float(depth), units),
                pitch=format_grade(float(pitch)),
                change="" if is_entry else format_grade(float(pitch - pitches[number - 1])),
                percent=plain_minus(format_grade(float(pitch))).removesuffix("%").strip(),
                near="" if is_entry else _near(given, float(stations[number - 1]), float(station)),
            )
        )
    return tuple(rows)


def _cut_length(length_m: float, whole_m: float, units: str) -> str:
    """How much of a rod is drilled, where that is not all of it."""
    words = format_length(length_m, units)
    return "" if words == format_length(whole_m, units) else words


def _near(given: PlannedProfile, first_m: float, last_m: float) -> str:
    """The lines in whose stretch a rod lies, the one that it passes there with how."""
    entry_m = given.entry_m
    words = []
    for one in given.crossings:
        figures = one.clearance
        low, high, at = (each + entry_m for each in (figures.from_m, figures.to_m, figures.station_m))
        if high < first_m or low > last_m:
            continue
        name = line_name(one.mark.operator, one.mark.ref)
        if figures.kind == "crossing" and first_m <= at < last_m:
            words.append(f"{_passes(one)} {name}")
        else:
            words.append(f"beside {name}")
    return ", ".join(dict.fromkeys(words))


def _passes(one: FoundCrossing) -> str:
    return one.clearance.passes or "depth unknown:"


def _lines(given: PlannedProfile, units: str) -> tuple[LineRow, ...]:
    entry_m = given.entry_m
    rows = [
        LineRow(
            number=number,
            name=line_name(one.mark.operator, one.mark.ref),
            mark_id=one.mark.mark_id,
            facility_type=one.mark.facility_type,
            kind=one.clearance.kind,
            station=format_station(one.clearance.station_m + entry_m, units),
            from_m=one.clearance.from_m + entry_m,
            to_m=one.clearance.to_m + entry_m,
            passes=one.clearance.passes or "unknown",
            worst_case=format_length(one.clearance.worst_case_m, units, "down"),
            required=format_length(one.required_m, units, "up"),
            margin=margin_words(margin_of(one), units),
            margin_m=margin_of(one),
            verdict=one.verdict,
            sentence=one.sentence,
        )
        for number, one in enumerate(given.crossings, start=1)
    ]
    return tuple(sorted(rows, key=lambda one: -np.inf if one.margin_m is None else one.margin_m))
