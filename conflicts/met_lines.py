"""The lines that rods came to, as each was recorded when the rod was logged: what became of it since.

A release keeps the crossings that it names, the entry of a rod those that the hole meets. So a line that was
retired, moved or given another type after the hole was drilled past it is not forgotten.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

from conflicts.as_drilled import to_bit
from conflicts.drilled import DrilledCrossing, drilled_crossings, drilled_path
from conflicts.inputs import MarkInput
from conflicts.rests_on import record_key
from conflicts.rod_log import MetLine, RodInput, RodLog
from conflicts.scene import Scene


@dataclass(frozen=True)
class MetByRod:
    """A line that a rod came to; ``leg`` is empty where the rod is in the ground."""

    line: MetLine
    rod: RodInput
    leg: str


def lines_met(scene: Scene, log: RodLog) -> tuple[MetLine, ...]:
    """The lines in whose tolerance zone the last rod of a log came, its bit included, by station.

    Parameters
    ----------
    scene : Scene
        Of the plan, with the lines beside what that log drilled.
    log : RodLog

    Returns
    -------
    tuple of MetLine
        Each as far as the hole meets it from the entry on; empty where no rod is in the ground.

    Raises
    ------
    EngineError
        Readings that give no path.
    """
    drilled, head = drilled_path(scene, log), log.last
    if drilled is None or head is None:
        return ()
    begins_m = drilled.joints[-2].own_station_m if len(drilled.joints) > 1 else 0.0
    return tuple(
        _met(scene, one)
        for one in drilled_crossings(scene, to_bit(scene, drilled), head.logged_at)
        if one.crossing.clearance.to_m >= begins_m
    )


def _met(scene: Scene, one: DrilledCrossing) -> MetLine:
    mark, lies = one.crossing.mark, one.lies
    worst_m = lies.worst_case_m
    return MetLine(
        mark_id=lies.mark_id,
        mark_ref=mark.ref,
        operator=mark.operator,
        facility_type=mark.facility_type,
        kind=lies.kind,
        station_m=one.station_m,
        from_m=lies.from_m,
        to_m=lies.to_m,
        verdict=lies.verdict,
        worst_case_m=worst_m if worst_m is not None and isfinite(worst_m) else None,
        required_m=lies.required_m,
        extent_key=extent_key(scene, mark),
    )


def every_line_met(log: RodLog | None) -> Iterator[MetByRod]:
    """What the entries of rods name, the last logged first, those of abandoned legs after the others.

    Parameters
    ----------
    log : RodLog or None
        None where no rod was ever logged. An entry that was taken back names nothing.
    """
    if log is None:
        return
    legs = [(f"Leg {place}", leg.rods) for place, leg in enumerate(log.legs, start=1)]
    for name, rods in (("", log.rods), *legs):
        for rod in reversed(rods):
            for line in rod.met or ():
                yield MetByRod(line, rod, name)


def is_as_it_was(scene: Scene, line: MetLine) -> bool:
    """Whether a line lies there now as it did: then it is the readings that say where the hole meets it.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    line : MetLine
    """
    marks = (*scene.inputs.marks, *scene.inputs.marks_beside)
    return any(one.mark_id == line.mark_id and extent_key(scene, one) == line.extent_key for one in marks)


def extent_key(scene: Scene, mark: MarkInput) -> str:
    """The key of all that decides how far off a line is looked for, but for the path and its readings.

    Parameters
    ----------
    scene : Scene
    mark : MarkInput
    """
    holes = tuple((one.ref, one.position) for one in mark.holes)
    line = (mark.points, mark.stated_width_m, mark.stated_height_m, mark.facility_type, holes)
    job, log = scene.inputs.job, scene.inputs.site.log
    sure = (job.bore_horizontal_m, None if log is None else log.stated)
    return record_key((line, job.tolerance_zone_m, job.reach_m, scene.inputs.final_diameter_m, sure))
