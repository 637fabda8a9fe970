"""What the clearance record says of the rods that were drilled, as plain values and from the log."""

from collections.abc import Iterable

from conflicts.checks import Assessed
from conflicts.drawing.on_paper import on_paper
from conflicts.drawing.profile import draw_profile
from conflicts.drilled import Drilled, DrilledCrossing, DrilledJoint
from conflicts.drilled_beside import DrilledBeside, Leg, OffPlan
from conflicts.record.drilled_sheet import (
    RecordDrilled,
    RecordDrilledLine,
    RecordLeg,
    RecordLocatorCheck,
    RecordOffPlan,
    RecordRod,
)
from conflicts.rod_log import LocatorCheckInput
from conflicts.views.facility_words import FACILITY_WORDS


def drilled_of(assessed: Assessed, beside: DrilledBeside) -> RecordDrilled | None:
    """What is said of the rods of a bore; None where none was ever logged.

    Parameters
    ----------
    assessed : Assessed
        The plan.
    beside : DrilledBeside
        What was drilled, as of the record's moment.
    """
    log = beside.log
    if not (beside.is_any or log.checks):
        return None
    picture = ""
    if beside.paths:
        drawn = draw_profile(assessed.scene, assessed.crossings, FACILITY_WORDS, drilled=beside.paths)
        picture = on_paper(drawn.svg)
    drilled, made = beside.drilled, assessed.drilled_by(log)
    return RecordDrilled(
        profile_svg=picture,
        profile_words=_picture_words(beside.drilled, beside.legs),
        problem=beside.problem or made.problem,
        drilled_m=None if drilled is None else drilled.drilled_m,
        corrections_m=None if drilled is None else drilled.largest_correction_m,
        off_plan=tuple(_off_plan(one) for one in beside.off_plan),
        lines=tuple(_line(one) for one in made.crossings),
        rods=() if drilled is None else tuple(_rod(joint) for joint in drilled.joints),
        legs=tuple(_leg(leg) for leg in beside.legs),
        undone=sum(not one.is_abandoned_leg for one in log.withdrawn),
        checks=tuple(_checks(log.checks)),
    )


def _picture_words(drilled: Drilled | None, legs: list[Leg]) -> str:
    """What the picture shows, for who does not see it."""
    path = (
        "" if drilled is None else f" the path of the {len(drilled.joints)} rods in the ground in its band,"
    )
    left = f" {len(legs)} abandoned {'leg' if len(legs) == 1 else 'legs'}," if legs else ""
    return f"The profile with what was drilled over the plan:{path}{left} every figure in the tables below."


def _off_plan(one: OffPlan) -> RecordOffPlan:
    depth, plan = one.depth, one.plan
    return RecordOffPlan(
        name=one.name,
        deeper_m=None if depth is None else depth.deeper_m,
        depth_at="" if depth is None else f"rod {depth.rod.number}",
        vertical_error_m=None if depth is None else depth.vertical_error_m,
        right_m=None if plan is None else plan.right_m,
        plan_at="" if plan is None else f"rod {plan.rod.number}",
        horizontal_error_m=None if plan is None else plan.horizontal_error_m,
    )


def _line(one: DrilledCrossing) -> RecordDrilledLine:
    figures = one.crossing.clearance
    return RecordDrilledLine(
        mark_ref=one.crossing.mark.ref,
        operator=one.crossing.mark.operator,
        station_m=one.station_m,
        verdict=str(one.crossing.verdict),
        separation_m=figures.separation_m,
        worst_case_m=figures.worst_case_m,
        required_m=one.crossing.required_m,
        asked_now_m=None if one.asked_then is None else one.asked_now_m,
        is_whole=one.is_whole,
        excused_by=one.excused_by or "",
    )


def _rod(joint: DrilledJoint) -> RecordRod:
    rod = joint.rod
    return RecordRod(
        number=rod.number,
        station_m=joint.station_m,
        length_m=rod.length_m,
        depth_m=rod.depth_m,
        pitch_ratio=rod.pitch_ratio,
        deeper_m=None if rod.depth_m is None else joint.deeper_m,
        right_m=None if rod.dot is None else joint.right_m,
        vertical_error_m=joint.vertical_error_m,
        horizontal_error_m=joint.horizontal_error_m,
        logged_at=rod.logged_at,
        logged_by=rod.logged_by,
        remarks=". ".join(part.rstrip(".") for part in (rod.remarks, *_kept(rod.confirmed)) if part),
    )


def _kept(confirmed: Iterable[str]) -> list[str]:
    return [f"Kept though asked: {words}" for words in confirmed]


def _leg(leg: Leg) -> RecordLeg:
    return RecordLeg(leg.name, leg.first, leg.last, leg.reason, leg.withdrawn_at, leg.withdrawn_by)


def _checks(checks: Iterable[LocatorCheckInput]) -> list[RecordLocatorCheck]:
    return [
        RecordLocatorCheck(
            one.hole_ref, one.device, one.read_depth_m, one.measured_depth_m, one.checked_at, one.checked_by
        )
        for one in checks
    ]
