"""The crossings of a bore: figures from the engine, what is required, the verdict and its sentence."""

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from conflicts.engine.clearance import (
    Allowances,
    BoreErrors,
    Clearance,
    clearances,
    past_allowance_by_piece_m,
)
from conflicts.engine.exposure import Exposure, exposure, point_along
from conflicts.engine.frame import FloatArray
from conflicts.engine.line import project_on
from conflicts.engine.verdict import Verdict, verdict, verdict_steps
from conflicts.hole_passes import HoleSize
from conflicts.inputs import AskedSeparation, MarkInput, TestHoleInput, asked_separation
from conflicts.scene import Scene, SceneLine
from conflicts.sentences import DigPlace, crossing_sentence, dig_words, line_name
from locates.local_time import format_moment


@dataclass(frozen=True, eq=False)
class FoundCrossing:
    """One crossing with everything that its record shows.

    Attributes
    ----------
    line : SceneLine
        The line, with its mark and its found test holes.
    clearance : Clearance
    exposure : Exposure
    asked : AskedSeparation
        What is required, and of whom.
    verdict : Verdict
    stale_because : str or None
        What made the exposure stale.
    dig : DigPlace or None
        Where the hole is wanted that would expose it; None where it is exposed.
    sentence : str
    longitude_deg, latitude_deg : float
        The crossing point.
    """

    line: SceneLine
    clearance: Clearance
    exposure: Exposure
    asked: AskedSeparation
    verdict: Verdict
    stale_because: str | None
    dig: DigPlace | None
    sentence: str
    longitude_deg: float
    latitude_deg: float

    @property
    def mark(self) -> MarkInput:
        """The mark of the line."""
        return self.line.mark

    @property
    def exposing_holes(self) -> tuple[TestHoleInput, ...]:
        """Found holes within the expose reach of the crossing point."""
        return tuple(self.line.found[index] for index in self.exposure.holes)

    @property
    def is_exposed(self) -> bool:
        """Whether test holes expose the line where the bore meets it."""
        return self.exposure.is_exposed

    @property
    def is_clear(self) -> bool:
        """Whether nothing about it holds the bore."""
        return self.verdict is Verdict.CLEAR

    @property
    def required_m(self) -> float:
        """Separation that is asked for."""
        return self.asked.required_m

    @property
    def steps(self) -> list[tuple[Verdict, bool]]:
        """Every verdict in the order of asking, and whether it fits."""
        return verdict_steps(
            separation_m=self.clearance.separation_m,
            worst_case_m=self.clearance.worst_case_m,
            required_m=self.required_m,
            is_exposed=self.is_exposed,
            is_stale=self.stale_because is not None,
        )


def find_crossings(
    scene: Scene,
    bore_errors_m: BoreErrors | None = None,
    hole: HoleSize | None = None,
    farther_m: float = 0.0,
) -> list[FoundCrossing]:
    """Every crossing of the scene's bore, by station.

    Parameters
    ----------
    scene : Scene
    bore_errors_m : BoreErrors or None
        What the bore may be off by between two stations; None where the steering allowances count.
    hole : HoleSize or None
        How wide the hole is, by the path's own stations; None where it is as wide as along the plan.
    farther_m : float
        How much farther than the tolerance zone lines are looked for all along the path.

    Returns
    -------
    list of FoundCrossing
        By station, then by the mark's reference.

    Notes
    -----
    A crossing counts with the largest diameter that the hole has anywhere in its extent. Where the bore may
    be off in plan by more than the steering allowance, lines are looked for so much farther besides.
    """
    job = scene.inputs.job
    allowances = Allowances(
        tolerance_zone_m=job.tolerance_zone_m,
        reach_m=job.reach_m,
        bore_horizontal_m=job.bore_horizontal_m,
        bore_vertical_m=job.bore_vertical_m,
        slope_ratio=job.slope_ratio,
    )
    size = scene.inputs.hole if hole is None else hole
    by_piece_m = np.full(len(scene.path.stations_m) - 1, farther_m)
    if bore_errors_m is not None:
        by_piece_m += past_allowance_by_piece_m(scene.path, allowances, bore_errors_m)
    found = [
        _found(scene, one, clearance)
        for one in scene.lines
        for clearance in _of_line(scene, one, allowances, bore_errors_m, size, by_piece_m)
    ]
    return sorted(found, key=lambda crossing: (crossing.clearance.station_m, crossing.mark.ref))


def _of_line(
    scene: Scene,
    one: SceneLine,
    allowances: Allowances,
    bore_errors_m: BoreErrors | None,
    hole: HoleSize,
    farther_m: FloatArray,
) -> list[Clearance]:
    """Every crossing with a line, each with the largest diameter in its extent.

    Extents grow with the radius. So whoever goes from the largest diameter down finds each smaller extent
    either alone, or within one that was kept before.
    """
    kept: list[Clearance] = []
    for diameter_m in hole.levels_m:
        for clearance in clearances(
            scene.path,
            0.5 * diameter_m,
            one.line,
            allowances,
            one.mark.horizontal_accuracy_m,
            bore_errors_m,
            farther_m,
        ):
            low_m, high_m = clearance.from_m, clearance.to_m
            is_within = any(low_m <= wide.to_m and high_m >= wide.from_m for wide in kept)
            if not is_within and hole.widest_between(low_m, high_m) == diameter_m:
                kept.append(clearance)
    return kept


