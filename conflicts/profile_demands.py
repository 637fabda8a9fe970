"""What a profile of a bore must keep, from its records and from what a person asks besides."""

from dataclasses import dataclass, replace

import numpy as np

from conflicts.crossings import FoundCrossing, find_crossings
from conflicts.engine.clearance import Allowances
from conflicts.engine.errors import SearchError
from conflicts.engine.frame import FloatArray, chainages_m
from conflicts.engine.meeting import plan_meeting
from conflicts.engine.path import Ground
from conflicts.engine.profile_limits import ENOUGH_MARGIN_M, FAR_M, Obstacle, ProfileLimits, Range
from conflicts.engine.profile_lines import BLOCKED_M, KeptAway, UnknownDepth, error_terms, without_gaps
from conflicts.inputs import MarkInput, RigInput, asked_separation
from conflicts.profile_check import RIG_LIMITS, entry_pitches_ratio
from conflicts.scene import Scene, SceneLine
from conflicts.sentences import line_name

# The search plans with bends wider than the rig's, and with more cover, by less than anybody measures:
# figures on a limit then keep it whatever their last digit.
WIDER_RATIO = 5e-4
MORE_COVER_M = 1e-3
# The run down from a surface, over which no cover is asked, is at most this part of the bore.
LONGEST_RUN_RATIO = 1.0 / 3.0

# The farthest that the rig can be put behind the recorded entry, m.
FARTHEST_BACK_M = 30.0
# Places nearer than this are one, m.
SAME_PLACE_M = 1e-6
# The rig at the recorded entry.
HERE = Range(0.0, 0.0)


@dataclass(frozen=True)
class ProfileWishes:
    """What a person asks of a profile besides what the bore's record says.

    Attributes
    ----------
    entry_depth_m, exit_depth_m : Range or None
        Of the hole's centre below the ground at both ends; None for where the recorded profile begins and
        ends.
    rig_station_m : Range
        Where the rig may stand, 0 being the recorded entry and figures below 0 behind it.
    most_change_ratio : float or None
        Largest pitch change a rod where that is less than the bend radius gives; None for the bend radius
        alone.
    steepest_pitch_ratio : float or None
        Steepest pitch anywhere; None for that of the steeper end.
    greatest_depth_m : float or None
        Of the hole's centre below the ground; None for any.
    unexposed_down_to_m : float or None
        Depth below the ground under which no line without a depth lies, as somebody states; None where nobody
        does, so that such a line blocks every depth.
    enough_margin_m : float
        A margin past which a shorter profile is worth more.
    """

    entry_depth_m: Range | None = None
    exit_depth_m: Range | None = None
    rig_station_m: Range = HERE
    most_change_ratio: float | None = None
    steepest_pitch_ratio: float | None = None
    greatest_depth_m: float | None = None
    unexposed_down_to_m: float | None = None
    enough_margin_m: float = ENOUGH_MARGIN_M


@dataclass(frozen=True, eq=False)
class LineAhead:
    """A line that the profile must miss, over a stretch of the alignment.

    Attributes
    ----------
    obstacle : Obstacle
    mark : MarkInput
    kind : str
    station_m, from_m, to_m : float
        Of the crossing point and the extent; 0 is the recorded entry.
    required_m : float
    depth_is_known : bool
    last_met_m : float or None
        Where the centre lines meet in plan for the last time: a bore that begins past it lies alongside. None
        where they do not meet.
    as_crossing_m, as_alongside_m : float
        What is required in the one case and in the other.
    """

    obstacle: Obstacle
    mark: MarkInput
    kind: str
    station_m: float
    from_m: float
    to_m: float
    required_m: float
    depth_is_known: bool
    last_met_m: float | None
    as_crossing_m: float
    as_alongside_m: float

    @property
    def name(self) -> str:
        """What people call it."""
        return line_name(self.mark.operator, self.mark.ref)

    def begun_in(self, stretch: Range) -> "LineAhead":
        """The same for a bore that begins in a stretch, all before the last meeting or all past it."""
        is_met = self.last_met_m is not None and self.last_met_m >= stretch.greatest - SAME_PLACE_M
        required_m = self.as_crossing_m if is_met else self.as_alongside_m
        obstacle = self.obstacle
        if isinstance(obstacle, KeptAway):
            obstacle = replace(obstacle, required_m=required_m)
        elif isinstance(obstacle, UnknownDepth) and obstacle.down_to_m < BLOCKED_M:
            down_to_m = obstacle.down_to_m + required_m - self.required_m
            obstacle = replace(obstacle, down_to_m=down_to_m)
        kind = "crossing" if is_met else "alongside"
        return replace(self, obstacle=obstacle, kind=kind, required_m=required_m)


