"""What the place of a drilled head may be off by, and how that grows where it is drilled blind."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.rod_log import LocatingError, LocatorCheckInput, RodInput, RodLog
from conflicts.scene import Scene
from conflicts.walk_days import local_day

# A pitch or a heading read at the end of a rod may be off by so much: 0.5 % of grade and 1 degree, what
# walk-over devices resolve (common practice, no source).
PITCH_READ_RATIO = 0.005
HEADING_READ_RAD = float(np.radians(1.0))
# Where no heading was read the rod counts as drilled along the alignment; it may have headed so much to
# either side of it: three times what is read (from memory, no source).
HEADING_UNREAD_RAD = 3.0 * HEADING_READ_RAD
# A drift so little past what is allowed is what is allowed, m.
SAME_DRIFT_M = 1e-9


@dataclass(frozen=True)
class BlindRun:
    """Rods drilled to the head since the last reading of one kind.

    Attributes
    ----------
    rods : int
    since : int or None
        Number of the rod with the last reading; None where none was read since the entry.
    drift_m : float
        What the head may have strayed meanwhile.
    allowed_m : float
        Above it nobody knows where the head is.
    read_off_m : float
        What that reading itself may be off by, past what the job states of a located head.
    """

    rods: int
    since: int | None
    drift_m: float
    allowed_m: float
    read_off_m: float = 0.0

    @property
    def is_lost(self) -> bool:
        """Whether the head may be farther off than is allowed."""
        return self.drift_m + self.read_off_m > self.allowed_m + SAME_DRIFT_M


def blind_runs(scene: Scene, stated: LocatingError, chain: Sequence[RodInput]) -> tuple[BlindRun, BlindRun]:
    """How far the head was drilled without a depth, and without a dot.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    stated : LocatingError
        What the job states of a located head.
    chain : sequence of RodInput
        From the entry to the head.

    Returns
    -------
    tuple of BlindRun
        In height and in plan.

    Notes
    -----
    Allowed are, as a choice of ours: in height the steering allowance, for the plan is clear of a line by no
    more than that of steering; in plan the tolerance zone, for a head less sure than paint is not located.
    There the last dot's own error counts too, for the path is drawn through it. What the
    device is off by in height only widens what is asked of the lines: each one is looked at.
    """
    job, dots = scene.inputs.job, [one for one in chain if one.dot is not None]
    plan = _run(chain, [one.dot is not None for one in chain], _heading_growth_m(chain), job.tolerance_zone_m)
    return (
        _run(chain, [one.depth_m is not None for one in chain], _pitch_growth_m(chain), job.bore_vertical_m),
        replace(plan, read_off_m=dot_off_past_stated_m(stated, dots[-1])) if dots else plan,
    )


def dot_off_past_stated_m(stated: LocatingError, rod: RodInput) -> float:
    """What a rod's dot may be off by past what the job states; where no depth was read, past the least of it.

    Parameters
    ----------
    stated : LocatingError
    rod : RodInput
    """
    return max(0.0, (rod.dot_error_m or 0.0) - stated.at(rod.depth_m or 0.0))


def _run(
    chain: Sequence[RodInput], is_read: Sequence[bool], growth_m: FloatArray, allowed_m: float
) -> BlindRun:
    last = max((place for place, read in enumerate(is_read) if read), default=-1)
    since = None if last < 0 else chain[last].number
    return BlindRun(len(chain) - 1 - last, since, float(growth_m[last + 1 :].sum()), allowed_m)


def _pitch_growth_m(chain: Sequence[RodInput]) -> FloatArray:
    return np.array([one.length_m * PITCH_READ_RATIO for one in chain])


def _heading_growth_m(chain: Sequence[RodInput]) -> FloatArray:
    return np.array(
        [
            one.length_m * (HEADING_UNREAD_RAD if one.heading_rad is None else HEADING_READ_RAD)
            for one in chain
        ]
    )


def without_rough_dots(stated: LocatingError, chain: Sequence[RodInput]) -> list[RodInput]:
    """The rods as if no dot had been read that is less sure than what the job states of a located head.

    Parameters
    ----------
    stated : LocatingError
    chain : sequence of RodInput
        From the entry on.
    """
    return [
        replace(one, dot=None, dot_error_m=None) if dot_off_past_stated_m(stated, one) > 0.0 else one
        for one in chain
    ]


def errors_along(
    scene: Scene,
    log: RodLog,
    chain: Sequence[RodInput],
    depths_m: Sequence[float],
    moved_m: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray]:
    """What the place of each rod's end may be off by, in plan and in height.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    log : RodLog
        For what the job states of a located head, and the checks of the device.
    chain : sequence of RodInput
        From the entry on.
    depths_m : sequence of float
        Of each rod's end below the ground.
    moved_m : (n,) float array, optional
        How far in plan each rod's end lies from where it would without the rough dots; where it is not
        given, rough dots are bounded by themselves alone.

    Returns
    -------
    tuple of (n,) float array
        Horizontal and vertical, metres.

    Notes
    -----
    Where a depth or a dot was read, `reading_errors`. Where none was, that grows as `widened` says: in
    height by `PITCH_READ_RATIO` of the rods' lengths, in plan by `HEADING_READ_RAD` of them, or
    `HEADING_UNREAD_RAD`. A pitch is a tangent, so a rod's rise is off by no more than its length times
    what the pitch is off by.

    A rough dot's own error stays on its joint, whatever is read later, unless the sure dots on both sides
    bound it better. With p where the path is drawn, g where it would be without the rough dots and t the
    true place, |t - g| <= E by the sure dots alone, so |t - p| <= |t - g| + |g - p| <= E + |g - p|
    (triangle inequality), whatever the rough dots read. The lesser of both bounds counts, for both hold.
    The entry counts as a sure dot, as in `widened`. Past the last sure dot nothing is bounded so.
    """
    own = _own_errors(scene, log, chain, depths_m)
    lengths_m = np.array([one.length_m for one in chain])
    depths = np.array([one.depth_m is not None for one in chain])
    horizontal_m = widened(own[:, 0], _has_dot(chain), lengths_m, _heading_growth_m(chain))
    sure = without_rough_dots(log.stated, chain)
    sure_dots = _has_dot(sure)
    if moved_m is not None and sure_dots.any() and sure != list(chain):
        by_sure_m = widened(
            _own_errors(scene, log, sure, depths_m)[:, 0], sure_dots, lengths_m, _heading_growth_m(chain)
        )
        between = slice(0, int(np.flatnonzero(sure_dots)[-1]))
        horizontal_m[between] = np.minimum(horizontal_m, by_sure_m + moved_m)[between]
    return horizontal_m, widened(own[:, 1], depths, lengths_m, _pitch_growth_m(chain))


def _own_errors(
    scene: Scene, log: RodLog, chain: Sequence[RodInput], depths_m: Sequence[float]
) -> FloatArray:
    """What each rod's end is off by at least, in plan and in height."""
    return np.array(
        [reading_errors(scene, log, one, depth_m) for one, depth_m in zip(chain, depths_m, strict=True)]
    )


