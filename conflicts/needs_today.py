"""What needs a person today: the open matters of the bores and tickets whose day is near, most urgent first.

The moment comes in: nothing here reads a clock. A date that nobody recorded may be today.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from uuid import UUID
from zoneinfo import ZoneInfo

from conflicts.checks import Assessed, crossing_excuse, release_checks
from conflicts.crossings import FoundCrossing
from conflicts.engine.verdict import Verdict
from conflicts.surface_check import feature_faults, hole_faults
from conflicts.ticket_check import (
    answer_faults,
    deadline_passed,
    nobody_notified,
    not_come_yet,
    ticket_steps,
    unanswered,
    uncovered_places,
)
from conflicts.watch_table import stop_words
from locates.answers import FINAL_RESPONSES
from locates.local_time import format_moment
from locates.units import format_station

# How far ahead is looked. Common practice, no source: a ticket, its answers and the holes take most of two
# weeks where something is in the way; a renewal is called in some days before the expiry.
BORE_NEAR = timedelta(days=14)
EXPIRY_NEAR = timedelta(days=5)
START_NEAR = timedelta(days=3)
# A crew that is late still drills: a bore is past only this long after its planned finish.
LATE = timedelta(days=2)

NO_START = "No start is planned: enter it, so that what holds the bore can come in its turn."
FINISH_PASSED = "The planned finish has passed: unless the bore is drilled, enter its new dates."


class Matter(StrEnum):
    """What a need is about; of the same moment, that which takes longest to settle comes first."""

    STOPPED = "stopped"
    STOPPED_AHEAD = "stopped_ahead"
    REFUSED = "refused"
    OVERLAP = "overlap"
    TICKETS = "tickets"
    RESPONSES = "responses"
    UNEXPOSED = "unexposed"
    STALE = "stale"
    SHORT = "short"
    FEATURES = "features"
    HOLES = "holes"
    PROFILE = "profile"
    DUTIES = "duties"
    WATCH_HOLES = "watch_holes"
    DAY = "day"
    DATES = "dates"


# What stops a crew: a watch, and what the rods in the ground meet or leave ahead.
STOPS = (Matter.STOPPED, Matter.STOPPED_AHEAD)


class Band(StrEnum):
    """How near the moment is, nearest first. An unknown one comes before every moment after today."""

    NOW = "now"
    TODAY = "today"
    UNKNOWN = "unknown"
    LATER = "later"


# The same words are one matter wherever bores or tickets of a job meet it; all else is a bore's own, however
# alike the words are.
OF_THE_JOB = {Matter.RESPONSES, Matter.FEATURES, Matter.HOLES}

BANDS, MATTERS = list(Band), list(Matter)

WHAT_TO_DO = {
    Verdict.OVERLAP: "The hole would meet the line: redesign the profile.",
    Verdict.UNEXPOSED: "Dig a test hole to expose it before the bore.",
    Verdict.STALE: "Refresh the mark and check the test hole.",
    Verdict.SHORT: "Redesign the profile, or ask the safety manager for a variance.",
}


@dataclass(frozen=True)
class JobNow:
    """The job that something belongs to."""

    job_id: UUID
    name: str
    time_zone: str


@dataclass(frozen=True, eq=False)
class BoreNow:
    """A bore and its assessment at this moment; without one, the reason where it cannot be computed.

    Of one that is not near only the stops are told, and that no start is planned. ``drilled_stops`` are those
    of the rods in the ground, in words.
    """

    job: JobNow
    bore_id: UUID
    name: str
    start_at: datetime | None
    finish_at: datetime | None
    assessed: Assessed | None = None
    refusal: str = ""
    is_near: bool = True
    drilled_stops: tuple[str, ...] = ()


@dataclass(frozen=True)
class AnswerNow:
    """An operator's latest answer on a ticket; without ``answered_at`` nobody wrote down when it came."""

    operator: str
    response: str
    answered_at: datetime | None = None


@dataclass(frozen=True)
class TicketNow:
    """A ticket that has not run out, and each operator's latest answer on it."""

    job: JobNow
    number: str
    response_due_at: datetime | None
    legal_start_at: datetime | None
    expires_at: datetime | None
    answers: tuple[AnswerNow, ...]


@dataclass(frozen=True)
class CrossingLink:
    """A crossing to go to: the line's reference with its station, and the place along the bore."""

    words: str
    sequence: int


@dataclass(frozen=True)
class Need:
    """One thing to do. ``ticket`` names the ticket that it is about."""

    matter: Matter
    sentence: str
    crossings: tuple[CrossingLink, ...] = ()
    ticket: str = ""


@dataclass(frozen=True)
class Subject:
    """A bore or a ticket with what it needs, and the moment that presses. Without ``bore_id`` a ticket."""

    job: JobNow
    name: str
    due_at: datetime | None
    due: str
    needs: tuple[Need, ...]
    bore_id: UUID | None = None