@dataclass(frozen=True, eq=False)
class Demands:
    """All that a profile must keep, with the lines in the order of the search's obstacles.

    ``begins_at_bit`` says that it goes on from rods in the ground: its first rod is drilled, and nothing of
    where it begins can be changed.
    """

    limits: ProfileLimits
    lines: tuple[LineAhead, ...]
    begins_at_bit: bool = False

    @property
    def obstacles(self) -> list[Obstacle]:
        """What the search keeps away from."""
        return [one.obstacle for one in self.lines]

    def begun_in(self, stretch: Range) -> "Demands":
        """The same with the rig in another stretch, within which no line's last meeting lies."""
        limits = self.limits
        moved_m = stretch.greatest - limits.entry_station_m.greatest
        covered = Range(limits.covered_m.least + moved_m, limits.covered_m.greatest)
        return replace(
            self,
            limits=replace(limits, entry_station_m=stretch, covered_m=covered),
            lines=tuple(one.begun_in(stretch) for one in self.lines),
        )

    def without(self, mark_id: str) -> "Demands":
        """The same but for one line."""
        return replace(self, lines=tuple(one for one in self.lines if one.mark.mark_id != mark_id))


class DemandError(SearchError, ValueError):
    """A bore whose records do not say what a profile must keep, or a wish that no profile can have."""


def demands_of(
    recorded: Scene, carried_back: Scene, behind_m: float, wishes: ProfileWishes, farther_m: float = 0.0
) -> Demands:
    """What a profile of a bore must keep.

    Parameters
    ----------
    recorded : Scene
    carried_back : Scene
        The same bore carried straight back.
    behind_m : float
        So far behind the recorded entry.
    wishes : ProfileWishes
    farther_m : float
        How much farther than the tolerance zone lines are looked for.

    Raises
    ------
    DemandError
        A limit of the rig that is not recorded, or wishes that contradict the bore.
    """
    length_m = float(chainages_m(carried_back.alignment_m)[-1]) - behind_m
    stretch = wishes.rig_station_m
    if stretch.least < -FARTHEST_BACK_M or stretch.greatest >= length_m:
        raise DemandError(
            f"the rig can be put from {FARTHEST_BACK_M:g} m behind the recorded entry to before the exit, "
            f"{length_m:.1f} m after it"
        )
    ground = carried_back.ground
    ground = Ground(ground.stations_m - behind_m, ground.elevations_m)
    bends = _plan_bends(carried_back.alignment_m, behind_m)
    limits = _limits(recorded, ground, length_m, bends, wishes)
    return Demands(limits, _lines_ahead(carried_back, ground, behind_m, wishes, farther_m))


def _limits(
    recorded: Scene,
    ground: Ground,
    length_m: float,
    bends: tuple[tuple[float, float], ...],
    wishes: ProfileWishes,
) -> ProfileLimits:
    """What the rig, the ends and the ground ask for."""
    rod_m, bend_m, entry_pitch, exit_pitch, cover_m = _rig_figures(recorded.inputs.rig)
    if wishes.most_change_ratio is not None:
        # The published convention for pitch change a rod is tan(L / R).
        bend_m = max(bend_m, rod_m / float(np.arctan(wishes.most_change_ratio)))
    ends = [abs(one) for pitch in (entry_pitch, exit_pitch) for one in (pitch.least, pitch.greatest)]
    entry_depth = wishes.entry_depth_m or _depth_now(recorded, 0.0)
    exit_depth = wishes.exit_depth_m or _depth_now(recorded, recorded.path.length_m)
    wanted_m = cover_m + MORE_COVER_M + recorded.bore_radius_m
    run_down_m = _run_m(wanted_m - entry_depth.greatest, -entry_pitch.greatest, length_m)
    run_up_m = _run_m(wanted_m - exit_depth.greatest, exit_pitch.least, length_m)
    return ProfileLimits(
        length_m=length_m,
        ground=ground,
        hole_radius_m=recorded.bore_radius_m,
        rod_length_m=rod_m,
        bend_radius_m=bend_m * (1.0 + WIDER_RATIO),
        entry_depth_m=entry_depth,
        exit_depth_m=exit_depth,
        entry_pitch_ratio=entry_pitch,
        exit_pitch_ratio=exit_pitch,
        minimum_cover_m=cover_m + MORE_COVER_M,
        covered_m=Range(wishes.rig_station_m.greatest + run_down_m, length_m - run_up_m),
        steepest_pitch_ratio=max(ends)
        if wishes.steepest_pitch_ratio is None
        else wishes.steepest_pitch_ratio,
        entry_station_m=wishes.rig_station_m,
        greatest_depth_m=FAR_M if wishes.greatest_depth_m is None else wishes.greatest_depth_m,
        plan_bends=bends,
        enough_margin_m=wishes.enough_margin_m,
    )


def _rig_figures(rig: RigInput) -> tuple[float, float, Range, Range, float]:
    """Rod length, bend radius, pitches at entry and exit, and minimum cover."""
    low, high = entry_pitches_ratio(rig)
    ends = (low, high, rig.exit_pitch_ratio_min, rig.exit_pitch_ratio_max)
    figures = (rig.rod_length_m, rig.bend_radius_m, *ends, rig.minimum_cover_m)
    known = [one for one in figures if one is not None]
    if len(known) < len(figures):
        missing = [words for name, words in RIG_LIMITS.items() if getattr(rig, name) is None]
        raise DemandError(f"not recorded for the rig: {', '.join(missing)}. Enter it")
    rod_m, bend_m, entry_low, entry_high, exit_low, exit_high, cover_m = known
    return rod_m, bend_m, Range(entry_low, entry_high), Range(exit_low, exit_high), cover_m


