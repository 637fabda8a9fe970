"""Whether tickets in force cover a bore until its planned finish, and their operators have answered."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import shapely

from conflicts.engine.coverage import is_covered, uncovered_stations
from conflicts.inputs import MarkInput, TicketInput
from conflicts.scene import Scene
from locates.answers import FINAL_RESPONSES
from locates.local_time import format_moment
from locates.units import format_station

SITE_MEETING = "site_meeting"


@dataclass(frozen=True, eq=False)
class TicketCover:
    """How the tickets of a job cover one bore at a moment.

    Attributes
    ----------
    scene : Scene
    at : datetime
        The moment.
    touching : list of TicketInput
        Tickets whose work area the bore or a pit of it enters.
    lapses : list of str
        Why those of them that are not in force from the moment until the planned finish are not.
    in_force : list of TicketInput
        Those of them that are.
    gaps_m : list of (from_m, to_m)
        Stations that lie in no work area of those in force.
    bare_m : list of (from_m, to_m)
        Stations that lie in no work area at all.
    """

    scene: Scene
    at: datetime
    touching: list[TicketInput]
    lapses: list[str]
    in_force: list[TicketInput]
    gaps_m: list[tuple[float, float]]
    bare_m: list[tuple[float, float]]


def ticket_cover(scene: Scene, at: datetime) -> TicketCover:
    """The cover of a scene's bore at a moment."""
    bore = shapely.union_all(
        [shapely.LineString(scene.plan_m), *(scene.polygon_m(pit.rings) for pit in scene.inputs.pits)]
    )
    touching = [ticket for ticket in scene.inputs.tickets if shapely.intersects(scene.area_m([ticket]), bore)]
    reasons = [why_not_in_force(ticket, scene, at) for ticket in touching]
    in_force = [ticket for ticket in touching if lasts(ticket, at, scene.inputs.planned_finish_at)]
    return TicketCover(
        scene=scene,
        at=at,
        touching=touching,
        lapses=[reason for reason in reasons if reason is not None],
        in_force=in_force,
        gaps_m=uncovered_stations(scene.plan_m, scene.area_m(in_force)),
        bare_m=uncovered_stations(scene.plan_m, scene.area_m(touching)),
    )


class Dated(Protocol):
    """A ticket: its legal start and expiry, either of which may be unknown, and what it is for."""

    @property
    def legal_start_at(self) -> datetime | None:
        """When digging may begin."""

    @property
    def expires_at(self) -> datetime | None:
        """When it has to end."""

    @property
    def ticket_kind(self) -> str:
        """What it was called in for."""

    @property
    def work_finished_at(self) -> datetime | None:
        """When its work was said to be over; None where that was not said."""


def is_for_work(ticket: Dated) -> bool:
    """Whether a ticket stands for work that goes on: not over, and not for a site meeting alone."""
    return ticket.work_finished_at is None and ticket.ticket_kind != SITE_MEETING


def is_in_force(ticket: Dated, at: datetime) -> bool:
    """Whether a ticket is in force at a moment; one with an unknown date never is."""
    return lasts(ticket, at, None)


def lasts(ticket: Dated, at: datetime, finish_at: datetime | None) -> bool:
    """Whether a ticket is in force from a moment until the planned finish.

    A planned finish that is unknown or past asks for the moment alone. One whose work is said to be over, or
    that only asks for a site meeting, never is: nobody marks or watches for work on its strength.
    """
    if ticket.legal_start_at is None or ticket.expires_at is None or not is_for_work(ticket):
        return False
    until = at if finish_at is None else max(at, finish_at)
    return ticket.legal_start_at <= at < ticket.expires_at and until <= ticket.expires_at


def why_not_in_force(ticket: TicketInput, scene: Scene, at: datetime) -> str | None:
    """Why a ticket is not in force from a moment until the planned finish; None where it is.

    A planned finish that is unknown or past asks for the moment alone.
    """
    zone = scene.inputs.job.time_zone
    finish = scene.inputs.planned_finish_at
    if lasts(ticket, at, finish):
        return None
    name = f"Ticket {ticket.number}"
    if ticket.ticket_kind == SITE_MEETING:
        return f"{name} only asks for a site meeting: call a ticket for the boring in."
    if ticket.work_finished_at is not None:
        return (
            f"The work of ticket {ticket.number} is said to be over since "
            f"{format_moment(ticket.work_finished_at, zone)}: "
            "call a new one in, or take that back on the ticket."
        )
    if ticket.legal_start_at is None or ticket.expires_at is None:
        missing = "legal start" if ticket.legal_start_at is None else "expiry"
        return f"{name} has no known {missing}: enter it."
    if ticket.legal_start_at > at:
        return f"{name} does not start before {format_moment(ticket.legal_start_at, zone)}: wait."
    if ticket.expires_at <= at:
        return f"{name} expired {format_moment(ticket.expires_at, zone)}: call a new one in."
    return (
        f"{name} expires {format_moment(ticket.expires_at, zone)}, before the planned finish "
        f"{format_moment(finish, zone)}: renew it."
    )


def ticket_faults(cover: TicketCover) -> list[str]:
    """Sentences on what no ticket in force covers until the planned finish."""
    places = uncovered_places(cover)
    return places + ticket_steps(cover, places) + _late(cover)