def needs_today(bores: Iterable[BoreNow], tickets: Iterable[TicketNow], now: datetime) -> list[Subject]:
    """Everything that needs a person, the most urgent subject first, each need told once.

    Parameters
    ----------
    bores : iterable of BoreNow
        Those not past.
    tickets : iterable of TicketNow
        Those not past.
    now : datetime
        With an offset.
    """
    bores = list(bores)
    told = {key for bore in bores for key in _tickets_told(bore)}
    subjects = [_of_bore(bore, now) for bore in bores]
    subjects += [_of_ticket(ticket, now, is_told=_key(ticket) in told) for ticket in tickets]
    ordered = sorted(subjects, key=lambda subject: _urgency(subject, now))
    return _each_told_once(ordered)


def first_needs(subjects: Iterable[Subject], most: int) -> tuple[list[Subject], int]:
    """The first subjects with as many needs as are shown, and how many needs are left out."""
    kept: list[Subject] = []
    left_out = 0
    for subject in subjects:
        room = max(most - sum(len(one.needs) for one in kept), 0)
        if room:
            kept.append(replace(subject, needs=subject.needs[:room]))
        left_out += len(subject.needs[room:])
    return kept, left_out


def band(due_at: datetime | None, now: datetime, time_zone: str) -> Band:
    """How near a moment is, by the calendar of a zone."""
    if due_at is None:
        return Band.UNKNOWN
    if due_at <= now:
        return Band.NOW
    return Band.TODAY if _days_ahead(due_at, now, time_zone) == 0 else Band.LATER


def _urgency(subject: Subject, now: datetime) -> tuple[int, datetime, int, str, str]:
    first = min((MATTERS.index(need.matter) for need in subject.needs), default=len(MATTERS))
    nearness = BANDS.index(band(subject.due_at, now, subject.job.time_zone))
    if any(need.matter in STOPS for need in subject.needs):
        nearness = -1
    return nearness, subject.due_at or now, first, subject.job.name, subject.name


def _each_told_once(subjects: list[Subject]) -> list[Subject]:
    """The subjects without what a more urgent one of the same job says already, and without empty ones."""
    said: set[tuple[UUID, Matter, str]] = set()
    kept = []
    for subject in subjects:
        new = []
        for need in subject.needs:
            key = (subject.job.job_id, need.matter, need.sentence)
            if key not in said or need.matter not in OF_THE_JOB:
                new.append(need)
            said.add(key)
        if new:
            kept.append(replace(subject, needs=tuple(new)))
    return kept


def _of_bore(bore: BoreNow, now: datetime) -> Subject:
    needs: list[Need] = []
    if bore.refusal:
        needs.append(Need(Matter.REFUSED, bore.refusal))
    elif bore.assessed is not None:
        needs = [Need(Matter.STOPPED_AHEAD, words) for words in bore.drilled_stops]
        needs += _open_matters(bore.assessed, is_day=_is_day(bore, now))
    if not bore.is_near:
        needs = [need for need in needs if need.matter in STOPS]
    if bore.start_at is None:
        needs.append(Need(Matter.DATES, NO_START))
    if bore.is_near and bore.finish_at is not None and bore.finish_at <= now:
        needs.append(Need(Matter.DATES, FINISH_PASSED))
    needs.sort(key=lambda need: MATTERS.index(need.matter))
    return Subject(bore.job, bore.name, bore.start_at, _bore_due(bore, now), tuple(needs), bore.bore_id)


def _bore_due(bore: BoreNow, now: datetime) -> str:
    zone = bore.job.time_zone
    if bore.start_at is None:
        return "No start planned"
    if bore.finish_at is not None and bore.finish_at <= now:
        return f"Was to be finished {format_moment(bore.finish_at, zone)}"
    if bore.start_at <= now:
        return f"Planned to be under way since {format_moment(bore.start_at, zone)}"
    return f"Starts {_ahead(bore.start_at, now, zone)}"


def _is_day(bore: BoreNow, now: datetime) -> bool:
    """Whether a bore is to be drilled today: before, nobody walks it for its release."""
    return bore.start_at is not None and _days_ahead(bore.start_at, now, bore.job.time_zone) <= 0


