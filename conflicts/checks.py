"""The checks behind a release, each passing or holding with a sentence to act on.

The moment comes in: nothing here reads a clock. An unknown holds, and so does an empty record.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property

from conflicts.as_drilled import AsDrilled, as_drilled
from conflicts.crossings import FoundCrossing
from conflicts.engine.verdict import Verdict
from conflicts.faults import Fault, said
from conflicts.inputs import TestHoleInput
from conflicts.looks_before import look_before
from conflicts.profile_check import profile_faults
from conflicts.rests_on import mark_fault, plan_fault, record_key
from conflicts.rod_log import RodLog
from conflicts.scene import Scene
from conflicts.site_records import (
    DAY,
    NO_SITE_RECORDS,
    NOBODY_WALKED,
    CrossingNow,
    SiteRecords,
    VarianceInput,
    variance_for_check,
    variance_for_clearance,
)
from conflicts.surface_check import dated_later, surface_faults
from conflicts.ticket_check import (
    TicketCover,
    response_faults,
    ticket_cover,
    ticket_faults,
    undated,
    unnotified,
)
from conflicts.variance_reasons import not_excused_check, not_excused_crossing
from conflicts.variance_words import variance_words
from conflicts.walk_days import counts_at, local_day, not_so
from locates.local_time import format_day, format_moment
from locates.units import format_station


@dataclass(frozen=True)
class Check:
    """One ground of a release. ``holds`` is true where it stops the release.

    ``faults`` are all for which it holds, or would but for the variance ``excuse``. ``not_excused`` says why
    signed variances do not excuse them; the sentence says so too.
    """

    code: str
    holds: bool
    sentence: str
    faults: tuple[Fault, ...] = ()
    excuse: VarianceInput | None = None
    not_excused: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Assessed:
    """A bore's scene with its crossings, held against its tickets at a moment."""

    scene: Scene
    crossings: list[FoundCrossing]
    at: datetime
    cover: TicketCover
    site: SiteRecords = NO_SITE_RECORDS

    @cached_property
    def plan(self) -> Fault:
        """The plan of the bore, by which a variance tells whether it was changed."""
        return plan_fault(self.scene.inputs)

    @cached_property
    def drilled(self) -> AsDrilled:
        """What the logged rods of the bore meet; nothing of the plan rests on it."""
        return as_drilled(self.scene, self.site.log, self.at)

    def drilled_by(self, log: RodLog) -> AsDrilled:
        """The same of a log."""
        return self.drilled if log is self.site.log else as_drilled(self.scene, log, self.at)


def assessed_at(
    scene: Scene, crossings: list[FoundCrossing], at: datetime, site: SiteRecords = NO_SITE_RECORDS
) -> Assessed:
    """A scene and its crossings held against the tickets until the planned finish, and against the site."""
    return Assessed(scene, crossings, at, ticket_cover(scene, at), site)


def release_checks(assessed: Assessed) -> list[Check]:
    """The eight checks behind a release, in its order; one under a variance in force passes and says so."""
    return [_excused(assessed, make(assessed)) for make in CHECKS]


def _excused(assessed: Assessed, check: Check) -> Check:
    faults = excusable_faults(assessed, check)
    keys = [fault.key for fault in faults]
    zone = assessed.scene.inputs.job.time_zone
    excuse = variance_for_check(assessed.site, check.code, keys, assessed.at) if check.holds else None
    if excuse is None:
        why = not_excused_check(assessed.site, check.code, faults, assessed.at, zone)
        return _unexcused(check, (why,)) if check.holds and why else check
    words = f"{variance_words(excuse, zone)} What it excuses: {check.sentence}"
    return replace(check, holds=False, sentence=words, excuse=excuse)


def excusable_faults(assessed: Assessed, check: Check) -> tuple[Fault, ...]:
    """A check's faults, and the plan of the bore where they are of a place; empty where it passes."""
    if not check.faults or check.code == DAY:
        return check.faults
    return (*check.faults, assessed.plan)


def _unexcused(check: Check, why: tuple[str, ...]) -> Check:
    return replace(check, sentence=" ".join((check.sentence, *why)), not_excused=why)


