"""What is asked about a watch before it is kept: the records do not allow it."""

from enum import StrEnum
from math import ceil

from conflicts.ahead_lengths import rough_length
from conflicts.bit_ahead import lead_m
from conflicts.checks import Assessed
from conflicts.crossings import FoundCrossing
from conflicts.oddity import Oddity
from conflicts.rod_log import RodLog
from conflicts.scene import Scene
from conflicts.sentences import station_words
from conflicts.short_of_exit import short_allowed_m, short_of_exit_m
from conflicts.to_watch import ToWatch, same_place_m
from conflicts.watch_matching import PILOT
from locates.minus import format_decimal
from locates.units import METRES_PER_FOOT, format_length

# A line or a head may lie so much farther from where the records have it, besides what they state, before
# a slip of the unit is likelier; and no test hole shows a wider gap than that (common practice, no source).
BESIDES_M = 0.6
WIDEST_GAP_M = 3.0


class WatchOddity(StrEnum):
    """What does not fit."""

    GAP_WIDE = "gap_wide"
    HEAD_DEPTH = "head_depth"
    HEAD_SHORT = "head_short"
    HOLE_SHORT = "hole_short"


def watch_oddities(
    scene: Scene, crossing: FoundCrossing | None, gap_m: float | None, head_depth_m: float | None
) -> tuple[Oddity, ...]:
    """What is odd about the figures of a watch, beside its crossing as it is computed.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    crossing : FoundCrossing or None
        None where the records know nothing of it any more.
    gap_m : float or None
        From the edge of the hole to the line, metres.
    head_depth_m : float or None
        From the ground to the head, metres.

    Returns
    -------
    tuple of Oddity

    Notes
    -----
    A gap lies between two edges, so it is asked about where it is more than the distance between the centre
    lines with what both may be off by and `BESIDES_M`; and over `WIDEST_GAP_M` always, the only bound where
    the line's depth is unknown or the crossing is gone. A gap that is too small is never asked about: it
    stops the crew. A depth is asked about where it is farther from the planned one than the bore's height
    error and `BESIDES_M`, either way: one that is too small would hide that the head is below the hole's
    bottom.
    """
    found = (_gap(scene, crossing, gap_m), _head(scene, crossing, head_depth_m))
    return tuple(one for one in found if one is not None)


def short_by_log(assessed: Assessed, lies: ToWatch, pass_made: str) -> Oddity | None:
    """The question whether it is that pass which went by, where by the log it cannot have come so far.

    Parameters
    ----------
    assessed : Assessed
        Of the moment of the watch.
    lies : ToWatch
        The crossing that was watched.
    pass_made : str

    Returns
    -------
    Oddity or None
        None where no rod is in the ground by the log, and of what an abandoned leg alone met.

    Notes
    -----
    A rod is logged at its end, so the head passes a line in a rod that is not logged yet: within one rod of
    the last that is, the bit ahead of its antenna and what the same place may be off besides, nothing is
    asked. A pass after the pilot goes by once the hole has come to the exit, as near as a close-out asks.
    """
    log = assessed.site.log
    if log is None or lies.leg:
        return None
    return _head_short(assessed, log, lies) if pass_made == PILOT else _hole_short(assessed, log, pass_made)


def _head_short(assessed: Assessed, log: RodLog, lies: ToWatch) -> Oddity | None:
    rig = assessed.scene.inputs.rig
    if log.last is None:
        return None
    path = assessed.drilled.path
    head_m = sum(one.length_m for one in log.rods) if path is None else path.head.station_m
    rod_m = max(rig.rod_length_m or 0.0, *(one.length_m for one in log.rods))
    left_m = lies.station_m - head_m
    if left_m <= rod_m + lead_m(rig) + same_place_m(assessed):
        return None
    units = assessed.scene.inputs.job.show_units
    return Oddity(
        WatchOddity.HEAD_SHORT,
        f"By the log the head is {ceil(left_m / rod_m)} rods short of this line, which lies at "
        f"{station_words(lies.station_m, units)}: rod {log.last.number}, the last that is logged, ended at "
        f"{station_words(head_m, units)}. Is it the head that passed here? Log the rods first where the log "
        "is behind; otherwise look which line this is.",
    )