def judged_as(scene: Scene, half: FoundCrossing, planned: FoundCrossing) -> FoundCrossing:
    """A crossing that the bore has only half passed, as the planned one of the same line there is judged.

    Parameters
    ----------
    scene : Scene
    half : FoundCrossing
        Half passed, a line looks like one alongside, and where the path ends is no crossing point.
    planned : FoundCrossing

    Returns
    -------
    FoundCrossing
        With the clearance of the former; kind, requirement and exposure are the latter's.
    """
    return _judged(scene, half.line, replace(half.clearance, kind=planned.clearance.kind), planned.exposure)


def _found(scene: Scene, one: SceneLine, clearance: Clearance) -> FoundCrossing:
    job = scene.inputs.job
    exposed = exposure(clearance, one.line, one.found_positions_m, job.reach_m, job.spacing_m)
    return _judged(scene, one, clearance, exposed)


def _judged(scene: Scene, one: SceneLine, clearance: Clearance, exposed: Exposure) -> FoundCrossing:
    job, mark = scene.inputs.job, one.mark
    holes = tuple(one.found[index] for index in exposed.holes)
    stale_because = _stale_because(mark, holes, job.time_zone)
    asked = asked_separation(job.requirements, mark.operator, mark.facility_type, clearance.kind)
    decided = verdict(
        separation_m=clearance.separation_m,
        worst_case_m=clearance.worst_case_m,
        required_m=asked.required_m,
        is_exposed=exposed.is_exposed,
        is_stale=stale_because is not None,
    )
    dig = _dig(scene, one, exposed, clearance.sizes.bore_radius_m)
    sentence = crossing_sentence(
        verdict=decided,
        line=line_name(mark.operator, mark.ref),
        station_m=clearance.station_m,
        separation_m=clearance.separation_m,
        worst_case_m=clearance.worst_case_m,
        required_m=asked.required_m,
        dig=None if dig is None else dig_words(dig, job.show_units),
        stale_because=stale_because,
        is_size_assumed=one.line.size.is_assumed,
        show_units=job.show_units,
    )
    longitude, latitude = scene.frame.to_geographic(clearance.point_m)[0]
    return FoundCrossing(
        line=one,
        clearance=clearance,
        exposure=exposed,
        asked=asked,
        verdict=decided,
        stale_because=stale_because,
        dig=dig,
        sentence=sentence,
        longitude_deg=float(longitude),
        latitude_deg=float(latitude),
    )


def _stale_because(mark: MarkInput, holes: tuple[TestHoleInput, ...], time_zone: str) -> str | None:
    """Why what the holes exposed no longer counts, or None: the mark is gone, or was renewed since."""
    return stale_since(mark, max((hole.measured_at for hole in holes), default=None), time_zone)


def stale_since(mark: MarkInput, seen_at: datetime | None, time_zone: str) -> str | None:
    """Why what was seen of a line at a moment no longer counts, or None.

    Parameters
    ----------
    mark : MarkInput
    seen_at : datetime or None
        None where nothing was seen.
    time_zone : str
        IANA name.
    """
    if mark.is_intact is False:
        return "its mark is reported gone"
    if mark.re_marked_at is not None and seen_at is not None and mark.re_marked_at > seen_at:
        return f"the line was re-marked since ({format_moment(mark.re_marked_at, time_zone)})"
    return None


def _dig(scene: Scene, one: SceneLine, exposed: Exposure, bore_radius_m: float) -> DigPlace | None:
    """Where to dig the hole that a crossing wants."""
    if exposed.dig_along_m is None:
        return None
    point = point_along(one.line, exposed.dig_along_m)
    missed = [hole.ref for hole in one.mark.holes if not hole.found and _is_within_reach(scene, hole, point)]
    station_m = float(project_on(point, scene.plan_m)[0])
    longitude, latitude = scene.frame.to_geographic(point)[0]
    return DigPlace(
        station_m=station_m,
        offset_m=_offset_m(scene, station_m, point),
        bottom_m=float(scene.ground.at(station_m) - scene.path.at(station_m)[2]) + bore_radius_m,
        longitude_deg=float(longitude),
        latitude_deg=float(latitude),
        missed_by=", ".join(missed),
    )


def _is_within_reach(scene: Scene, hole: TestHoleInput, point_m: FloatArray) -> bool:
    away = np.linalg.norm(scene.points_m((hole.position,))[0] - point_m)
    return bool(away <= scene.inputs.job.reach_m)


def _offset_m(scene: Scene, station_m: float, point_m: FloatArray) -> float:
    """Distance of a point from the bore at its station, positive to the right facing the exit."""
    stations = scene.path.stations_m
    piece = int(np.clip(np.searchsorted(stations, station_m, side="right") - 1, 0, len(stations) - 2))
    ahead = scene.plan_m[piece + 1] - scene.plan_m[piece]
    away = point_m - scene.path.at(station_m)[:2]
    distance = float(np.linalg.norm(away))
    return distance if ahead[1] * away[0] - ahead[0] * away[1] > 0.0 else -distance