def _ticket_check(assessed: Assessed) -> Check:
    numbers = ", ".join(ticket.number for ticket in assessed.cover.in_force)
    passed = f"The bore and its pits lie in work areas in force until the planned finish: {numbers}."
    return _check("tickets", ticket_faults(assessed.cover), passed)


def _response_check(assessed: Assessed) -> Check:
    passed = ["Every operator on the tickets in force has answered."]
    passed += undated(assessed.cover)
    passed += unnotified(assessed.cover, [one.mark for one in assessed.crossings])
    return _check("responses", response_faults(assessed.cover), " ".join(passed))


def _crossing_check(assessed: Assessed) -> Check:
    units = assessed.scene.inputs.job.show_units
    count = len(assessed.crossings)
    faults = []
    excused = {id(one): crossing_excuse(assessed, one) for one in assessed.crossings if not one.is_clear}
    for verdict in Verdict:
        places = [
            f"{one.mark.ref} at {format_station(one.clearance.station_m, units)}"
            for one in assessed.crossings
            if one.verdict is verdict and excused.get(id(one)) is None
        ]
        if places and verdict is not Verdict.CLEAR:
            faults.append(f"{str(verdict).capitalize()}: {', '.join(places)}.")
    if not assessed.crossings and response_faults(assessed.cover):
        faults.append("No line is logged near the bore, and the operators have not all answered.")
    under = [
        f"{one.mark.ref} at {format_station(one.clearance.station_m, units)} ({one.verdict}): "
        f"{variance_words(excuse, assessed.scene.inputs.job.time_zone)}"
        for one in assessed.crossings
        if (excuse := excused.get(id(one))) is not None
    ]
    passed = f"All {count} crossings are clear." if count > 1 else "The one crossing is clear."
    if under:
        clear = (
            f"{count - len(under)} of {count} crossings clear."
            if count > 1
            else "The one crossing is not clear."
        )
        passed = f"{clear} {' '.join(under)}"
    check = _check("crossings", faults, passed if count else "The bore meets no marked line.")
    why = _not_excused_crossings(assessed)
    return _unexcused(check, why) if why else check


def crossing_excuse(assessed: Assessed, one: FoundCrossing) -> VarianceInput | None:
    """The variance in force for the clearance of one crossing; none makes a hole that meets a line good."""
    if one.verdict is Verdict.OVERLAP:
        return None
    return variance_for_clearance(assessed.site, crossing_now(assessed, one), assessed.at)


def _not_excused_crossings(assessed: Assessed) -> tuple[str, ...]:
    """A sentence for each crossing that is not clear, on why the last variance signed does not excuse it."""
    job = assessed.scene.inputs.job
    present = [crossing_now(assessed, one) for one in assessed.crossings]
    found = []
    for one, now in zip(assessed.crossings, present, strict=True):
        if one.is_clear or crossing_excuse(assessed, one) is not None:
            continue
        why = not_excused_crossing(assessed.site, now, present, assessed.at, job.show_units, job.time_zone)
        if why:
            found.append(
                f"{one.mark.ref} at {format_station(one.clearance.station_m, job.show_units)}: {why}"
            )
    return tuple(found)


def crossing_now(assessed: Assessed, one: FoundCrossing) -> CrossingNow:
    """A crossing as variances are held against it."""
    clearance = one.clearance
    return CrossingNow(
        one.mark.mark_id,
        clearance.kind,
        clearance.from_m,
        clearance.to_m,
        str(one.verdict),
        clearance.worst_case_m,
        one.required_m,
        (mark_fault(one.mark), assessed.plan),
    )


def _surface_check(assessed: Assessed) -> Check:
    faults = surface_faults(assessed.scene) + said(dated_later(assessed.scene, assessed.at))
    return _faulty("surface", faults, "Surface features and test holes agree with the marks.")


def _profile_check(assessed: Assessed) -> Check:
    return _check("profile", profile_faults(assessed.scene), "The rig can drill the profile.")


