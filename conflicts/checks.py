"""The checks behind a release, each passing or holding with a sentence to act on.

The moment comes in: nothing here reads a clock. An unknown holds, and so does an empty record.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from conflicts.crossings import FoundCrossing
from conflicts.engine.coverage import is_covered, uncovered_stations
from conflicts.engine.verdict import Verdict
from conflicts.inputs import TicketInput
from conflicts.profile_check import profile_faults
from conflicts.scene import Scene
from conflicts.sentences import line_name, station_words
from conflicts.surface_check import surface_faults
from locates.local_time import format_moment
from locates.units import format_station

FINAL_RESPONSES = ("marked", "no_facilities")


@dataclass(frozen=True)
class Check:
    """One ground of a release. ``holds`` is true where it stops the release."""

    code: str
    holds: bool
    sentence: str


@dataclass(frozen=True, eq=False)
class Assessed:
    """A bore's scene with its crossings and what the tickets in force leave uncovered at a moment."""

    scene: Scene
    crossings: list[FoundCrossing]
    at: datetime
    in_force: list[TicketInput]
    gaps_m: list[tuple[float, float]]


def assessed_at(scene: Scene, crossings: list[FoundCrossing], at: datetime) -> Assessed:
    """A scene and its crossings held against the tickets in force from a moment to the planned finish."""
    in_force = [ticket for ticket in scene.inputs.tickets if why_not_in_force(ticket, scene, at) is None]
    gaps_m = uncovered_stations(scene.plan_m, scene.area_m(in_force))
    return Assessed(scene, crossings, at, in_force, gaps_m)


def why_not_in_force(ticket: TicketInput, scene: Scene, at: datetime) -> str | None:
    """Why a ticket is not in force from a moment until the planned finish; None where it is.

    A planned finish that is unknown or past asks for the moment alone.
    """
    zone = scene.inputs.job.time_zone
    finish = scene.inputs.planned_finish_at
    if ticket.legal_start_at is None or ticket.expires_at is None:
        missing = "legal start" if ticket.legal_start_at is None else "expiry"
        return f"ticket {ticket.number} has no known {missing}"
    if ticket.legal_start_at > at:
        return f"ticket {ticket.number} does not start before {format_moment(ticket.legal_start_at, zone)}"
    if ticket.expires_at <= at:
        return f"ticket {ticket.number} expired {format_moment(ticket.expires_at, zone)}"
    if finish is not None and ticket.expires_at < finish:
        return (
            f"ticket {ticket.number} expires {format_moment(ticket.expires_at, zone)}, "
            f"before the planned finish {format_moment(finish, zone)}"
        )
    return None


def release_checks(assessed: Assessed) -> list[Check]:
    """Every check that the records of a job can answer, in the order of the release.

    The day's walk and the proof of the locating device are not among them: they are made at the rig.
    """
    return [make(assessed) for make in CHECKS]


def _ticket_check(assessed: Assessed) -> Check:
    inputs = assessed.scene.inputs
    units = inputs.job.show_units
    faults = []
    if assessed.gaps_m:
        ranges = ", ".join(
            f"{format_station(low, units)} to {format_station(high, units)}" for low, high in assessed.gaps_m
        )
        faults.append(f"No ticket in force until the planned finish covers stations {ranges}.")
    area = assessed.scene.area_m(assessed.in_force)
    faults += [
        f"The {pit.end} pit is not inside the work area of a ticket in force."
        for pit in inputs.pits
        if not is_covered(assessed.scene.polygon_m(pit.rings), area)
    ]
    if faults:
        reasons = [why_not_in_force(ticket, assessed.scene, assessed.at) for ticket in inputs.tickets]
        named = [reason for reason in reasons if reason is not None]
        if named:
            faults.append(_sentence("; ".join(named)))
        elif not inputs.tickets:
            faults.append("No ticket is logged for this job: call one in.")
    if inputs.planned_finish_at is None:
        faults.append("The planned finish is not recorded: enter it, for the tickets must last until then.")
    numbers = ", ".join(ticket.number for ticket in assessed.in_force)
    return _check("tickets", faults, f"The bore and its pits lie in the work area of ticket {numbers}.")