def _has_dot(chain: Sequence[RodInput]) -> np.ndarray:
    return np.array([one.dot is not None for one in chain])


def widened(
    own_m: FloatArray, is_read: np.ndarray, lengths_m: FloatArray, growth_m: FloatArray
) -> FloatArray:
    """Errors of a path that is drawn through readings, where some of its rods have none.

    Parameters
    ----------
    own_m : (n,) float array
        What each rod's end is off by at least: by its reading, or without one.
    is_read : (n,) bool array
    lengths_m, growth_m : (n,) float arrays
        Of each rod: its length, and what the readings of its attitude may lead it astray by.

    Returns
    -------
    (n,) float array

    Notes
    -----
    The path begins at the entry as if that were read without error. Past the last reading, what the reading
    was off by and all growth since count, and the error never falls. Between two readings the misclosure is
    spread linearly by rod length: with A and B grown since the one and until the next, and w the share of
    the length behind, the end is off by A (1 - w) + B w at most, besides the readings' own errors in the
    shares 1 - w and w. (An error e(s) of the slope moves the end by its integral so far, less w times that
    over the whole gap; its worst is the greatest positive slope before and the greatest negative after.) For
    one rate b over a gap L that is 2 b s (L - s) / L.
    """
    grown = np.concatenate([[0.0], np.cumsum(growth_m)])
    along = np.concatenate([[0.0], np.cumsum(lengths_m)])
    fixes = np.concatenate([[0], np.flatnonzero(is_read) + 1])
    at_fixes_m = np.concatenate([[0.0], own_m])[fixes]
    found = np.array(own_m, dtype=float)
    for begin, end in pairwise(fixes.tolist()):
        blind = np.arange(begin + 1, end)
        share = (along[blind] - along[begin]) / (along[end] - along[begin])
        drift = (grown[blind] - grown[begin]) * (1.0 - share) + (grown[end] - grown[blind]) * share
        of_fixes_m = np.interp(along[blind], along[fixes], at_fixes_m)
        found[blind - 1] = np.maximum(own_m[blind - 1], of_fixes_m) + drift
    last = int(fixes[-1])
    tail = np.maximum.accumulate(np.concatenate([at_fixes_m[-1:], own_m[last:]]))[1:]
    found[last:] = tail + (grown[last + 1 :] - grown[last])
    return found


def reading_errors(scene: Scene, log: RodLog, rod: RodInput, depth_m: float) -> tuple[float, float]:
    """What a rod's end may be off by at least, in plan and in height, metres, by what was read there.

    Parameters
    ----------
    scene : Scene
    log : RodLog
    rod : RodInput
    depth_m : float
        Below ground.

    Returns
    -------
    tuple of float
        Never less than what the job states for a drilled bore at that depth. In height also never less than
        what the device was off by on that day, which grows with depth beyond that of the check; on a day
        without a check not less than the steering allowance. Where no depth or no dot was read, the steering
        allowance is added; a dot counts with its own error.
    """
    job = scene.inputs.job
    stated_m = log.stated.at(depth_m)
    checks = checks_of_day(log.checks, local_day(rod.logged_at, job.time_zone), job.time_zone)
    of_day_m = max((_check_error_m(check, depth_m) for check in checks), default=job.bore_vertical_m)
    vertical_m = max(stated_m, of_day_m)
    if rod.depth_m is None:
        vertical_m += job.bore_vertical_m
    if rod.dot is None:
        return stated_m + job.bore_horizontal_m, vertical_m
    return max(stated_m, rod.dot_error_m or 0.0), vertical_m


def checks_of_day(
    checks: Sequence[LocatorCheckInput], day: date, time_zone: str
) -> tuple[LocatorCheckInput, ...]:
    """Checks of the device on a local day."""
    return tuple(check for check in checks if local_day(check.checked_at, time_zone) == day)


def _check_error_m(check: LocatorCheckInput, depth_m: float) -> float:
    return abs(check.read_depth_m - check.measured_depth_m) * max(1.0, depth_m / check.measured_depth_m)