def _late(cover: TicketCover) -> list[str]:
    """A planned finish that is past tells as little of when the drilling ends as one that is not recorded."""
    finish_at = cover.scene.inputs.planned_finish_at
    if finish_at is None or finish_at >= cover.at:
        return []
    finish = format_moment(finish_at, cover.scene.inputs.job.time_zone)
    return [f"The planned finish {finish} is past: enter a new one, for the tickets must last until then."]


def uncovered_places(cover: TicketCover) -> list[str]:
    """Sentences on the stretches and pits that lie in no work area of a ticket in force."""
    faults = []
    if cover.gaps_m:
        faults.append(f"No ticket in force until the planned finish covers {_ranges(cover, cover.gaps_m)}.")
    area = cover.scene.area_m(cover.in_force)
    faults += [
        f"The {pit.end} pit is not inside the work area of a ticket in force."
        for pit in cover.scene.inputs.pits
        if not is_covered(cover.scene.polygon_m(pit.rings), area)
    ]
    return faults


def ticket_steps(cover: TicketCover, places: list[str]) -> list[str]:
    """Sentences on what to do about uncovered places, and about a planned finish that is not known."""
    steps = []
    if places:
        steps += cover.lapses
        if cover.bare_m:
            steps.append(f"No work area at all covers {_ranges(cover, cover.bare_m)}: call a ticket in.")
    if cover.scene.inputs.planned_finish_at is None:
        steps.append("The planned finish is not recorded: enter it, for the tickets must last until then.")
    return steps


def response_faults(cover: TicketCover) -> list[str]:
    """Sentences on the answers that are missing on the tickets in force, or that the marks contradict."""
    faults = []
    if not cover.in_force:
        faults.append("No ticket is in force for this bore, so no operator has answered for it.")
    for ticket in cover.in_force:
        faults += answer_faults(ticket, cover.at, cover.scene.inputs.job.time_zone)
    return faults


def unnotified(cover: TicketCover, marks: Iterable[MarkInput]) -> list[str]:
    """A caution for each operator of lines at the bore whom no ticket in force names, with what to do.

    It holds nothing: what the law asks of a ticket is that those answer whom the centre notified.
    """
    named = {one.operator for ticket in cover.in_force for one in ticket.responses}
    refs: dict[str, list[str]] = {}
    for mark in marks:
        if mark.operator and mark.operator not in named:
            refs.setdefault(mark.operator, []).append(mark.ref)
    return [
        f"Caution: {operator}, whose {', '.join(dict.fromkeys(lines))} the bore meets, is on no ticket in "
        "force. Call the one-call centre and ask that it be notified."
        for operator, lines in refs.items()
    ]


def undated(cover: TicketCover) -> list[str]:
    """A caution for each final answer on the tickets in force of which nobody wrote down when it came.

    It holds nothing: the check asks for a final answer, and a job file may leave its time out.
    """
    return [
        f"Caution: {one.operator} on ticket {ticket.number} answered {one.response.replace('_', ' ')}, at a "
        "time that is not recorded. Log the answer again with its time."
        for ticket in cover.in_force
        for one in ticket.responses
        if one.response in FINAL_RESPONSES and one.responded_at is None
    ]


def answer_faults(ticket: TicketInput, at: datetime, time_zone: str) -> list[str]:
    """Sentences on the answers that are missing on one ticket at a moment, or that the marks contradict."""
    faults = []
    if not ticket.responses:
        faults.append(nobody_notified(ticket.number))
    for one in ticket.responses:
        who = f"{one.operator} on ticket {ticket.number}"
        if one.response not in FINAL_RESPONSES:
            passed = deadline_passed(ticket.response_due_at, at, time_zone)
            faults.append(unanswered(one.operator, ticket.number, one.response, passed))
        elif one.responded_at is not None and one.responded_at > at:
            faults.append(
                not_come_yet(one.operator, ticket.number, one.response, one.responded_at, time_zone)
            )
        elif one.response == "marked" and not one.has_marks:
            faults.append(f'{who} answered "marked", but no mark of it is logged in the work area.')
        elif one.response == "no_facilities" and one.has_marks:
            faults.append(f'{who} answered "no facilities", but a mark of it is logged in the work area.')
    return faults


def nobody_notified(number: str) -> str:
    """The sentence on a ticket on which no operator is logged."""
    return f"Ticket {number} names no operator: log who was notified."


def unanswered(operator: str, number: str, response: str, passed: str) -> str:
    """The sentence on an operator whose answer is not a final one, with what `deadline_passed` says."""
    return f"{operator} on ticket {number}: {response.replace('_', ' ')}{passed}. Get its final answer."


def not_come_yet(operator: str, number: str, response: str, answered_at: datetime, time_zone: str) -> str:
    """The sentence on an operator whose final answer has a time that is still to come."""
    said = f"{response.replace('_', ' ')}, but answered {format_moment(answered_at, time_zone)}"
    return f"{operator} on ticket {number}: {said}, later than now. Correct it."


def deadline_passed(due_at: datetime | None, at: datetime, time_zone: str) -> str:
    """Words on a deadline for answers that a moment has reached; "" where it is to come or not known."""
    if due_at is None or due_at > at:
        return ""
    return f", and the deadline passed {format_moment(due_at, time_zone)}"


def _ranges(cover: TicketCover, ranges_m: list[tuple[float, float]]) -> str:
    units = cover.scene.inputs.job.show_units
    words = [f"{format_station(low, units)} to {format_station(high, units)}" for low, high in ranges_m]
    return f"stations {', '.join(words)}"
