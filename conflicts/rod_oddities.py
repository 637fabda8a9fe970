"""What is asked about a rod's reading before it is kept: it does not fit the rod before it."""

from dataclasses import replace
from enum import StrEnum
from math import atan, cos, degrees, hypot, pi

import numpy as np

from conflicts.drilled import Drilled, DrilledJoint
from conflicts.head_errors import (
    HEADING_READ_RAD,
    PITCH_READ_RATIO,
    blind_runs,
    dot_off_past_stated_m,
    errors_along,
    reading_errors,
)
from conflicts.oddity import Oddity
from conflicts.profile_check import entry_pitches_ratio
from conflicts.rod_log import NO_DEPTH, RodInput, RodLog
from conflicts.scene import Scene
from locates.angles import format_heading
from locates.units import format_grade, format_length

# A rod is drilled to its end or stopped short: longer than this share of the rig's rod is a slip.
LONGER_RATIO = 1.02
# The direction is asked about where the depth goes with the other one by more than this share of what both
# readings may be off by: a slip is then told from a reading that is off (a choice of ours).
OTHER_WAY_RATIO = 0.5
# From so many rods without a depth on, each is asked about.
BLIND_RODS = 2


class OddityCode(StrEnum):
    """What does not fit."""

    DEPTH_AGAINST_PITCH = "depth_against_pitch"
    OTHER_DIRECTION = "other_direction"
    BEND = "bend"
    FIRST_HEADING = "first_heading"
    FIRST_PITCH = "first_pitch"
    ABOVE_GROUND = "above_ground"
    DOT = "dot"
    ROUGH_DOT = "rough_dot"
    LENGTH = "length"
    NO_DEPTH = NO_DEPTH


def may_turn_over(pitch_ratio: float, length_m: float | None, bend_radius_m: float | None) -> bool:
    """Whether the next rod may read a pitch of the other direction, by more than a reading may be off.

    Parameters
    ----------
    pitch_ratio : float
        Read at the end of the last rod.
    length_m : float or None
        Of the next rod.
    bend_radius_m : float or None
        Of the rig. Where it or the length is unknown any rod may.
    """
    if not length_m or not bend_radius_m:
        return True
    return abs(atan(pitch_ratio)) + PITCH_READ_RATIO < length_m / bend_radius_m


def oddities(scene: Scene, log: RodLog, before: Drilled | None, after: Drilled) -> tuple[Oddity, ...]:
    """What is odd about the last rod of a path, beside the rod before it.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog
        For the errors of readings.
    before, after : Drilled or None, Drilled
        The path without and with the rod.

    Returns
    -------
    tuple of Oddity

    Notes
    -----
    A depth is held against where pitch and length lead from the rod before, less what both readings may be
    off by; where it fits, but clearly better with the pitch in the other direction, that is asked. A turn in
    three dimensions is held against what the rig bends over that length, less what the attitudes may be off
    by, and the first rod's attitude so against the alignment and the pitches at which the rig enters; a dot
    against the reach of the rod, its own error included. A dot that is less sure than the place without it is
    asked about too, for the path is drawn through it, and so is one with which the head counts as lost; and
    so is a second rod on without a depth, and a pitch that leads out of the ground.
    """
    found = [
        _length(scene, after.head.rod),
        *(_first(scene, after.head) if before is None else (_bend(scene, before, after),)),
        _above_ground(scene, after.head),
        _depth(scene, log, before, after),
        _dot(scene, log, before, after),
        _rough_dot(scene, log, after),
        _no_depth(scene, log, after),
    ]
    return tuple(one for one in found if one is not None)


def _length(scene: Scene, rod: RodInput) -> Oddity | None:
    rod_m, units = scene.inputs.rig.rod_length_m, scene.inputs.job.show_units
    if rod_m is None or rod.length_m <= LONGER_RATIO * rod_m:
        return None
    return Oddity(
        OddityCode.LENGTH,
        f"The rod is {format_length(rod.length_m, units)} long; the rig's are {format_length(rod_m, units)}.",
    )


