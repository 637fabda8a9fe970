"""Where an operator's answers on a ticket stand at a moment, and how one is written in a few letters."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from locates.errors import AnswerError
from locates.local_time import format_moment

AWAITING = "awaiting"
FINAL_RESPONSES = ("marked", "no_facilities")
"""Answers after which an operator owes no other; the release check asks for one of them."""

MOST_NAMES = 6  # more names in one sentence help nobody


class Standing(StrEnum):
    """Where an operator's answers stand; only the first and the last are final."""

    FINAL = "final"
    AWAITING = "awaiting"
    NOT_FINAL = "not_final"
    NO_ANSWER = "no_answer"
    LATE = "late"


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer as it was logged; ``answered_at`` is None where nobody wrote down when it came."""

    response: str
    answered_at: datetime | None
    sequence: int


@dataclass(frozen=True, slots=True)
class OperatorStanding:
    """Where one operator's answers stand.

    Attributes
    ----------
    standing : Standing
    words : str
        One or two sentences that say it, with the deadline and what to do.
    is_overdue : bool
        The deadline is reached, and no final answer is there.
    """

    standing: Standing
    words: str
    is_overdue: bool

    @property
    def is_final(self) -> bool:
        """Whether a final answer is there, in time or late."""
        return self.standing in (Standing.FINAL, Standing.LATE)


def standing_of_answers(
    answers: Iterable[Answer], due_at: datetime | None, at: datetime, time_zone: str
) -> OperatorStanding:
    """Where the answers of one operator on one ticket stand.

    Parameters
    ----------
    answers : iterable of Answer
        Its history, in any order; the highest sequence counts. None at all is the same as awaiting.
    due_at : datetime or None
        The ticket's response deadline, with an offset; None where it is not known.
    at : datetime
        The moment asked about, with an offset. An answer that came later has not come yet.
    time_zone : str
        IANA name of the zone in which the words give moments.

    Returns
    -------
    OperatorStanding

    Notes
    -----
    The deadline counts as passed from its own moment on; an answer given at that moment is in time. Late is
    an operator whose present run of final answers began after the deadline: one that had answered in time
    and says so again later is not late. A final answer without a time is final, and its words say that
    nobody knows when it came. None of it is stored: with time alone an awaited answer becomes a missing one.
    """
    history = sorted(
        (one for one in answers if one.answered_at is None or one.answered_at <= at),
        key=lambda one: one.sequence,
    )
    last = history[-1] if history else None
    is_due = due_at is not None and due_at <= at
    if last is None or last.response == AWAITING:
        return _awaited(due_at, is_due, time_zone)
    given = _given(last, time_zone)
    if last.response not in FINAL_RESPONSES:
        owed = _still_owed(due_at, is_due, time_zone)
        return OperatorStanding(Standing.NOT_FINAL, f"Not final: {given}. {owed}", is_due)
    first = _run_of_finals(history)[0].answered_at
    if due_at is not None and first is not None and first > due_at:
        words = f"Final, but late: {given}; it was due {format_moment(due_at, time_zone)}."
        return OperatorStanding(Standing.LATE, words, is_overdue=False)
    return OperatorStanding(Standing.FINAL, f"Final: {given}.", is_overdue=False)


def _awaited(due_at: datetime | None, is_due: bool, time_zone: str) -> OperatorStanding:
    if due_at is None:
        words = (
            "Awaiting; the deadline is not known. Ask the centre, enter it on the ticket, call the operator."
        )
        return OperatorStanding(Standing.AWAITING, words, is_overdue=False)
    due = format_moment(due_at, time_zone)
    if is_due:
        words = f"No answer by the deadline, {due}. Call the operator and log what it says."
        return OperatorStanding(Standing.NO_ANSWER, words, is_overdue=True)
    return OperatorStanding(Standing.AWAITING, f"Awaiting; due {due}.", is_overdue=False)


def _still_owed(due_at: datetime | None, is_due: bool, time_zone: str) -> str:
    if due_at is None:
        return "The deadline for its final answer is not known: ask the centre and enter it on the ticket."
    due = format_moment(due_at, time_zone)
    if is_due:
        return f"Its final answer was due {due}: call the operator."
    return f"Its final answer is due {due}."


def _given(answer: Answer, time_zone: str) -> str:
    said = answer.response.replace("_", " ")
    if answer.answered_at is None:
        return f"{said}, at a time that is not recorded"
    return f"{said}, answered {format_moment(answer.answered_at, time_zone)}"


def _run_of_finals(history: Sequence[Answer]) -> Sequence[Answer]:
    """The final answers at the end of a history, without one that is not final between them."""
    start = len(history)
    while start > 0 and history[start - 1].response in FINAL_RESPONSES:
        start -= 1
    return history[start:]


def untimely_words(response: str, answered_at: datetime | None, called_at: datetime, at: datetime) -> str:
    """Why an answer cannot have come at a time.

    Parameters
    ----------
    response : str
        The stored word of the answer.
    answered_at : datetime or None
        With an offset; None where no time was written.
    called_at, at : datetime
        When the ticket was called in, and now.

    Returns
    -------
    str
        A sentence for the person; "" where nothing is wrong with the time.
    """
    if answered_at is None:
        return ""
    if response == AWAITING:
        return "Who is awaited has not answered: leave this empty."
    if answered_at > at:
        return "That time is still to come: write when the operator answered."
    if answered_at < called_at:
        return "That is before the ticket was called in: look at the day again."
    return ""


def meant_answer(text: str, answers: Mapping[str, str]) -> str:
    """The answer that a person means by its first letter, or by more of it.

    Parameters
    ----------
    text : str
        What was typed; capitals and blanks around it do not count.
    answers : mapping of str to str
        Stored word to shown words; no two begin with the same letter.

    Returns
    -------
    str
        The stored word.

    Raises
    ------
    AnswerError
        Nothing typed, or nothing that begins so.

    Examples
    --------
    >>> meant_answer(" N ", {"marked": "marked", "no_facilities": "no facilities"})
    'no_facilities'
    """
    typed = " ".join(text.casefold().split())
    meant = [stored for stored, shown in answers.items() if typed and shown.casefold().startswith(typed)]
    if len(meant) != 1:
        raise AnswerError(text, f"type {letters_of(answers)}")
    return meant[0]


def letters_of(answers: Mapping[str, str]) -> str:
    """The letters that stand for answers, each with what it means, for people to read."""
    *first, last = [f"{shown[0]} for {shown}" for shown in answers.values()]
    return f"{', '.join(first)} or {last}"


def meant_operator(text: str, names: Sequence[str]) -> str:
    """The operator that a person means by the first letters of its name, or of a word in it.

    Parameters
    ----------
    text : str
        What was typed; capitals and runs of blanks do not count.
    names : sequence of str
        Those to choose from.

    Returns
    -------
    str
        The one name that is just so; else the one that begins so; else the one with a word that begins so.

    Raises
    ------
    AnswerError
        Nothing typed, no name or more than one that begins so.

    Examples
    --------
    >>> meant_operator("ga", ["Brindle Gas", "Tallow Power"])
    'Brindle Gas'
    """
    typed = _plain(text)
    if not typed:
        raise AnswerError(text, f"type the first letters of {_listed(names)}", meant="an operator")
    is_meant = (
        lambda name: name == typed,
        lambda name: name.startswith(typed),
        lambda name: f" {typed}" in name,
    )
    for one_does in is_meant:
        meant = [name for name in names if one_does(_plain(name))]
        if len(meant) == 1:
            return meant[0]
        if meant:
            reason = f"{_listed(meant)} begin so; type more of the name"
            raise AnswerError(text, reason, meant="one operator")
    raise AnswerError(text, f"on this job there is {_listed(names)}", meant="an operator")


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())


def _listed(names: Sequence[str]) -> str:
    shown = list(names[:MOST_NAMES])
    if len(names) > MOST_NAMES:
        shown.append(f"{len(names) - MOST_NAMES} more")
    if not shown:
        return "no operator yet"
    *first, last = shown
    return f"{', '.join(first)} and {last}" if first else last
