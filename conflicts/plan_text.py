"""A rod-by-rod profile as a text that an address holds, and changes of its pitches.

Nothing of a profile that is not yet a bore's plan is stored, so its address carries it whole. The figures are
whole numbers, so that the text and what it is read to are the same to the last digit.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from conflicts.engine.errors import PathError
from conflicts.engine.profile_arcs import RodProfile

# Lengths are written in micrometres and pitches in ten-millionths of rise over run.
PER_METRE = 1_000_000
PER_RATIO = 10_000_000
# More rods than any bore of this kind has, and a text that an address still holds.
MOST_RODS = 400
MOST_EDITS = 200
# Steeper than any rod is drilled.
STEEPEST_RATIO = 1.0
LONGEST_ROD_M, FARTHEST_M = 30.0, 10_000.0
SHORTEST_LAST_M = 0.05

NO_RODS = (
    "The bore is planned by depths or elevations, so it has no rods: there are no pitches to change by hand, "
    "and no rods to compare. Look for a profile rod by rod first, or enter the rods of the bore's plan."
)

_PARTS = re.compile(r"(-?\d{1,12})~(-?\d{1,12})~([\dx.]{1,4000})~([-\d.]{1,4000})", re.ASCII)
_LENGTH = re.compile(r"(\d{1,9})(?:x(\d{1,3}))?", re.ASCII)
_PITCH = re.compile(r"-?\d{1,8}", re.ASCII)
_EDIT = re.compile(r"(\d{1,3})~(-?\d{1,8})", re.ASCII)


class PlanTextError(PathError):
    """A text that is no profile, or no change of one."""

    def __init__(self, what: str, found: str, accepted: str) -> None:
        self.what, self.found, self.accepted = what, found, accepted
        shown = found if len(found) <= 40 else f"{found[:40]}\N{HORIZONTAL ELLIPSIS}"
        super().__init__(f"{what}: found '{shown}'; accepted is {accepted}")


class NoPlanError(PathError):
    """No profile is named, and the bore's own is planned by depths or elevations: it has no rods."""

    def __init__(self) -> None:
        super().__init__(NO_RODS)


@dataclass(frozen=True)
class PitchEdit:
    """One change of a pitch by hand.

    Attributes
    ----------
    rod : int
        From 1; the pitch is that at its far end. 0 is the entry.
    pitch_ratio : float
        Rise over run, down negative.
    """

    rod: int
    pitch_ratio: float


def written_plan(rods: RodProfile) -> str:
    """A profile as a text.

    Parameters
    ----------
    rods : RodProfile
    """
    lengths = [round(float(one) * PER_METRE) for one in rods.lengths_m]
    groups = [(length, len(list(same))) for length, same in groupby(lengths)]
    length_text = ".".join(f"{length}x{count}" if count > 1 else str(length) for length, count in groups)
    pitches = ".".join(str(_whole(float(np.tan(one)))) for one in rods.angles_rad)
    station, elevation = (round(one * PER_METRE) for one in (rods.entry_station_m, rods.entry_elevation_m))
    return f"{station}~{elevation}~{length_text}~{pitches}"


def read_plan(text: str) -> RodProfile:
    """The profile that a text stands for.

    Parameters
    ----------
    text : str
        From `written_plan`.

    Raises
    ------
    PlanTextError
        Any other text, or rods that nobody has.
    """
    match = _PARTS.fullmatch(text)
    if match is None:
        raise PlanTextError("profile", text, "entry, lengths and pitches as a profile's page writes them")
    lengths = _lengths_m(match[3])
    pitches = [_pitch(one) for one in match[4].split(".")]
    if len(pitches) != len(lengths) + 1:
        raise PlanTextError("profile", f"{len(pitches)} pitches", f"{len(lengths) + 1} pitches: one a joint")
    station_m, elevation_m = (int(match[part]) / PER_METRE for part in (1, 2))
    if abs(station_m) > FARTHEST_M or abs(elevation_m) > FARTHEST_M:
        raise PlanTextError("entry", text, f"a place at most {FARTHEST_M:,.0f} m away")
    return RodProfile(station_m, elevation_m, np.array(lengths), np.arctan(np.array(pitches)))


def written_edits(edits: Sequence[PitchEdit]) -> str:
    """Changes of pitches as a text.

    Parameters
    ----------
    edits : sequence of PitchEdit
    """
    return ".".join(f"{one.rod}~{_whole(one.pitch_ratio)}" for one in edits)


def read_edits(text: str, count: int) -> tuple[PitchEdit, ...]:
    """The changes that a text stands for.

    Parameters
    ----------
    text : str
        From `written_edits`.
    count : int
        Of rods.

    Raises
    ------
    PlanTextError
        Any other text, or a rod that is not there.
    """
    if not text:
        return ()
    found = []
    for part in text.split("."):
        match = _EDIT.fullmatch(part)
        if match is None or int(match[1]) > count:
            raise PlanTextError("changed pitch", part, f"the number of a rod up to {count}, and its pitch")
        found.append(PitchEdit(int(match[1]), _pitch(match[2])))
    if len(found) > MOST_EDITS:
        raise PlanTextError("changed pitches", str(len(found)), f"{MOST_EDITS} at most; begin anew from here")
    return tuple(found)


def edited(
    rods: RodProfile, edits: Sequence[PitchEdit], exit_station_m: float, drilled: int = 0
) -> RodProfile:
    """A profile with pitches changed: all that lies ahead moves, and the last rod ends at the exit again.

    Parameters
    ----------
    rods : RodProfile
    edits : sequence of PitchEdit
        In order: of the same rod the last counts.
    exit_station_m : float
    drilled : int
        How many rods are in the ground: the last of them is told as far as the bit, longer than a rod.

    Notes
    -----
    A last rod longer than the longest of the others, or shorter than `SHORTEST_LAST_M`, is none: it is held
    there, and the profile ends short of the exit or past it.
    """
    if not edits:
        return rods
    angles = rods.angles_rad.copy()
    for one in edits:
        angles[one.rod] = np.arctan(one.pitch_ratio)
    lengths = rods.lengths_m.copy()
    moved = RodProfile(rods.entry_station_m, rods.entry_elevation_m, lengths, angles)
    stations, _ = moved.joints_m()
    run_ratio = float(stations[-1] - stations[-2]) / float(lengths[-1])
    wanted_m = (exit_station_m - float(stations[-2])) / run_ratio
    lengths[-1] = min(max(wanted_m, SHORTEST_LAST_M), float(rods.lengths_m[drilled:].max()))
    return moved


def _whole(pitch_ratio: float) -> int:
    return round(pitch_ratio * PER_RATIO)


def _pitch(text: str) -> float:
    if _PITCH.fullmatch(text) is None or abs(int(text)) > STEEPEST_RATIO * PER_RATIO:
        raise PlanTextError("pitch", text, "100 % at most, up or down")
    return int(text) / PER_RATIO


def _lengths_m(text: str) -> list[float]:
    lengths: list[float] = []
    for part in text.split("."):
        match = _LENGTH.fullmatch(part)
        if match is None or not 0.0 < int(match[1]) / PER_METRE <= LONGEST_ROD_M:
            raise PlanTextError("rod length", part, f"more than 0, and at most {LONGEST_ROD_M:g} m")
        lengths += [int(match[1]) / PER_METRE] * int(match[2] or 1)
    if not 1 <= len(lengths) <= MOST_RODS:
        raise PlanTextError("rods", str(len(lengths)), f"1 to {MOST_RODS}")
    return lengths
