"""Whether what is visible and what was dug near a bore agrees with the marks."""

from datetime import datetime

import numpy as np
import shapely

from conflicts.engine.line import project_on
from conflicts.faults import Fault
from conflicts.inputs import TestHoleInput
from conflicts.rests_on import record_key
from conflicts.scene import Scene, SceneLine
from locates.local_time import format_moment
from locates.units import format_length

# How near to the bore or its pits a surface feature must be explained: 10 ft. Common practice, no source.
NEAR_FEATURE_M = 3.048
# How near an unmarked line that a test hole found concerns the bore: 50 ft, for nobody knows where it goes.
# Common practice, no source.
NEAR_STRAY_M = 15.24
# The ground may differ between a test hole and the bore by this and by as much as they lie apart: a wall or a
# cut bank, and a slope of 1 in 1. More than that is two datums. Common practice, no source.
GROUND_STEP_M = 1.5
# A hole at the very edge of its line's tolerance zone is inside it, whichever way its position was rounded.
MISMARK_SLACK_M = 0.005


def surface_faults(scene: Scene) -> list[Fault]:
    """Every surface feature without its mark, line without a mark and mark without its line."""
    return feature_faults(scene) + hole_faults(scene)


def feature_faults(scene: Scene) -> list[Fault]:
    """Faults on every surface feature near the bore that no mark of its type explains."""
    bore = _bore(scene)
    faults = []
    for feature in scene.inputs.surface_features:
        explained = is_explained(feature.facility_type, feature.explained_by_type, feature.signed_off_reason)
        # One that was placed by a phone may stand nearer to the bore than its position says.
        reach_m = NEAR_FEATURE_M + (feature.error_m or 0.0)
        if _distance_m(scene, bore, feature.position) <= reach_m and not explained:
            what = feature.feature_type.replace("_", " ")
            kind = feature.facility_type.replace("_", " ")
            words = (
                f"Surface feature {feature.ref} ({what}, {kind}) near the bore is explained by no mark of "
                "its type. Have the line located, or sign it off."
            )
            faults.append(Fault(f"{words} {record_key(feature)}", words))
    return faults


def hole_faults(scene: Scene) -> list[Fault]:
    """Faults on every hole near the bore that found an unmarked line, missed one, or has another datum."""
    bore = _bore(scene)
    faults = []
    for hole in scene.inputs.stray_holes:
        if _distance_m(scene, bore, hole.position) <= NEAR_STRAY_M:
            words = f"Test hole {hole.ref} found a line that nobody marked. Have it located."
            faults.append(_of_hole(hole, words))
    for line in scene.lines:
        faults += _missed(scene, line, bore)
        faults += _beside_its_mark(scene, line)
        faults += _of_another_datum(scene, line, bore)
    return faults


def dated_later(scene: Scene, at: datetime) -> list[str]:
    """Sentences on every test hole of a line near the bore that is dated after the moment asked about."""
    zone = scene.inputs.job.time_zone
    return [
        f"Test hole {hole.ref} is dated {format_moment(hole.measured_at, zone)}, later than now. Correct it."
        for line in scene.lines
        for hole in line.mark.holes
        if hole.measured_at > at
    ]


def _bore(scene: Scene) -> shapely.Geometry:
    """The bore and its pits in plan."""
    pits = [scene.polygon_m(pit.rings) for pit in scene.inputs.pits]
    return shapely.union_all([shapely.LineString(scene.plan_m), *pits])


def _distance_m(scene: Scene, bore: shapely.Geometry, position: tuple[float, float]) -> float:
    return float(shapely.distance(bore, shapely.Point(scene.points_m((position,))[0])))


def is_explained(facility_type: str, explained_by_type: str | None, signed_off_reason: str) -> bool:
    """Whether a mark of a surface feature's type explains it, or a person signed it off with a reason."""
    if signed_off_reason:
        return True
    if explained_by_type is None:
        return False
    return facility_type in (explained_by_type, "unknown")


def _of_hole(hole: TestHoleInput, words: str) -> Fault:
    """A fault of one hole: with any figure of it changed it is another."""
    return Fault(f"{words} {record_key(hole)}", words)


def _beside_its_mark(scene: Scene, line: SceneLine) -> list[Fault]:
    """Found holes that lie outside the tolerance zone of the very mark whose line they found."""
    painted = scene.points_m(line.mark.points)
    mark = shapely.LineString(painted) if len(painted) > 1 else shapely.Point(painted[0])
    zone_m = scene.inputs.job.tolerance_zone_m + line.line.size.plan_radius_m
    away = np.atleast_1d(shapely.distance(mark, shapely.points(line.found_positions_m)))
    units = scene.inputs.job.show_units
    return [
        _of_hole(
            hole,
            f"Test hole {hole.ref} found {line.mark.operator} {line.mark.ref} {format_length(off_m, units)} "
            "from its mark, outside the tolerance zone. Have the line marked again.",
        )
        for hole, off_m in zip(line.found, away.tolist(), strict=True)
        if off_m > zone_m + MISMARK_SLACK_M
    ]


def _missed(scene: Scene, line: SceneLine, bore: shapely.Geometry) -> list[Fault]:
    """Test holes near the bore that missed a line where its mark is, and no later hole beside them found."""
    faults = []
    for hole in line.mark.holes:
        if hole.found or _distance_m(scene, bore, hole.position) > NEAR_STRAY_M:
            continue
        here = scene.points_m((hole.position,))[0]
        away = np.linalg.norm(line.found_positions_m - here, axis=1)
        found_since = any(
            distance <= scene.inputs.job.reach_m and other.measured_at >= hole.measured_at
            for other, distance in zip(line.found, away, strict=True)
        )
        if not found_since:
            words = (
                f"Test hole {hole.ref} did not find {line.mark.operator} {line.mark.ref} where its mark is. "
                "Stop and have it located again."
            )
            faults.append(_of_hole(hole, words))
    return faults


def _of_another_datum(scene: Scene, line: SceneLine, bore: shapely.Geometry) -> list[Fault]:
    """Found holes near the bore whose ground and the bore's differ by more than ground does."""
    faults = []
    units = scene.inputs.job.show_units
    for hole in line.found:
        away_m = _distance_m(scene, bore, hole.position)
        if hole.ground_elevation_m is None or away_m > NEAR_STRAY_M:
            continue
        station_m = project_on(scene.points_m((hole.position,)), scene.plan_m)
        at_bore_m = float(scene.ground.at(station_m)[0])
        if abs(hole.ground_elevation_m - at_bore_m) > GROUND_STEP_M + away_m:
            by_hole, by_bore = (format_length(one, units) for one in (hole.ground_elevation_m, at_bore_m))
            words = (
                f"The ground is at {by_hole} by test hole {hole.ref} and at {by_bore} by the bore beside it. "
                "No clearance between two datums is true: enter both in the job's datum."
            )
            faults.append(_of_hole(hole, words))
    return faults
