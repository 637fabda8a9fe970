"""The pitch to steer to with the next rod, of all that can be told: one after which every line can be passed.

A crew is told a pitch at the end of a rod. It may turn to that over the whole rod, where the hole ahead of
the antenna turns already, or from the bit on: after both all lines must be passable.
"""

from collections.abc import Sequence
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.corridor_ahead import Ahead, Passing, choices, corridor_of, sections_of
from conflicts.engine.frame import FloatArray
from conflicts.engine.lookahead import LineAhead
from conflicts.engine.reach import SAME_RUN_M, bends_left, bit_run_m

# Pitches are told to this, rise over run.
TOLD_RATIO = 0.001
# Less than this left is none, m: seen from the end of the rod the figures come out otherwise by less.
SURE_M = 3e-3
# Of pitches that all leave this much, or as much as any, that of the least turn is told, m.
ENOUGH_M = 0.15


def can_pass_all_after(ahead: Ahead, lines: Sequence[LineAhead], angle_rad: float) -> bool:
    """Whether one way still passes all lines once the next rod is steered to a pitch.

    Parameters
    ----------
    ahead : Ahead
    lines : sequence of LineAhead
        By run. A line without a planned side is passed on either.
    angle_rad : float
        That the head shall have at the end of the rod, or as near to it as the rig bends.
    """
    if not all(one.depth_is_known for one in lines):
        return False
    return not lines or any(
        rooms_m(ahead, [Passing(*one) for one in zip(lines, sides, strict=True)], [angle_rad])[0] >= SURE_M
        for sides in choices(lines)
    )


def pitch_for_rod(ahead: Ahead, passings: Sequence[Passing], held_rods: int = 0) -> float | None:
    """The pitch to steer to with a rod so that all lines can be passed after it; None where no pitch will do.

    Parameters
    ----------
    ahead : Ahead
    passings : sequence of Passing
        By run, at least one.
    held_rods : int
        Rods for which the pitch is held before that one.

    Returns
    -------
    float or None
        Pitch angle (rad) at the end of the rod: the tangent is one of whole `TOLD_RATIO`, or that of now.

    Notes
    -----
    Every pitch that can be told and that the rig can bend to over the rod is tried.
    """
    steepest_rad = max(np.arctan(ahead.rig.steepest_ratio), abs(ahead.head.angle_rad))
    ends = nearest_angles_rad(ahead, [-steepest_rad, steepest_rad], held_rods)
    low, high = np.tan(ends) / TOLD_RATIO
    told = TOLD_RATIO * np.arange(np.ceil(low), np.floor(high) + 1.0)
    angles = np.append(np.arctan(told), ahead.head.angle_rad)
    rooms = rooms_m(ahead, passings, angles, held_rods)
    if not rooms.max() >= SURE_M:
        return None
    enough = rooms >= min(ENOUGH_M, float(rooms.max()))
    turns = np.where(enough, np.abs(angles - ahead.head.angle_rad), np.inf)
    return float(angles[turns.argmin()])


def nearest_angles_rad(ahead: Ahead, asked_rad: ArrayLike, held_rods: int = 0) -> FloatArray:
    """Pitches nearest to those asked for which the rig can bend to over a rod, the same shape.

    Parameters
    ----------
    ahead : Ahead
    asked_rad : array_like
    held_rods : int
        Rods for which the pitch is held before that one.
    """
    from_m, to_m = held_rods * ahead.rod_run_m, (held_rods + 1) * ahead.rod_run_m
    turned = sum(
        bend * (min(high, to_m) - low)
        for low, high, bend in bends_left(ahead.rig, from_m, ahead.level_turns)
        if low < to_m
    )
    sine = np.sin(ahead.head.angle_rad)
    least, greatest = max(-1.0, sine - turned), min(1.0, sine + turned)
    return np.asarray(np.arcsin(np.clip(np.sin(asked_rad), least, greatest)), dtype=float)


