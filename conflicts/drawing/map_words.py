"""The words on the map: what a symbol is, in the job's units and time zone, an unknown always said."""

from datetime import datetime

from conflicts.drawing.map_input import (
    MapBore,
    MapCrossing,
    MapDrilledCrossing,
    MapFeature,
    MapHole,
    MapJob,
    MapMark,
    MapTicket,
)
from conflicts.drawing.map_lines import PlanLine
from conflicts.sentences import line_name, station_words
from conflicts.ticket_check import SITE_MEETING
from locates.local_time import format_moment
from locates.units import UNKNOWN, format_length


def hole_label(hole: MapHole, show_units: str) -> str:
    """The few words that stand beside a test hole: how deep the top of the line is."""
    if hole.found:
        return format_length(hole.depth_to_top_m, show_units)
    return f"none to {format_length(hole.dug_depth_m, show_units, 'down')}"


def hole_words(hole: MapHole, show_units: str) -> str:
    """What a test hole found, how deep, and whether it is still open."""
    if hole.found:
        line = hole.mark_ref or "a line that nobody marked"
        found = f"top of {line} at {format_length(hole.depth_to_top_m, show_units)}"
    else:
        sought = f"{hole.mark_ref} not found" if hole.mark_ref else "no line found"
        found = f"{sought}, dug to {format_length(hole.dug_depth_m, show_units, 'down')}"
    state = {True: "open", False: "restored", None: "not known whether still open"}[hole.is_open]
    return f"{found}; {state}"


def mark_words(mark: MapMark, line: PlanLine, show_units: str) -> str:
    """How deep and how large the line of a mark is, as far as anybody knows."""
    if line.found_in:
        depth = f"depth known from {', '.join(line.found_in)}"
    else:
        depth = "depth unknown: no test hole has found it"
    size = format_length(line.size.width_m, show_units)
    size_words = f"outside size {size}{' (assumed)' if line.size.is_assumed else ''}"
    gone = {True: "", False: "; the mark is reported gone", None: ""}[mark.is_intact]
    return f"{depth}; {size_words}{gone}"


def feature_words(feature: MapFeature, is_explained: bool, show_units: str) -> str:
    """What a surface feature is, whether a line accounts for it, and how surely it is placed."""
    if feature.signed_off_reason:
        state = f"signed off: {feature.signed_off_reason}"
    else:
        state = "explained by a mark" if is_explained else "explained by no mark of its type"
    placed = format_length(feature.error_m, show_units, "up") if feature.error_m is not None else UNKNOWN
    return f"{feature.feature_type}; {state}; position to within: {placed}"


def ticket_words(ticket: MapTicket, at: datetime, time_zone: str) -> str:
    """Whether a ticket is in force now, and until or from when."""
    if ticket.legal_start_at is None or ticket.expires_at is None:
        missing = "legal start" if ticket.legal_start_at is None else "expiry"
        return f"not in force: its {missing} is {UNKNOWN}"
    if ticket.ticket_kind == SITE_MEETING:
        return "not in force for work: it only asks for a site meeting"
    if ticket.work_finished_at is not None:
        return f"not in force: its work is over since {format_moment(ticket.work_finished_at, time_zone)}"
    if ticket.is_in_force:
        return f"in force until {format_moment(ticket.expires_at, time_zone)}"
    if ticket.expires_at <= at:
        return f"not in force: expired {format_moment(ticket.expires_at, time_zone)}"
    return f"not in force before {format_moment(ticket.legal_start_at, time_zone)}"


def crossing_words(crossing: MapCrossing | MapDrilledCrossing, show_units: str) -> str:
    """The line, the station and what is left in the worst case beside what is required."""
    line = line_name(crossing.operator, crossing.mark_ref)
    wanted = format_length(crossing.required_m, show_units, "up")
    if crossing.worst_case_m is None:
        left = f"worst case {UNKNOWN}, {wanted} required"
    else:
        left = f"worst case {format_length(crossing.worst_case_m, show_units, 'down')}, {wanted} required"
    return f"{line} at {station_words(crossing.station_m, show_units)}: {left}"


def drilled_crossing_words(crossing: MapDrilledCrossing, show_units: str) -> str:
    """The same of the hole as drilled, and whether the plan meets the line there, and who answers for it."""
    told = [crossing_words(crossing, show_units)]
    if crossing.is_held_to_then:
        told.append("as was asked when it was drilled past")
    if crossing.leg:
        told.append(f"{crossing.leg}, pulled back")
    if not crossing.is_whole:
        told.append("as far as it went" if crossing.leg else "so far: the head is still beside it")
    if crossing.is_alone:
        told.append("the plan does not meet it")
    if crossing.answered_by:
        told.append(f"under a variance of {crossing.answered_by}")
    return "; ".join(told)


def bore_words(bore: MapBore, length_m: float, show_units: str) -> str:
    """How long a bore is and how wide its finished hole is to be."""
    hole = format_length(bore.final_diameter_m, show_units)
    return f"{format_length(length_m, show_units)} long, planned hole {hole}"


def uncovered_words(low_m: float, high_m: float, bore: MapBore, job: MapJob, at: datetime) -> str:
    """Which stations lie in no work area of a ticket in force, and until when that was asked."""
    stations = f"{station_words(low_m, job.show_units)} to {station_words(high_m, job.show_units)}"
    if bore.finish_at is None or bore.finish_at < at:
        return f"{stations}: no ticket in force covers it now, and until when it must is not known"
    finish = format_moment(bore.finish_at, job.time_zone)
    return f"{stations}: no ticket in force covers it until the planned finish {finish}"


def pit_words(end: str, depth_m: float | None, show_units: str) -> str:
    """Which pit, and how deep."""
    depth = "depth unknown" if depth_m is None else f"{format_length(depth_m, show_units)} deep"
    return f"{end} pit, {depth}"


def tolerance_words(job: MapJob) -> str:
    """How wide the tolerance zones on the map are, or why there are none."""
    if job.tolerance_zone_m is None:
        return "Width of the tolerance zone unknown: no zone is drawn. Enter it in the job."
    width = format_length(job.tolerance_zone_m, job.show_units)
    doubt = "" if job.tolerance_is_sure else " The width is from a doubtful rule: have it checked."
    return f"{width} either side of the outside edge of each line, to scale.{doubt}"
