"""The drilled hole held to what was asked of it when it was drilled past a line that asks for less since.

What a line is called, and what is asked for of its type, may be changed at a desk. A hole that was too near
by what was asked when its rods were logged does not get clear by that: somebody signs for it.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from conflicts.asked_then import AskedThen
from conflicts.drilled import Drilled, DrilledCrossing, answering, drilled_crossings
from conflicts.hole_passes import HoleSize
from conflicts.inputs import MarkInput, RequirementInput, asked_separation
from conflicts.rod_log import MetLine
from conflicts.same_place import is_same_place, may_be_off_m
from conflicts.scene import Scene, lay_out
from conflicts.site_records import MARGIN_SLACK_M

SETTLED_BY = "Only a variance for the hole as drilled, signed by the safety manager, settles it."


def held_to_then(
    scene: Scene,
    drilled: Drilled,
    at: datetime,
    hole: HoleSize | None = None,
) -> list[DrilledCrossing]:
    """Every crossing of a drilled path, judged by what was asked then where a milder record alone clears it.

    Parameters
    ----------
    scene : Scene
        Of the plan.
    drilled : Drilled
        The entries of its own rods tell what was asked.
    at : datetime
        At which variances count.
    hole : HoleSize or None
        By stations of the plan; None where it is as wide as the passes made it.

    Returns
    -------
    list of DrilledCrossing
        By station. One that is clear now, and would not be by the type and the figure of an entry, stands as
        it is judged by those: of several entries that which leaves least.

    Notes
    -----
    The readings, the test holes and the allowances are those of now: what they show counts both ways. What
    the entry itself found is not asked, for a later reading may have moved the hole.
    """
    return [
        one if not one.crossing.is_clear else _held(scene, drilled, at, hole, one)
        for one in drilled_crossings(scene, drilled, at, hole)
    ]


def _held(
    scene: Scene, drilled: Drilled, at: datetime, hole: HoleSize | None, now: DrilledCrossing
) -> DrilledCrossing:
    judged = [
        (asked, then)
        for asked in _asked_more(scene, drilled, now)
        for then in drilled_crossings(_as_then(scene, now.crossing.mark, asked), drilled, at, hole)
        if not then.crossing.is_clear and _is_there(then, now)
    ]
    if not judged:
        return now
    line, then = min(judged, key=lambda one: _margin_m(one[1]))
    return _as_asked(scene, now, then, AskedThen(line, now.crossing), at)


def _asked_more(scene: Scene, drilled: Drilled, now: DrilledCrossing) -> Iterator[MetLine]:
    """What entries say of the line of a crossing that is milder since: each type and figure once.

    Entries of the crossing's own kind are asked before those of the other: half passed, a line looks like one
    alongside.
    """
    job, mark = scene.inputs.job, now.crossing.mark
    met = [
        line
        for joint in drilled.joints
        for line in joint.rod.met or ()
        if is_same_place(now.lies, line, may_be_off_m(job))
    ]
    own_kind = [line for line in met if line.kind == now.lies.kind]
    unlike: dict[tuple[str, float], MetLine] = {}
    for line in own_kind or met:
        asked = asked_separation(job.requirements, mark.operator, mark.facility_type, line.kind)
        if line.facility_type != mark.facility_type or asked.required_m < line.required_m - MARGIN_SLACK_M:
            unlike.setdefault((line.facility_type, line.required_m), line)
    yield from unlike.values()


def _as_then(scene: Scene, mark: MarkInput, asked: MetLine) -> Scene:
    """The scene with that line alone, as it was called and with what was required of it."""
    inputs = scene.inputs
    required = RequirementInput(None, "", asked.required_m, asked.required_m)
    return lay_out(
        replace(
            inputs,
            marks=(replace(mark, facility_type=asked.facility_type),),
            marks_beside=(),
            job=replace(inputs.job, requirements=(required,)),
        )
    )


def _is_there(then: DrilledCrossing, now: DrilledCrossing) -> bool:
    """Whether two crossings of one path with one line reach to each other."""
    figures, others = then.crossing.clearance, now.crossing.clearance
    return figures.from_m <= others.to_m and figures.to_m >= others.from_m


def _margin_m(one: DrilledCrossing) -> float:
    worst_m = one.crossing.clearance.worst_case_m
    return float("-inf") if worst_m is None else worst_m - one.crossing.required_m


def _as_asked(
    scene: Scene, now: DrilledCrossing, then: DrilledCrossing, asked: AskedThen, at: datetime
) -> DrilledCrossing:
    """A crossing as it is judged by what was asked then, of the line as it is recorded now."""
    units = scene.inputs.job.show_units
    words = asked.words(units)
    crossing = replace(
        then.crossing,
        line=replace(then.crossing.line, mark=now.crossing.mark),
        sentence=f"{then.crossing.sentence} {words[:1].upper()}{words[1:]}. {SETTLED_BY}",
    )
    lies = replace(then.lies, rests_on=(*now.lies.rests_on, asked.fault(units)))
    return replace(
        then, crossing=crossing, lies=lies, answered_by=answering(scene, lies, at), asked_then=asked
    )