def _first(scene: Scene, head: DrilledJoint) -> list[Oddity]:
    """The first rod, beside the heading of the alignment and the pitches at which the rig enters."""
    rod, rig, found = head.rod, scene.inputs.rig, []
    bends_rad = 0.0 if rig.bend_radius_m is None else rod.length_m / rig.bend_radius_m
    east, north = scene.plan_m[1] - scene.plan_m[0]
    begins_rad = float(np.arctan2(east, north)) % (2.0 * pi)
    if rod.heading_rad is not None:
        off_rad = abs((rod.heading_rad - begins_rad + pi) % (2.0 * pi) - pi)
        if off_rad > bends_rad + 2.0 * HEADING_READ_RAD:
            found.append(
                Oddity(
                    OddityCode.FIRST_HEADING,
                    f"The first rod heads {format_heading(rod.heading_rad)}, and the bore begins at "
                    f"{format_heading(begins_rad)}.",
                )
            )
    low, high = entry_pitches_ratio(rig)
    if low is not None and high is not None:
        angle_rad, more_rad = atan(rod.pitch_ratio), bends_rad + PITCH_READ_RATIO
        if not atan(low) - more_rad <= angle_rad <= atan(high) + more_rad:
            found.append(
                Oddity(
                    OddityCode.FIRST_PITCH,
                    f"The first rod is at {format_grade(rod.pitch_ratio)}, and the rig enters at "
                    f"{format_grade(low)} to {format_grade(high)}.",
                )
            )
    return found


def _above_ground(scene: Scene, head: DrilledJoint) -> Oddity | None:
    """A head that its pitch leads out of the ground, before anybody reads a depth there."""
    units = scene.inputs.job.show_units
    above_m = float(head.point_m[2]) - float(scene.ground.at(head.station_m))
    if head.rod.depth_m is not None or above_m <= head.vertical_error_m:
        return None
    return Oddity(
        OddityCode.ABOVE_GROUND,
        f"Pitch {format_grade(head.rod.pitch_ratio)} leads {format_length(above_m, units)} above the ground.",
    )


def _bend(scene: Scene, before: Drilled, after: Drilled) -> Oddity | None:
    """The turn in three dimensions, which neither pitch nor heading alone shows."""
    radius_m, units = scene.inputs.rig.bend_radius_m, scene.inputs.job.show_units
    head = after.head
    if radius_m is None:
        return None
    read_rad = 2.0 * (PITCH_READ_RATIO if head.rod.heading_rad is None else HEADING_READ_RAD)
    allowed_rad = head.rod.length_m / radius_m + read_rad
    if head.turn_rad <= allowed_rad:
        return None
    bent_m = head.rod.length_m / head.turn_rad
    was = before.head
    words = f"pitch {format_grade(was.rod.pitch_ratio)} to {format_grade(head.rod.pitch_ratio)}"
    if head.rod.heading_rad is not None:
        words += f", heading {format_heading(was.heading_rad)} to {format_heading(head.heading_rad)}"
    return Oddity(
        OddityCode.BEND,
        f"The rod would turn {degrees(head.turn_rad):.1f} degrees ({words}): a radius of "
        f"{format_length(bent_m, units)}, and the rig bends {format_length(radius_m, units)} at least.",
    )


def _depth(scene: Scene, log: RodLog, before: Drilled | None, after: Drilled) -> Oddity | None:
    rod, units = after.head.rod, scene.inputs.job.show_units
    if rod.depth_m is None:
        return None
    start_m, was_ratio, was_error_m = float(scene.path.points_m[0, 2]), 0.0, 0.0
    if before is not None:
        start_m, was_ratio = float(before.head.point_m[2]), before.head.rod.pitch_ratio
        was_error_m = before.head.vertical_error_m
    ground_m = float(scene.ground.at(after.head.station_m))
    read_m = ground_m - rod.depth_m

    def led_m(ratio: float) -> float:
        mean_ratio = 0.5 * ((ratio if before is None else was_ratio) + ratio)
        return start_m + rod.length_m * cos(atan(mean_ratio)) * mean_ratio

    expected_m, other_m = led_m(rod.pitch_ratio), led_m(-rod.pitch_ratio)
    error_m = reading_errors(scene, log, rod, rod.depth_m)[1] + was_error_m + rod.length_m * PITCH_READ_RATIO
    depth = format_length(rod.depth_m, units)
    leads = f"pitch {format_grade(rod.pitch_ratio)} leads to {format_length(ground_m - expected_m, units)}"
    if abs(read_m - expected_m) > error_m:
        return Oddity(
            OddityCode.DEPTH_AGAINST_PITCH,
            f"Depth {depth} does not go with the pitch: from the rod before, {leads}, and both readings "
            f"together may be off by {format_length(error_m, units)}.",
        )
    if abs(read_m - expected_m) - abs(read_m - other_m) <= OTHER_WAY_RATIO * error_m:
        return None
    return Oddity(
        OddityCode.OTHER_DIRECTION,
        f"Depth {depth} goes better with a head that points {'down' if rod.pitch_ratio > 0.0 else 'up'}: "
        f"from the rod before, {leads}, and {format_grade(-rod.pitch_ratio)} to "
        f"{format_length(ground_m - other_m, units)}. Read the direction again.",
    )


