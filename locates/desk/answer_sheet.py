"""What the operators on one ticket answered, where that stands at a moment, and what contradicts it.

`answer_sheet` serves every page that includes ``locates/ticket_responses.html``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch

from locates.answers import Answer, OperatorStanding, Standing, standing_of_answers
from locates.contradictions import Contradiction
from locates.models import FacilityOperator, JurisdictionRule, Response, ResponsePaper, Ticket
from locates.models.answer_conflicts import contradictions_of
from locates.one_call.clock import ComputedSilence, silence_of
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_reader import read_clock


@dataclass(frozen=True, slots=True)
class OperatorAnswers:
    """One operator's answers on the ticket, the last one first, and where they stand."""

    operator: FacilityOperator
    history: list[Response]
    state: OperatorStanding

    @property
    def latest(self) -> Response:
        """The answer that counts."""
        return self.history[0]


@dataclass(frozen=True, slots=True)
class AnswerSheet:
    """The answers on one ticket at a moment.

    Attributes
    ----------
    ticket : Ticket
    operators : list of OperatorAnswers
        Those who owe an answer first, then by name.
    job_operators : list of FacilityOperator
        All of the job, for whoever logs an answer.
    contradictions : list of Contradiction
    rule : JurisdictionRule
        The version that the ticket was dated under, else the one of its job.
    silence : ComputedSilence
        What the rule says of an operator that does not answer. The check behind a release holds all the same.
    """

    ticket: Ticket
    operators: list[OperatorAnswers]
    job_operators: list[FacilityOperator]
    contradictions: list[Contradiction]
    rule: JurisdictionRule
    silence: ComputedSilence

    @property
    def next_operator(self) -> FacilityOperator | None:
        """Whose answer is logged next: the first who has given none, else the first whose is not final."""
        for wanted in ((Standing.NO_ANSWER, Standing.AWAITING), (Standing.NOT_FINAL,)):
            for one in self.operators:
                if one.state.standing in wanted:
                    return one.operator
        return None

    @property
    def missing_count(self) -> int:
        """How many operators owe a final answer."""
        return sum(not one.state.is_final for one in self.operators)

    @property
    def overdue_count(self) -> int:
        """How many of them owe it past the deadline."""
        return sum(one.state.is_overdue for one in self.operators)


def answer_sheet(ticket: Ticket, at: datetime) -> AnswerSheet:
    """Read the answers on a ticket and say where they stand at a moment.

    Parameters
    ----------
    ticket : Ticket
        With its job, the job's jurisdiction and the rule of its dates.
    at : datetime
        With an offset.

    Returns
    -------
    AnswerSheet
        Read in five queries, whatever the number of answers.
    """
    papers = Prefetch("papers", queryset=ResponsePaper.objects.listed())
    responses = (
        Response.objects.filter(ticket=ticket)
        .select_related("operator", "edited_by")
        .prefetch_related(papers)
        .order_by("-sequence")
    )
    histories: dict[FacilityOperator, list[Response]] = {}
    for one in responses:
        histories.setdefault(one.operator, []).append(one)
    operators = [
        OperatorAnswers(operator, history, _state(history, ticket, at))
        for operator, history in histories.items()
    ]
    rule = ticket.dates_rule or ticket.job.jurisdiction
    operators.sort(key=lambda one: (one.state.is_final, one.operator.name))
    return AnswerSheet(
        ticket=ticket,
        operators=operators,
        job_operators=list(FacilityOperator.objects.filter(job=ticket.job_id).order_by("name")),
        contradictions=contradictions_of([ticket.pk]),
        rule=rule,
        silence=silence_under(rule),
    )


def silence_under(rule: JurisdictionRule) -> ComputedSilence:
    """What a rule says of silence; where its clock is empty or cannot be read, to wait."""
    try:
        return silence_of(read_clock(rule.clock).silence if rule.clock else None)
    except ClockError as error:
        words = f"The rule of {rule.code} cannot be read ({error}): wait for every answer."
        return ComputedSilence(policy="wait", words=words)


def _state(history: Sequence[Response], ticket: Ticket, at: datetime) -> OperatorStanding:
    answers = [Answer(one.response, one.responded_at, one.sequence) for one in history]
    return standing_of_answers(answers, ticket.response_due_at, at, ticket.job.time_zone)
