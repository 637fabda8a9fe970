"""What a rig can still steer to from where its head is: the highest and the lowest way ahead.

The way ahead lies in the unrolled vertical plane of the head's plan: run along the plan, elevation up. Along
an arc of radius R the sine of the pitch angle changes by 1 / R a metre of run, so the way that steers up as
much and as early as it can is nowhere lower than any other: the band between it and its mirror image is what
can be reached, whole and exactly.

The head is where it was located, at its antenna. The bit is ahead of it, and what lies between is drilled:
every way goes on straight to the bit, and is steered from there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from conflicts.engine.errors import LookAheadError
from conflicts.engine.frame import FloatArray

# Nearer than this two places along a run are one, m.
SAME_RUN_M = 1e-9
# No drill string is steered steeper than this, rise over run; a head that is steeper stays as it is.
STEEPEST_RATIO = 1.0


@dataclass(frozen=True)
class Rig:
    """What a rig can do with a rod.

    Attributes
    ----------
    rod_length_m : float
    bend_radius_m : float
        The tightest bend; the largest turn a rod is its length over this.
    steepest_ratio : float
        Pitch past which nobody steers, rise over run, up or down.
    bit_lead_m : float
        How far the bit is ahead of the antenna, in line with it.

    Raises
    ------
    LookAheadError
        A figure that is not finite and above 0, a steepest pitch over `STEEPEST_RATIO`, or a lead that is not
        finite or is below 0.
    """

    rod_length_m: float
    bend_radius_m: float
    steepest_ratio: float = STEEPEST_RATIO
    bit_lead_m: float = 0.0

    def __post_init__(self) -> None:
        figures = (self.rod_length_m, self.bend_radius_m, self.steepest_ratio)
        if not all(np.isfinite(one) and one > 0.0 for one in figures):
            raise LookAheadError("a rig needs a rod length, bend radius and steepest pitch above 0")
        if self.steepest_ratio > STEEPEST_RATIO:
            raise LookAheadError("the steepest pitch of a rig is 100 % at most")
        if not (np.isfinite(self.bit_lead_m) and self.bit_lead_m >= 0.0):
            raise LookAheadError("the bit is ahead of the antenna by a finite length of 0 or more")


@dataclass(frozen=True)
class Head:
    """Where the head is, and where it points.

    Attributes
    ----------
    elevation_m : float
        Of the antenna.
    angle_rad : float
        Pitch angle, down negative.
    angle_error_rad : float
        By how much it may be read wrongly either way.

    Raises
    ------
    LookAheadError
        A figure that is not finite, an error below 0, or a head that points straight up or down.
    """

    elevation_m: float
    angle_rad: float
    angle_error_rad: float = 0.0

    def __post_init__(self) -> None:
        if not (np.isfinite(self.elevation_m) and np.isfinite(self.angle_rad)):
            raise LookAheadError("where the head is, or where it points, is not a finite number")
        if not self.angle_error_rad >= 0.0 or abs(self.angle_rad) + self.angle_error_rad >= 0.5 * np.pi:
            raise LookAheadError("a pitch and its error lie between straight down and straight up")


def bit_run_m(head: Head, rig: Rig) -> float:
    """The run from the antenna to the bit."""
    return rig.bit_lead_m * float(np.cos(head.angle_rad))


@dataclass(frozen=True)
class LevelTurn:
    """A stretch of the plan ahead in which the way turns in plan: what it turns there it cannot in pitch."""

    from_m: float
    to_m: float
    curvature_per_m: float


@dataclass(frozen=True, eq=False)
class SteeredWay:
    """One way ahead: the sine of the pitch angle, linear between places of the run, held past the last.

    Attributes
    ----------
    runs_m, sines, elevations_m : (n,) float arrays
        The first run is 0.
    """

    runs_m: FloatArray
    sines: FloatArray
    elevations_m: FloatArray

    def at(self, runs_m: ArrayLike) -> FloatArray:
        """Elevations at runs of 0 or more, the same shape as what is asked.

        Notes
        -----
        With the sine u linear in the run, dz/dx = u / sqrt(1 - u^2) has the integral
        dx (u_a + u_b) / (sqrt(1 - u_a^2) + sqrt(1 - u_b^2)): the chord of the arc, without a division by a
        curvature that may be 0 (plane geometry). Within 1e-12 of the run of circular arcs.
        """
        asked = np.asarray(runs_m, dtype=float)
        piece = np.clip(np.searchsorted(self.runs_m, asked, side="right") - 1, 0, len(self.runs_m) - 1)
        here = np.interp(asked, self.runs_m, self.sines)
        rise = _rise_m(asked - self.runs_m[piece], self.sines[piece], here)
        return np.asarray(self.elevations_m[piece] + rise, dtype=float)


def _rise_m(runs_m: FloatArray, first_sine: FloatArray, last_sine: FloatArray) -> FloatArray:
    cosines = np.sqrt(1.0 - first_sine * first_sine) + np.sqrt(1.0 - last_sine * last_sine)
    return np.asarray(runs_m * (first_sine + last_sine) / cosines, dtype=float)


def steered(
    head: Head,
    rig: Rig,
    upward: int,
    *,
    straight_m: float = 0.0,
    angle_off_rad: float = 0.0,
    level_turns: tuple[LevelTurn, ...] = (),
) -> SteeredWay:
    """The way that goes on straight to the bit, holds its pitch for a while and then steers as the rig can.

    Parameters
    ----------
    head : Head
    rig : Rig
    upward : int
        1 to steer up, -1 to steer down, 0 to hold the pitch for ever.
    straight_m : float
        Run past the bit over which the pitch is held first.
    angle_off_rad : float
        Added to the pitch that was read, for a head that points otherwise than it reads.
    level_turns : tuple of LevelTurn

    Returns
    -------
    SteeredWay

    Notes
    -----
    The turn of a rod in three dimensions is sqrt(dtheta^2 + (cos theta dpsi)^2) at most L / R; it is taken
    with cos theta = 1, which leaves the less for the pitch. At the steepest pitch the way goes on straight.
    """
    sine = float(np.sin(head.angle_rad + angle_off_rad))
    runs, sines = [0.0], [sine]
    if upward:
        steepest = float(np.sin(np.arctan(rig.steepest_ratio)))
        end = max(steepest, upward * sine)
        for from_m, to_m, bend in bends_left(rig, bit_run_m(head, rig) + straight_m, level_turns):
            if from_m > runs[-1] + SAME_RUN_M:
                runs.append(from_m)
                sines.append(sine)
            left = end - upward * sine
            if left <= 0.0:
                break
            if bend == 0.0:
                continue
            length = min(to_m - from_m, left / bend)
            sine = upward * min(end, upward * sine + bend * length)
            runs.append(from_m + length)
            sines.append(sine)
    at, angles = np.array(runs), np.array(sines)
    rises = _rise_m(np.diff(at), angles[:-1], angles[1:])
    return SteeredWay(at, angles, head.elevation_m + np.concatenate([[0.0], np.cumsum(rises)]))


def bends_left(
    rig: Rig, first_m: float, level_turns: tuple[LevelTurn, ...]
) -> list[tuple[float, float, float]]:
    """Stretches from a run on, with the bend in pitch (a metre) that the plan leaves in each."""
    whole = 1.0 / rig.bend_radius_m
    ends = {first_m}
    for turn in level_turns:
        ends |= {one for one in (turn.from_m, turn.to_m) if one > first_m}
    starts = sorted(ends)
    found = []
    for low, high in zip(starts, [*starts[1:], np.inf], strict=True):
        taken = sum(
            abs(one.curvature_per_m) for one in level_turns if one.from_m <= low + SAME_RUN_M < one.to_m
        )
        found.append((low, high, float(np.sqrt(max(0.0, whole * whole - taken * taken)))))
    return found


@dataclass(frozen=True, eq=False)
class ReachedBand:
    """What can be reached at runs ahead: every figure from the lowest to the highest.

    Attributes
    ----------
    lowest_m, highest_m : (n,) float arrays
        Where the head's errors leave nothing that is sure, the lowest lies above the highest.
    """

    lowest_m: FloatArray
    highest_m: FloatArray


def reachable_elevations(
    head: Head, rig: Rig, runs_m: ArrayLike, *, level_turns: tuple[LevelTurn, ...] = ()
) -> ReachedBand:
    """Elevations of the hole's centre that the rig can reach for sure at runs ahead.

    Parameters
    ----------
    head : Head
    rig : Rig
    runs_m : (n,) array_like
        Runs ahead of the antenna, 0 or more.
    level_turns : tuple of LevelTurn

    Returns
    -------
    ReachedBand
        Reached whatever the pitch is within its error. The error of the head's own height is not in it: it
        belongs to the clearance, as the design has it, and counts once.
    """
    up = steered(head, rig, 1, angle_off_rad=-head.angle_error_rad, level_turns=level_turns)
    down = steered(head, rig, -1, angle_off_rad=head.angle_error_rad, level_turns=level_turns)
    return ReachedBand(down.at(runs_m), up.at(runs_m))


def reachable_offsets(
    offset_m: float, heading_rad: float, error_rad: float, rig: Rig, runs_m: ArrayLike
) -> ReachedBand:
    """Distances beside a straight line in plan that the rig can reach for sure ahead.

    Parameters
    ----------
    offset_m : float
        Of the head from the line, positive to the right.
    heading_rad : float
        Of the head against the line's, positive to the right.
    error_rad : float
        By how much the heading may be wrong either way.
    rig : Rig
    runs_m : (n,) array_like
        Distances ahead along the line, 0 or more.

    Notes
    -----
    As for heights: the sine of the heading changes by 1 / R a metre along the line. For a level head this is
    exact; a head at pitch theta turns in plan by up to 1 / (R cos^2 theta), so it reaches no less.
    """
    sideways = Head(offset_m, heading_rad, error_rad)
    level = Rig(rig.rod_length_m, rig.bend_radius_m, bit_lead_m=rig.bit_lead_m)
    return reachable_elevations(sideways, level, runs_m)