def _depth_now(scene: Scene, station_m: float) -> Range:
    """The depth at which the recorded profile begins or ends."""
    depth = float(scene.ground.at(station_m) - scene.path.at(station_m)[2])
    return Range(depth, depth)


def _run_m(missing_m: float, pitch_ratio: float, length_m: float) -> float:
    """The run from an end, at its shallowest pitch, to where the cover is reached."""
    longest = LONGEST_RUN_RATIO * length_m
    if missing_m <= 0.0:
        return 0.0
    return min(longest, missing_m / pitch_ratio) if pitch_ratio > 0.0 else longest


def _plan_bends(alignment_m: FloatArray, behind_m: float) -> tuple[tuple[float, float], ...]:
    steps = np.diff(alignment_m, axis=0)
    headings = np.arctan2(steps[:, 0], steps[:, 1])
    turns = (np.diff(headings) + np.pi) % (2.0 * np.pi) - np.pi
    stations = chainages_m(alignment_m)[1:-1] - behind_m
    return tuple(
        (float(at), float(turn)) for at, turn in zip(stations, turns, strict=True) if abs(turn) > 1e-9
    )


def _lines_ahead(
    scene: Scene, ground: Ground, behind_m: float, wishes: ProfileWishes, farther_m: float
) -> tuple[LineAhead, ...]:
    """Every line in whose tolerance zone, or so much farther, the alignment comes, by station."""
    job, found = scene.inputs.job, []
    for crossing in find_crossings(scene, farther_m=farther_m):
        figures, mark, required_m = crossing.clearance, crossing.mark, crossing.required_m
        as_crossing_m, as_alongside_m = (
            asked_separation(job.requirements, mark.operator, mark.facility_type, kind).required_m
            for kind in ("crossing", "alongside")
        )
        met_m = _last_met_m(scene, crossing)
        low, high = figures.from_m - behind_m, figures.to_m - behind_m
        whole = _obstacle(scene, crossing.line, ground, (low, high), behind_m, required_m, wishes)
        for first, last in without_gaps(whole):
            found.append(
                LineAhead(
                    obstacle=replace(whole, from_m=first, to_m=last),
                    mark=mark,
                    kind=figures.kind,
                    station_m=figures.station_m - behind_m,
                    from_m=first,
                    to_m=last,
                    required_m=required_m,
                    depth_is_known=crossing.line.line.depth_is_known,
                    last_met_m=None if met_m is None else met_m - behind_m,
                    as_crossing_m=as_crossing_m,
                    as_alongside_m=as_alongside_m,
                )
            )
    return tuple(found)


def _last_met_m(scene: Scene, crossing: FoundCrossing) -> float | None:
    """The last station at which the centre lines meet in plan, to a micrometre; None where they do not."""
    figures = crossing.clearance
    if figures.kind != "crossing":
        return None
    met_m, past_m = figures.station_m, figures.to_m
    while past_m - met_m > SAME_PLACE_M:
        middle_m = 0.5 * (met_m + past_m)
        is_met = plan_meeting(
            scene.path.stations_m, scene.path.points_m, crossing.line.line.points_m, middle_m, figures.to_m
        )[0]
        met_m, past_m = (middle_m, past_m) if is_met else (met_m, middle_m)
    return met_m


def _obstacle(
    scene: Scene,
    one: SceneLine,
    ground: Ground,
    extent_m: tuple[float, float],
    behind_m: float,
    required_m: float,
    wishes: ProfileWishes,
) -> KeptAway | UnknownDepth:
    job, (low, high) = scene.inputs.job, extent_m
    name = line_name(one.mark.operator, one.mark.ref)
    if not one.line.depth_is_known:
        down_to_m = BLOCKED_M
        if wishes.unexposed_down_to_m is not None:
            # As if its lowest point lay there, found by a hole and met by a bore as wrong as both may be.
            errors_m = job.bore_vertical_m + job.test_hole_m
            down_to_m = wishes.unexposed_down_to_m + scene.bore_radius_m + required_m + errors_m
        return UnknownDepth(name, low, high, ground, down_to_m)
    allowances = Allowances(
        tolerance_zone_m=job.tolerance_zone_m,
        reach_m=job.reach_m,
        bore_horizontal_m=job.bore_horizontal_m,
        bore_vertical_m=job.bore_vertical_m,
        slope_ratio=job.slope_ratio,
    )
    terms = error_terms(scene.bore_radius_m, one.line, allowances, one.mark.horizontal_accuracy_m)
    return KeptAway(name, low, high, required_m, scene.alignment_m, -behind_m, one.line, terms)
