"""What the first page shows: what needs a person, and the jobs, read in a fixed number of queries."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType
from uuid import UUID

from django.db.models import F, Max, OuterRef, Prefetch, Q, Subquery

from conflicts.bore_states import BoreState, bore_states
from conflicts.current_jobs import current_jobs, past_jobs
from conflicts.drilled_stops import drilled_stops
from conflicts.models import Bore, CrossingWatch
from conflicts.needs_today import (
    BORE_NEAR,
    EXPIRY_NEAR,
    LATE,
    START_NEAR,
    AnswerNow,
    BoreNow,
    JobNow,
    Subject,
    TicketNow,
    first_needs,
    needs_today,
)
from locates.answers import FINAL_RESPONSES
from locates.models import Job, Response, Ticket

# The page stays quick whatever lies in the database: so many are looked at, and the rest is counted.
MOST_BORES = 12
MOST_WITHOUT_START = 8
MOST_STOPPED = 40
MOST_TICKETS = 40
MOST_JOBS = 5
MOST_BORES_OF_A_JOB = 4
MOST_PAST_JOBS = 10

NO_STOPS: Mapping[UUID, tuple[str, ...]] = MappingProxyType({})


@dataclass(frozen=True)
class JobEntry:
    """A job in the list with the states of its next bores, and how many more it has."""

    job: Job
    bores: list[BoreState]
    more_bores: int


@dataclass(frozen=True)
class HomeSheet:
    """The first page.

    ``needs_left_out`` are the needs that are not shown; ``bores_left_out`` the bores with a near start, and
    ``tickets_left_out`` the tickets, that were not looked at.
    """

    subjects: list[Subject]
    needs_left_out: int
    ticket_ids: dict[tuple[UUID, str], UUID]
    near_count: int
    free_count: int
    recalculating: list[Bore]
    bores_left_out: int
    tickets_left_out: int
    jobs: list[JobEntry]
    job_count: int
    past_jobs: list[Job]
    past_count: int


def read_home(at: datetime, most_needs: int, viewer_id: int | None) -> HomeSheet:
    """Read a person's first page as of a moment, with at most so many needs of their company's jobs."""
    near, without_start, near_count = _near_bores(at, viewer_id)
    tickets, ticket_count = _open_tickets(at, viewer_id)
    listed = _listed_jobs(at, viewer_id)
    stopped = _stopped_bores(viewer_id, {bore.pk for bore in near})
    wanted = {bore.pk: bore for bore in (*near, *stopped)}
    for job in listed:
        wanted |= {bore.pk: bore for bore in job.bores_to_come[:MOST_BORES_OF_A_JOB]}
    states = {state.bore.pk: state for state in bore_states(wanted.values(), at)}
    of_near = [states[bore.pk] for bore in near]
    drilled = _drilled_stops(states[bore.pk] for bore in (*near, *stopped))
    subjects = needs_today(
        [
            *(_bore_now(state, drilled) for state in of_near),
            *(replace(_bore_now(states[bore.pk], drilled), is_near=False) for bore in stopped),
            *(_bore_now(BoreState(bore)) for bore in without_start if bore not in stopped),
        ],
        _tickets_now(tickets),
        at,
    )
    shown, left_out = first_needs(subjects, most_needs)
    past = past_jobs(at, viewer_id)
    return HomeSheet(
        subjects=shown,
        needs_left_out=left_out,
        ticket_ids=_ticket_ids(shown),
        near_count=near_count,
        free_count=sum(map(_is_free, of_near)),
        recalculating=[bore for bore in (*near, *stopped) if not states[bore.pk].is_settled],
        bores_left_out=near_count - len(near),
        tickets_left_out=ticket_count - len(tickets),
        jobs=[_entry(job, states) for job in listed],
        job_count=current_jobs(at, viewer_id).count(),
        past_jobs=list(past[:MOST_PAST_JOBS]),
        past_count=past.count(),
    )


def _near_bores(at: datetime, viewer_id: int | None) -> tuple[list[Bore], list[Bore], int]:
    """The next bores with a near start, some without one, and how many have a near start."""
    seen = Bore.objects.seen_by(viewer_id).select_related("job").with_close_out()
    to_come = seen.not_past(at - LATE).by_start()
    near = to_come.filter(planned_start_at__lte=at + BORE_NEAR)
    without_start = to_come.filter(planned_start_at=None)
    return list(near[:MOST_BORES]), list(without_start[:MOST_WITHOUT_START]), near.count()


def _stopped_bores(viewer_id: int | None, near: Collection[UUID]) -> list[Bore]:
    """The other bores, whatever their dates, of which a watch set off a stop rule; the last ones first.

    Of one that is closed out a watch since then.
    """
    watches = CrossingWatch.objects.that_stopped().values("bore").annotate(at=Max("watched_at"))
    bores = Bore.objects.seen_by(viewer_id).filter(job__retired_at=None)
    last = watches.filter(bore=OuterRef("pk")).values("at")
    found = (
        bores.exclude(pk__in=near)
        .annotate(stopped_at=Subquery(last))
        .filter(Q(close_out=None, stopped_at__isnull=False) | Q(stopped_at__gt=F("close_out__closed_at")))
    )
    last_first = found.select_related("job").with_close_out().order_by("-stopped_at", "pk")
    return list(last_first[:MOST_STOPPED])


def _drilled_stops(states: Iterable[BoreState]) -> dict[UUID, tuple[str, ...]]:
    """What stops a crew by the rods in the ground, of each bore that is drilled and not closed out."""
    return {
        state.bore.pk: drilled_stops(state.assessed, state.assessed.site.log)
        for state in states
        if state.assessed is not None
        and state.assessed.site.closed_out_at is None
        and state.assessed.site.log is not None
    }


def _open_tickets(at: datetime, viewer_id: int | None) -> tuple[list[Ticket], int]:
    """Tickets of current jobs with a date that is near or unknown, or an answer that is missing.

    An answer with a time that is still to come is missing until then.
    """
    lacking = ~Q(pk__in=Response.objects.values("ticket")) | Q(
        pk__in=Response.objects.filter(pk__in=Response.objects.latest_each().values("pk"))
        .filter(~Q(response__in=FINAL_RESPONSES) | Q(responded_at__gt=at))
        .values("ticket")
    )
    near_date = (
        Q(legal_start_at=None)
        | Q(expires_at=None)
        | Q(expires_at__lte=at + EXPIRY_NEAR)
        | Q(legal_start_at__gt=at, legal_start_at__lte=at + START_NEAR)
    )
    tickets = (
        Ticket.objects.exclude(expires_at__lte=at)
        .filter(lacking | near_date, job__in=current_jobs(at, viewer_id).order_by().values("pk"))
        .select_related("job")
        .defer("area")
        .order_by(F("expires_at").asc(nulls_first=True), "number")
    )
    return list(tickets[:MOST_TICKETS]), tickets.count()


def _tickets_now(tickets: list[Ticket]) -> list[TicketNow]:
    answers: dict[UUID, list[AnswerNow]] = {ticket.pk: [] for ticket in tickets}
    for one in Response.objects.filter(ticket__in=tickets).latest_each().select_related("operator"):
        answers[one.ticket_id].append(AnswerNow(one.operator.name, one.response, one.responded_at))
    return [
        TicketNow(
            _job_now(ticket.job),
            ticket.number,
            ticket.response_due_at,
            ticket.legal_start_at,
            ticket.expires_at,
            tuple(sorted(answers[ticket.pk], key=lambda one: (one.operator, one.response))),
        )
        for ticket in tickets
    ]


def _job_now(job: Job) -> JobNow:
    return JobNow(job.pk, job.name, job.time_zone)


def _bore_now(state: BoreState, drilled: Mapping[UUID, tuple[str, ...]] = NO_STOPS) -> BoreNow:
    bore = state.bore
    return BoreNow(
        job=_job_now(bore.job),
        bore_id=bore.pk,
        name=bore.name,
        start_at=bore.planned_start_at,
        finish_at=bore.planned_finish_at,
        assessed=state.assessed,
        refusal=state.refusal,
        drilled_stops=drilled.get(bore.pk, ()),
    )


def _is_free(state: BoreState) -> bool:
    """Whether no check holds a bore but the walk of its day; one without figures is never free."""
    return state.document is not None and not any(
        check["holds"] and check["code"] != "day" for check in state.document["checks"]
    )


def _ticket_ids(subjects: Iterable[Subject]) -> dict[tuple[UUID, str], UUID]:
    """Ids of the tickets that needs name, by job and number."""
    named = {(one.job.job_id, need.ticket) for one in subjects for need in one.needs if need.ticket}
    rows = Ticket.objects.filter(
        job__in={job_id for job_id, _ in named}, number__in={number for _, number in named}
    )
    return {(job_id, number): key for key, job_id, number in rows.values_list("pk", "job", "number")}


def _listed_jobs(at: datetime, viewer_id: int | None) -> list[Job]:
    to_come = Bore.objects.not_past(at - LATE).select_related("job").with_close_out().by_start()
    return list(
        current_jobs(at, viewer_id)
        .select_related("organisation", "jurisdiction")
        .prefetch_related(Prefetch("bores", queryset=to_come, to_attr="bores_to_come"))[:MOST_JOBS]
    )


def _entry(job: Job, states: dict[UUID, BoreState]) -> JobEntry:
    first = job.bores_to_come[:MOST_BORES_OF_A_JOB]
    return JobEntry(job, [states[bore.pk] for bore in first], len(job.bores_to_come) - len(first))