def rooms_m(
    ahead: Ahead, passings: Sequence[Passing], asked_rad: ArrayLike, held_rods: int = 0
) -> FloatArray:
    """What is left at the least, in height, once a rod is steered to each of some pitches.

    Parameters
    ----------
    ahead : Ahead
    passings : sequence of Passing
        By run, at least one.
    asked_rad : (n,) array_like
        Pitch angles at the end of the rod, or as near to them as the rig bends.
    held_rods : int
        Rods for which the pitch is held before that one.

    Returns
    -------
    (n,) float array
        To the lines along the rod, and to the ends of the elevations from which those beyond can be passed;
        below 0 where a line is lost.

    Notes
    -----
    The turn is spread over the whole rod, or begins at the bit, or as late as it can where that is too late
    for it: with either end of the pitch's error on the rod and again at its end, where the way goes on
    straight to the bit. The elevations that do are an interval for each pitch and its ends fall with the
    pitch, so what lies between these does too. What the pitch's error leads off by in height over the rods
    that it is held for is taken off, for it may do so either way.
    """
    asked, from_m = np.asarray(asked_rad, dtype=float), held_rods * ahead.rod_run_m
    to_m, bit_m = from_m + ahead.rod_run_m, bit_run_m(ahead.head, ahead.rig)
    last_rad = nearest_angles_rad(ahead, asked, held_rods)
    turn_m = ahead.rig.bend_radius_m * np.abs(np.sin(last_rad) - np.sin(ahead.head.angle_rad))
    latest_m = np.clip(to_m - turn_m, from_m, from_m + bit_m)
    first_m = np.stack([np.full_like(latest_m, from_m), np.minimum(latest_m, to_m)])
    # The straight stretch to the bit counts as long as that of the flattest of these pitches.
    then_m = to_m + ahead.rig.bit_lead_m * float(np.cos(last_rad).max())
    slopes = np.tan(ahead.angles_rad) - np.tan(ahead.head.angle_rad)
    held_off_m = from_m * float(np.abs(slopes).max())
    return _least_rooms_m(ahead, passings, (from_m, then_m), last_rad, first_m) - held_off_m


def _least_rooms_m(
    ahead: Ahead,
    passings: Sequence[Passing],
    between_m: tuple[float, float],
    last_rad: FloatArray,
    first_m: FloatArray,
) -> FloatArray:
    """The same for (n,) pitches over ways that begin to turn to them at (k, n) runs.

    They begin where the pitch was held up to, and are drilled to where the bit is at the end of the rod.
    """
    from_m, then_m = between_m
    to_m = from_m + ahead.rod_run_m
    corridor = corridor_of(ahead, passings, [from_m, to_m, then_m], [0.0] * len(passings))
    first, last = np.searchsorted(corridor.runs_m, np.array([from_m, then_m]) - SAME_RUN_M)
    begun = corridor.between(first, last)
    errors = np.array(ahead.angles_rad) - ahead.head.angle_rad
    ends = np.sin(last_rad[..., None] + errors)
    sections = sections_of(ahead, corridor, np.full(ends.size, last), ends.ravel()).reshape(*ends.shape, 2)
    length_m = np.maximum(SAME_RUN_M, to_m - first_m)[..., None]
    share = np.clip((begun.runs_m - first_m[..., None]) / length_m, 0.0, 1.0)
    elevation_m = ahead.head.elevation_m + from_m * float(np.tan(ahead.head.angle_rad))
    rooms = []
    for error, after in product(range(len(errors)), repeat=2):
        begin = np.sin(ahead.head.angle_rad + errors[error])
        sines = begin + share * (ends[..., error, None] - begin)
        sines[..., begun.runs_m > to_m + SAME_RUN_M] = ends[..., after, None]
        heights = begun.heights_m(elevation_m, sines)
        along = begun.room_m(heights)[..., :-1].min(axis=-1)
        low, high = np.moveaxis(sections[..., after, :], -1, 0)
        here = heights[..., -1]
        rooms.append(np.minimum(along, np.minimum(here - low, high - here)))
    least = np.stack(rooms).min(axis=(0, 1))
    return np.asarray(np.where(np.isnan(least), -np.inf, least), dtype=float)
