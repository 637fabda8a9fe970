"""The checks behind a release, each passing or holding with a sentence to act on.

The moment comes in: nothing here reads a clock. An unknown holds, and so does an empty record.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from conflicts.crossings import FoundCrossing
from conflicts.engine.verdict import Verdict
from conflicts.inputs import TestHoleInput
from conflicts.profile_check import profile_faults
from conflicts.scene import Scene
from conflicts.surface_check import dated_later, surface_faults
from conflicts.ticket_check import TicketCover, response_faults, ticket_cover, ticket_faults
from locates.units import format_station


@dataclass(frozen=True)
class Check:
    """One ground of a release. ``holds`` is true where it stops the release."""

    code: str
    holds: bool
    sentence: str


@dataclass(frozen=True, eq=False)
class Assessed:
    """A bore's scene with its crossings, held against its tickets at a moment."""

    scene: Scene
    crossings: list[FoundCrossing]
    at: datetime
    cover: TicketCover


def assessed_at(scene: Scene, crossings: list[FoundCrossing], at: datetime) -> Assessed:
    """A scene and its crossings held against the tickets from a moment to the planned finish."""
    return Assessed(scene, crossings, at, ticket_cover(scene, at))


def release_checks(assessed: Assessed) -> list[Check]:
    """Every check that the records of a job can answer, in the order of the release.

    The day's walk and the proof of the locating device are not among them: they are made at the rig.
    """
    return [make(assessed) for make in CHECKS]


def _ticket_check(assessed: Assessed) -> Check:
    numbers = ", ".join(ticket.number for ticket in assessed.cover.in_force)
    passed = f"The bore and its pits lie in work areas in force until the planned finish: {numbers}."
    return _check("tickets", ticket_faults(assessed.cover), passed)


def _response_check(assessed: Assessed) -> Check:
    passed = "Every operator on the tickets in force has answered."
    return _check("responses", response_faults(assessed.cover), passed)


def _crossing_check(assessed: Assessed) -> Check:
    units = assessed.scene.inputs.job.show_units
    count = len(assessed.crossings)
    faults = []
    for verdict in Verdict:
        places = [
            f"{one.mark.ref} at {format_station(one.clearance.station_m, units)}"
            for one in assessed.crossings
            if one.verdict is verdict
        ]
        if places and verdict is not Verdict.CLEAR:
            faults.append(f"{str(verdict).capitalize()}: {', '.join(places)}.")
    if not assessed.crossings and response_faults(assessed.cover):
        faults.append("No line is logged near the bore, and the operators have not all answered.")
    passed = f"All {count} crossings are clear." if count > 1 else "The one crossing is clear."
    return _check("crossings", faults, passed if count else "The bore meets no marked line.")


def _surface_check(assessed: Assessed) -> Check:
    faults = surface_faults(assessed.scene) + dated_later(assessed.scene, assessed.at)
    return _check("surface", faults, "Surface features and test holes agree with the marks.")


def _profile_check(assessed: Assessed) -> Check:
    return _check("profile", profile_faults(assessed.scene), "The rig can drill the profile.")


def _watch_hole_check(assessed: Assessed) -> Check:
    without: dict[str, None] = {}
    closed: dict[str, None] = {}
    unknown: dict[str, None] = {}
    for one in assessed.crossings:
        holes = one.exposing_holes
        if not holes:
            without[one.mark.ref] = None
        elif not any(hole.is_open for hole in holes):
            is_unknown = any(hole.is_open is None for hole in holes)
            (unknown if is_unknown else closed)[f"{_refs(holes)} at {one.mark.ref}"] = None
    faults = []
    if without:
        faults.append(f"No test hole to watch the head pass {', '.join(without)}.")
    if closed:
        faults.append(f"Closed: {', '.join(closed)}. Open them for the crossing watch.")
    if unknown:
        faults.append(f"Not known to be open: {', '.join(unknown)}. Look, and log it.")
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
            for ticket in assessed.cover.in_force
            if ticket.boring_declared is not True
        ]
        if not assessed.cover.in_force:
            faults.append(f"{rule.code} asks that the ticket declares the boring, and none is in force.")
    unexposed = [one for one in assessed.crossings if not one.is_exposed]
    if rule.every_line_must_be_exposed and unexposed:
        refs = ", ".join(dict.fromkeys(one.mark.ref for one in unexposed))
        faults.append(f"{rule.code} asks that every line in the path is exposed: {refs} ({rule.citation}).")
    sewers = dict.fromkeys(one.mark.ref for one in unexposed if one.mark.facility_type == "sewer_drain")
    if rule.sewer_camera_required and sewers:
        faults.append(
            f"Gravity sewer not exposed: {', '.join(sewers)}. {rule.code} asks for that, or for a camera "
            "inspection before the bore."
        )
    known = f"The duties on record for {rule.code} are met; the law in force there decides."
    return _check("duties", faults, known)


def _check(code: str, faults: list[str], passed: str) -> Check:
    return Check(code, holds=bool(faults), sentence=" ".join(faults) if faults else passed)


def _refs(holes: tuple[TestHoleInput, ...]) -> str:
    return ", ".join(hole.ref for hole in holes)


CHECKS: tuple[Callable[[Assessed], Check], ...] = (
    _ticket_check,
    _response_check,
    _crossing_check,
    _surface_check,
    _profile_check,
    _watch_hole_check,
    _duty_check,
)