def _open_matters(assessed: Assessed, *, is_day: bool) -> list[Need]:
    """What stops a bore, from the checks behind its release; the walk of the day on the day."""
    places = uncovered_places(assessed.cover)
    steps = ticket_steps(assessed.cover, places)
    if not (assessed.cover.lapses or assessed.cover.bare_m):
        # Nothing lapsed and no stretch is bare: what is left is a pit outside, and its sentence is the step.
        steps = places + steps
    holding = {check.code: check.sentence for check in release_checks(assessed) if check.holds}
    needs = [Need(Matter.TICKETS, " ".join(steps))] if steps else []
    needs += [Need(Matter.STOPPED, words) for words in stop_words(assessed)]
    needs += [
        Need(Matter.RESPONSES, fault, ticket=ticket.number)
        for ticket in assessed.cover.in_force
        for fault in answer_faults(ticket, assessed.cover.at, assessed.scene.inputs.job.time_zone)
    ]
    needs += [_of_crossings(assessed, verdict) for verdict in WHAT_TO_DO if _those(assessed, verdict)]
    needs += [Need(Matter.FEATURES, fault.words) for fault in feature_faults(assessed.scene)]
    needs += [Need(Matter.HOLES, fault.words) for fault in hole_faults(assessed.scene)]
    needs += [
        Need(matter, holding[matter.value])
        for matter in (Matter.PROFILE, Matter.DUTIES, Matter.WATCH_HOLES, Matter.DAY)
        if matter.value in holding and (is_day or matter is not Matter.DAY)
    ]
    return needs


def _those(assessed: Assessed, verdict: Verdict) -> list[tuple[int, FoundCrossing]]:
    return [
        (place, one)
        for place, one in enumerate(assessed.crossings)
        if one.verdict is verdict and crossing_excuse(assessed, one) is None
    ]


def _of_crossings(assessed: Assessed, verdict: Verdict) -> Need:
    units = assessed.scene.inputs.job.show_units
    unit = "ft" if units == "feet" else "m"
    links = tuple(
        CrossingLink(f"{one.mark.ref} at {format_station(one.clearance.station_m, units)} {unit}", place)
        for place, one in _those(assessed, verdict)
    )
    return Need(Matter(verdict.value), WHAT_TO_DO[verdict], links)


def _key(ticket: TicketNow) -> tuple[UUID, str]:
    return ticket.job.job_id, ticket.number


def _tickets_told(bore: BoreNow) -> set[tuple[UUID, str]]:
    """Tickets whose dates the bore's own needs speak of."""
    if bore.assessed is None or not uncovered_places(bore.assessed.cover):
        return set()
    return {(bore.job.job_id, ticket.number) for ticket in bore.assessed.cover.touching}


def _of_ticket(ticket: TicketNow, now: datetime, *, is_told: bool) -> Subject:
    """A ticket's own matters: the answers that are missing, and dates that are near or not recorded."""
    start, expiry, zone = ticket.legal_start_at, ticket.expires_at, ticket.job.time_zone
    needs = [] if is_told else _of_dates(ticket, now)
    if start is None or start <= now + START_NEAR:
        needs += [Need(Matter.RESPONSES, fault, ticket=ticket.number) for fault in _of_answers(ticket, now)]
    if start is None or expiry is None:
        due_at, due = None, "Not all of its dates are known"
    elif start > now:
        due_at, due = start, f"May start {_ahead(start, now, zone)}"
    else:
        due_at, due = expiry, f"Expires {_ahead(expiry, now, zone)}"
    return Subject(ticket.job, f"Ticket {ticket.number}", due_at, due, tuple(needs))


def _of_answers(ticket: TicketNow, now: datetime) -> list[str]:
    """What is missing of a ticket's answers, in the words of the check; one that is to come is missing."""
    number, zone = ticket.number, ticket.job.time_zone
    passed = deadline_passed(ticket.response_due_at, now, zone)
    faults = [] if ticket.answers else [nobody_notified(number)]
    for one in ticket.answers:
        if one.response not in FINAL_RESPONSES:
            faults.append(unanswered(one.operator, number, one.response, passed))
        elif one.answered_at is not None and one.answered_at > now:
            faults.append(not_come_yet(one.operator, number, one.response, one.answered_at, zone))
    return faults


def _of_dates(ticket: TicketNow, now: datetime) -> list[Need]:
    start, expiry, number = ticket.legal_start_at, ticket.expires_at, ticket.number
    unknown = [words for words, at in (("legal start", start), ("expiry", expiry)) if at is None]
    said = []
    if unknown:
        said.append(f"Not known: {' and '.join(unknown)}. Enter it: until then it is not in force.")
    if start is not None and now < start <= now + START_NEAR:
        said.append("Nobody digs under it before; have every answer by then.")
    if expiry is not None and now < expiry <= now + EXPIRY_NEAR:
        said.append("Renew it if the work goes on.")
    return [Need(Matter.TICKETS, sentence, ticket=number) for sentence in said]


def _ahead(moment: datetime, now: datetime, time_zone: str) -> str:
    days = _days_ahead(moment, now, time_zone)
    when = {0: "today", 1: "tomorrow"}.get(days, f"in {days} days")
    return f"{when}, {format_moment(moment, time_zone)}"


def _days_ahead(moment: datetime, now: datetime, time_zone: str) -> int:
    """Days between two dates of a zone's calendar."""
    zone = ZoneInfo(time_zone)
    return (moment.astimezone(zone).date() - now.astimezone(zone).date()).days