def _response_check(assessed: Assessed) -> Check:
    faults = []
    if not assessed.in_force:
        faults.append("No ticket is in force, so no operator has answered for this bore.")
    for ticket in assessed.in_force:
        if not ticket.responses:
            faults.append(f"Ticket {ticket.number} names no operator: log who was notified.")
        for one in ticket.responses:
            answer = one.response.replace("_", " ")
            who = f"{one.operator} on ticket {ticket.number}"
            if one.response not in FINAL_RESPONSES:
                faults.append(f"{who}: {answer}. Get its final answer.")
            elif one.response == "marked" and not one.has_marks:
                faults.append(f'{who} answered "marked", but no mark of it is logged in the work area.')
            elif one.response == "no_facilities" and one.has_marks:
                faults.append(f'{who} answered "no facilities", but a mark of it is logged in the work area.')
    return _check("responses", faults, "Every operator on the tickets in force has answered.")


def _crossing_check(assessed: Assessed) -> Check:
    faults = [one.sentence for one in assessed.crossings if one.verdict is not Verdict.CLEAR]
    if not assessed.crossings and _response_check(assessed).holds:
        faults.append("No line is logged near the bore, and the operators have not all answered.")
    count = len(assessed.crossings)
    passed = f"All {count} crossings are clear." if count > 1 else "The one crossing is clear."
    return _check("crossings", faults, passed if count else "The bore meets no marked line.")


def _surface_check(assessed: Assessed) -> Check:
    faults = surface_faults(assessed.scene)
    return _check("surface", faults, "Surface features and test holes agree with the marks.")


def _profile_check(assessed: Assessed) -> Check:
    return _check("profile", profile_faults(assessed.scene), "The rig can drill the profile.")


def _watch_hole_check(assessed: Assessed) -> Check:
    units = assessed.scene.inputs.job.show_units
    faults = []
    for one in assessed.crossings:
        where = f"{line_name(one.mark.operator, one.mark.ref)} at "
        where += station_words(one.clearance.station_m, units)
        if not one.exposing_holes:
            faults.append(f"{where} has no test hole to watch it in.")
        elif not any(hole.is_open for hole in one.exposing_holes):
            names = ", ".join(hole.ref for hole in one.exposing_holes)
            is_unknown = any(hole.is_open is None for hole in one.exposing_holes)
            state = "not known to be open" if is_unknown else "closed"
            faults.append(f"{where}: test hole {names} is {state}. Open it for the crossing watch.")
    passed = (
        "The test holes of all crossings are open." if assessed.crossings else "No crossing needs watching."
    )
    return _check("watch_holes", faults, passed)


def _duty_check(assessed: Assessed) -> Check:
    inputs = assessed.scene.inputs
    rule = inputs.job.rule
    faults = []
    if not inputs.job.tolerance_is_sure:
        faults.append(
            f"The width of the tolerance zone in {rule.code} is not sure. "
            "Ask the one-call centre and enter it in the job."
        )
    if rule.boring_must_be_declared:
        faults += [
            f"Ticket {ticket.number} does not declare the boring, as {rule.code} asks ({rule.citation})."
            for ticket in assessed.in_force
            if ticket.boring_declared is not True
        ]
        if not assessed.in_force:
            faults.append(f"{rule.code} asks that the ticket declares the boring, and none is in force.")
    unexposed = [one for one in assessed.crossings if not one.is_exposed]
    if rule.every_line_must_be_exposed and unexposed:
        refs = ", ".join(dict.fromkeys(one.mark.ref for one in unexposed))
        faults.append(f"{rule.code} asks that every line in the path is exposed ({rule.citation}): {refs}.")
    sewers = dict.fromkeys(one.mark.ref for one in unexposed if one.mark.facility_type == "sewer_drain")
    if rule.sewer_camera_required and sewers:
        faults.append(
            f"Sewer {', '.join(sewers)} is neither exposed nor on record as inspected by camera "
            f"({rule.citation})."
        )
    known = f"The duties on record for {rule.code} are met; the law in force there decides."
    return _check("duties", faults, known)


def _check(code: str, faults: list[str], passed: str) -> Check:
    return Check(code, holds=bool(faults), sentence=" ".join(faults) if faults else passed)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


CHECKS: tuple[Callable[[Assessed], Check], ...] = (
    _ticket_check,
    _response_check,
    _crossing_check,
    _surface_check,
    _profile_check,
    _watch_hole_check,
    _duty_check,
)
