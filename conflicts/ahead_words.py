"""A line ahead of the head in words: where it lies, in how many rods it comes, what is in reach and clear."""

from dataclasses import dataclass

import numpy as np

from conflicts.ahead_lengths import rough_length
from conflicts.ahead_stops import side_words
from conflicts.crossings_ahead import CrossingAhead
from conflicts.engine.lookahead import Outlook, Prospect, Side
from conflicts.sentences import station_words
from locates.units import format_station

# Less than this between the highest and the lowest in reach is no steering, m: an inch.
LEAST_STEERED_M = 0.0254


@dataclass(frozen=True)
class Told:
    """One of the three things: large words, and lines below them."""

    large: str
    lines: tuple[str, ...] = ()


def where_words(one: CrossingAhead, units: str) -> str:
    """Where the bore meets a line; of one alongside, from where to where."""
    if not one.is_alongside:
        return f"{one.crossing.clearance.kind} at {station_words(one.station_m, units)}"
    first, last = (station_words(station_m, units) for station_m in one.stretch_m)
    return f"alongside from {first} to {last}"


def rods_words(rods: int) -> str:
    """In how many rods the bit comes to a line."""
    if rods < 1:
        return "now"
    return "in the next rod" if rods == 1 else f"in {rods} rods"


def clear_words(one: CrossingAhead, units: str) -> str:
    """The depths of the hole's centre at a crossing that leave what is asked."""
    outlook = one.outlook
    if not outlook.line.depth_is_known:
        return "not known, for its depth is not"
    if np.isnan(outlook.lower_m):
        return "every depth"
    over = f"over it from {rough_length(one.ground_m - outlook.upper_m, units, 'down')} up"
    under = f"under it from {rough_length(one.ground_m - outlook.lower_m, units, 'up')} down"
    first, last = (over, under) if outlook.aim.side is Side.OVER else (under, over)
    return f"{first}, or {last}" if outlook.line.planned is None else first


def reach_words(one: CrossingAhead, units: str) -> str:
    """The depths of the hole's centre at a crossing that the rig can reach."""
    outlook = one.outlook
    if outlook.highest_m - outlook.lowest_m < LEAST_STEERED_M:
        if outlook.highest_m == outlook.line.ceiling_m:
            return "no depth for sure"
        # The bit is so near that what the pitch may be read wrong by is more than can be steered.
        middle_m = 0.5 * (outlook.lowest_m + outlook.highest_m)
        return f"about {rough_length(one.ground_m - middle_m, units)} deep, no more to steer"
    high = rough_length(one.ground_m - outlook.highest_m, units, "up")
    low = rough_length(one.ground_m - outlook.lowest_m, units, "down")
    return f"{high} to {low} deep"


PROSPECT_WORDS = {
    Prospect.STRAIGHT: "Passed at this pitch",
    Prospect.OTHER_SIDE: "Not as planned any more",
    Prospect.NO_CLEAR_DEPTH: "No clear depth in reach",
    Prospect.UNKNOWN_DEPTH: "Depth not known",
}


def prospect_words(outlook: Outlook) -> str:
    """What lies in store at a crossing."""
    if outlook.prospect is not Prospect.STEER:
        return PROSPECT_WORDS[outlook.prospect]
    towards = side_words(outlook.aim.side)
    held = outlook.aim.straight_rods or 0
    if held == 0:
        return f"Steer {towards} now"
    return f"Steer {towards} after {held} more rod{'s' if held > 1 else ''} at the latest"


def row_where(one: CrossingAhead, units: str) -> str:
    """Where the bore meets a line, as the table has it."""
    if not one.is_alongside:
        return format_station(one.station_m, units)
    first, last = (format_station(station_m, units) for station_m in one.stretch_m)
    return f"{first} to {last}"