def _hole_short(assessed: Assessed, log: RodLog, pass_made: str) -> Oddity | None:
    drilled = assessed.drilled
    if drilled.problem:
        by_log = "What was logged gives no path, so nobody knows whether the hole is through."
    elif drilled.path is None:
        return None
    else:
        short_m = short_of_exit_m(assessed.scene, drilled.path)
        if short_m <= short_allowed_m(assessed.scene, drilled.path, log.stated):
            return None
        short = rough_length(short_m, assessed.scene.inputs.job.show_units, "up")
        by_log = (
            f"By the log the hole is not through: rod {drilled.path.head.rod.number}, the last that is "
            f"logged, ends {short} short of the exit."
        )
    return Oddity(
        WatchOddity.HOLE_SHORT,
        f"{by_log} Is it the {pass_made} that passed here, and not the pilot? Put the log right first where "
        f"it is behind: a close-out asks for another watch of a {pass_made} that was signed so.",
    )


def _gap(scene: Scene, crossing: FoundCrossing | None, gap_m: float | None) -> Oddity | None:
    if gap_m is None:
        return None
    units, lies = scene.inputs.job.show_units, None if crossing is None else crossing.clearance
    allowed_m, why = WIDEST_GAP_M, "a test hole is taken to show"
    if lies is not None and lies.nearest is not None and lies.worst is not None:
        recorded_m = lies.nearest.centre_distance_m + lies.worst.loss_m + BESIDES_M
        if recorded_m < WIDEST_GAP_M:
            allowed_m, why = recorded_m, "the records allow between the two centre lines"
    if gap_m <= allowed_m:
        return None
    return Oddity(
        WatchOddity.GAP_WIDE,
        f"The gap, {_both(gap_m)}, is more than the {format_length(allowed_m, units)} that {why}. "
        f"{_slip(gap_m, allowed_m)}",
    )


def _head(scene: Scene, crossing: FoundCrossing | None, head_depth_m: float | None) -> Oddity | None:
    if crossing is None or head_depth_m is None:
        return None
    units, lies = scene.inputs.job.show_units, crossing.clearance
    planned_m = float(scene.ground.at(lies.station_m)) - lies.meeting.bore_elevation_m
    error_m = scene.inputs.job.bore_vertical_m if lies.worst is None else lies.worst.bore_vertical_m
    if abs(head_depth_m - planned_m) <= error_m + BESIDES_M:
        return None
    return Oddity(
        WatchOddity.HEAD_DEPTH,
        f"The depth read, {_both(head_depth_m)}, is far from the {format_length(planned_m, units)} at which "
        f"the hole is planned here; {format_length(error_m + BESIDES_M, units)} are allowed either way. "
        f"{_slip(head_depth_m, planned_m + error_m + BESIDES_M, planned_m - error_m - BESIDES_M)}",
    )


def _both(length_m: float) -> str:
    """A length in feet and in metres, for it is the unit that may be wrong."""
    return f"{format_length(length_m, 'feet')}, {format_decimal(length_m, 2)} m"


def _slip(length_m: float, most_m: float, least_m: float = 0.0) -> str:
    """Which unit may have been meant: the same number of another, where that would fit."""
    feet = length_m / METRES_PER_FOOT
    others = (
        (feet, "in", METRES_PER_FOOT / 12.0),
        (length_m, "cm", 0.01),
        (feet * 12.0, "ft", METRES_PER_FOOT),
        (length_m * 100.0, "m", 1.0),
        (feet, "m", 1.0),
        (length_m, "ft", METRES_PER_FOOT),
    )
    meant = [
        f"{format_decimal(number, 1).removesuffix('.0')} {unit}"
        for number, unit, unit_m in others
        if abs(10.0 * number - round(10.0 * number)) < 1e-6 and least_m <= number * unit_m <= most_m
    ]
    return f"Is it {' or '.join(meant)}?" if meant else "Measure it again."