def _day_check(assessed: Assessed) -> Check:
    zone = assessed.scene.inputs.job.time_zone
    today = local_day(assessed.at, zone)
    # The last of all: that an earlier one is of today by its own zone does not make up for a later one.
    last = next((one for one in reversed(assessed.site.walks) if one.walked_at <= assessed.at), None)
    if last is None or not counts_at(last, assessed.at, zone, assessed.site.rezoned_at):
        missing = f"No walk of {format_day(today)} is signed. Walk the bore, and check the locating device."
        if last is not None and local_day(last.walked_at, zone) == today:
            why = (
                "the day for which that was signed is over"
                if last.time_zone
                else "it does not keep the zone in which it was signed"
            )
            missing = (
                f"The job's time zone was changed since the walk of {format_moment(last.walked_at, zone)}, "
                f"and {why}. {missing}"
            )
        return _faulty(DAY, [Fault(f"{NOBODY_WALKED}{today.isoformat()}", missing)], "")
    when = f"{format_moment(last.walked_at, zone)} by {last.walked_by}"
    wrong = not_so(last)
    faults = [f"On the walk of {when} {', '.join(wrong)}. Settle it, and walk again."] if wrong else []
    passed = f"Walked {when}: marks intact, locating device checked, test holes open."
    return _check(DAY, faults, passed)


def _watch_hole_check(assessed: Assessed) -> Check:
    without: dict[str, None] = {}
    closed: dict[str, None] = {}
    unknown: dict[str, None] = {}
    faults: list[Fault] = []
    met: Counter[str] = Counter()
    for one in assessed.crossings:
        holes = one.exposing_holes
        which = f"{one.mark.mark_id} {one.clearance.kind}"
        met[which] += 1
        if any(hole.is_open for hole in holes):
            continue
        named = f"{_refs(holes)} at {one.mark.ref}"
        if not holes:
            without[one.mark.ref] = None
            state, words = "none", f"No test hole to watch the head pass {one.mark.ref}."
        elif any(hole.is_open is None for hole in holes):
            unknown[named] = None
            state, words = "unknown", f"Not known to be open: {named}."
        else:
            closed[named] = None
            state, words = "closed", f"Closed: {named}."
        # A further crossing of a line, and one whose holes are others, is another fault than was excused.
        faults.append(
            Fault(f"{state} {which} {met[which]} {mark_fault(one.mark).key} {record_key(holes)}", words)
        )
    told = []
    if without:
        told.append(f"No test hole to watch the head pass {', '.join(without)}.")
    if closed:
        told.append(f"Closed: {', '.join(closed)}. Open them for the crossing watch.")
    if unknown:
        told.append(f"Not known to be open: {', '.join(unknown)}. Look, and log it.")
    passed = (
        "The test holes of all crossings are open." if assessed.crossings else "No crossing needs watching."
    )
    return Check("watch_holes", bool(faults), " ".join(told) or passed, tuple(faults))


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
    looks = {}
    if rule.sewer_camera_required:
        looks = {
            one.mark.ref: look_before(assessed.site.cameras, one.mark, assessed.at, inputs.job.time_zone)
            for one in unexposed
            if one.mark.facility_type == "sewer_drain"
        }
    told = said(faults)
    not_seen = {ref: look for ref, look in looks.items() if not look.counts}
    if not_seen:
        asked = (
            f"Gravity sewer not exposed: {', '.join(not_seen)}. {rule.code} asks for that, or for a camera "
            "inspection before the bore."
        )
        # How long ago a look was grows by itself, and makes it no other fault.
        key = " ".join((asked, *(look.key for look in not_seen.values() if look.key)))
        told.append(Fault(key, " ".join((asked, *(look.words for look in not_seen.values() if look.words)))))
    known = f"The duties on record for {rule.code} are met; the law in force there decides."
    return _faulty("duties", told, " ".join((known, *(look.words for look in looks.values()))))


def _check(code: str, faults: list[str], passed: str) -> Check:
    return _faulty(code, said(faults), passed)


def _faulty(code: str, faults: list[Fault], passed: str) -> Check:
    words = " ".join(fault.words for fault in faults)
    return Check(code, holds=bool(faults), sentence=words if faults else passed, faults=tuple(faults))


def _refs(holes: tuple[TestHoleInput, ...]) -> str:
    return ", ".join(hole.ref for hole in holes)


CHECKS: tuple[Callable[[Assessed], Check], ...] = (
    _ticket_check,
    _response_check,
    _crossing_check,
    _surface_check,
    _profile_check,
    _day_check,
    _watch_hole_check,
    _duty_check,
)