def _dot(scene: Scene, log: RodLog, before: Drilled | None, after: Drilled) -> Oddity | None:
    """A dot farther from the last place than the rod reaches, or where no bend of the rig leads."""
    rod, units = after.head.rod, scene.inputs.job.show_units
    if rod.dot is None:
        return None
    place = scene.points_m((rod.dot,))[0]
    start, heading_rad, was_error_m = scene.plan_m[0], after.joints[0].heading_rad, 0.0
    if before is not None:
        start, heading_rad = before.head.point_m[:2], before.head.heading_rad
        was_error_m = before.head.horizontal_error_m
    ahead = np.array([np.sin(heading_rad), np.cos(heading_rad)])
    away = place - start
    run_m = rod.length_m * cos(atan(rod.pitch_ratio))
    sideways_m = abs(float(ahead[1] * away[0] - ahead[0] * away[1]))
    along_m = float(ahead @ away)
    radius_m = scene.inputs.rig.bend_radius_m
    bends_m = 0.0 if radius_m is None else 0.5 * rod.length_m**2 / radius_m
    error_m = reading_errors(scene, log, rod, after.head.depth_m)[0] + was_error_m
    reached_m = hypot(abs(along_m - run_m), max(0.0, sideways_m - bends_m))
    if reached_m <= error_m:
        return None
    return Oddity(
        OddityCode.DOT,
        f"The dot lies {format_length(along_m, units)} on and {format_length(sideways_m, units)} to the side "
        f"of the last rod's end; this rod reaches {format_length(run_m, units)} on and "
        f"{format_length(bends_m, units)} to the side, and both places may be off by "
        f"{format_length(error_m, units)}.",
    )


def _rough_dot(scene: Scene, log: RodLog, after: Drilled) -> Oddity | None:
    """A dot that may be farther off than the head is where no dot is set, or than a head may be at all."""
    rod, units = after.head.rod, scene.inputs.job.show_units
    if rod.dot is None or rod.dot_error_m is None:
        return None
    chain = [*(one.rod for one in after.joints[:-1]), replace(rod, dot=None, dot_error_m=None)]
    depths_m = [one.depth_m for one in after.joints]
    without_m = float(errors_along(scene, log, chain, depths_m)[0][-1])
    zone_m = scene.inputs.job.tolerance_zone_m
    if rod.dot_error_m <= without_m:
        if dot_off_past_stated_m(log.stated, rod) <= zone_m:
            return None
        return Oddity(
            OddityCode.ROUGH_DOT,
            f"The dot may be {format_length(rod.dot_error_m, units, 'up')} off. Past what the job states "
            f"that is more than the tolerance zone, {format_length(zone_m, units, 'down')}: with it nobody "
            "knows where the head is. Measure station and offset.",
        )
    return Oddity(
        OddityCode.ROUGH_DOT,
        f"The dot may be {format_length(rod.dot_error_m, units, 'up')} off. Without a dot the head counts as "
        f"within {format_length(without_m, units, 'up')} of where pitch and heading lead: measure station "
        "and offset, or leave the dot out.",
    )


def _no_depth(scene: Scene, log: RodLog, after: Drilled) -> Oddity | None:
    """One more rod without a depth: from the second on the head is drilled by its pitch alone."""
    units = scene.inputs.job.show_units
    blind, _ = blind_runs(scene, log.stated, [one.rod for one in after.joints])
    if blind.rods < BLIND_RODS:
        return None
    since = "the entry" if blind.since is None else f"rod {blind.since}"
    return Oddity(
        OddityCode.NO_DEPTH,
        f"No depth is read since {since}, over {blind.rods} rods: by the pitch alone the head may be "
        f"{format_length(after.head.vertical_error_m, units, 'up')} higher or lower, and more with each rod. "
        "Read the depth over the head.",
    )
