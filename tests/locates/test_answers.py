"""Where an operator's answers stand at a moment, and answers and operators meant by a few letters."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from locates.answers import (
    FINAL_RESPONSES,
    Answer,
    Standing,
    letters_of,
    meant_answer,
    meant_operator,
    standing_of_answers,
)
from locates.errors import AnswerError
from locates.models import ResponseKind

ZONE = "America/New_York"
DUE = datetime(2026, 11, 5, 12, 0, tzinfo=UTC)  # 7:00 am EST
HOUR = timedelta(hours=1)
ANSWERS = dict(ResponseKind.choices)

moments = st.datetimes(datetime(2026, 11, 1), datetime(2026, 11, 9), timezones=st.just(UTC))
histories = st.lists(st.tuples(st.sampled_from(ResponseKind.values), st.none() | moments), max_size=6).map(
    lambda told: [Answer(said, when, place) for place, (said, when) in enumerate(told)]
)


def standing(*told, due=DUE, at=DUE + HOUR):
    answers = [Answer(said, when, place) for place, (said, when) in enumerate(told)]
    return standing_of_answers(answers, due, at, ZONE)


@pytest.mark.parametrize("told", [[], [("awaiting", None)], [("marked", DUE - HOUR), ("awaiting", None)]])
def test_who_is_awaited_has_given_no_answer_once_the_deadline_is_reached(told):
    assert standing(*told, at=DUE - HOUR).standing is Standing.AWAITING
    for at in (DUE, DUE + HOUR):
        state = standing(*told, at=at)
        assert (state.standing, state.is_overdue, state.is_final) == (Standing.NO_ANSWER, True, False)
    assert state.words == (
        "No answer by the deadline, Thu Nov 5, 2026, 7:00 am EST. Call the operator and log what it says."
    )


def test_without_a_deadline_nobody_is_overdue_and_the_words_ask_for_it():
    for told in ([], [("extension_asked", DUE)]):
        state = standing(*told, due=None)
        assert not state.is_overdue
        assert not state.is_final
        assert "not known" in state.words
        assert "enter it on the ticket" in state.words


@pytest.mark.parametrize("said", sorted(set(ResponseKind.values) - {"awaiting", *FINAL_RESPONSES}))
def test_an_answer_that_is_not_final_is_overdue_at_the_deadline(said):
    early, late = standing((said, DUE - HOUR), at=DUE - HOUR / 2), standing((said, DUE - HOUR))
    assert early.standing is late.standing is Standing.NOT_FINAL
    assert (early.is_overdue, late.is_overdue) == (False, True)
    assert "is due Thu Nov 5, 2026, 7:00 am EST" in early.words
    assert "was due Thu Nov 5, 2026, 7:00 am EST: call the operator" in late.words


@pytest.mark.parametrize("said", FINAL_RESPONSES)
def test_a_final_answer_is_late_after_the_deadline_and_in_time_at_it(said):
    assert standing((said, DUE)).standing is Standing.FINAL
    late = standing((said, DUE + timedelta(seconds=1)))
    assert (late.standing, late.is_final, late.is_overdue) == (Standing.LATE, True, False)
    assert "it was due Thu Nov 5, 2026, 7:00 am EST" in late.words


def test_a_final_answer_said_again_after_the_deadline_is_not_late():
    assert standing(("marked", DUE - HOUR), ("marked", DUE + HOUR / 2)).standing is Standing.FINAL


def test_a_final_answer_taken_back_and_given_again_after_the_deadline_is_late():
    told = [("marked", DUE - HOUR), ("partly_marked", DUE - HOUR / 2), ("marked", DUE + HOUR / 2)]
    assert standing(*told).standing is Standing.LATE


def test_a_final_answer_without_a_time_says_so():
    state = standing(("no_facilities", None))
    assert (state.standing, state.words) == (
        Standing.FINAL,
        "Final: no facilities, at a time that is not recorded.",
    )


def test_an_answer_that_comes_later_has_not_come_yet():
    told = [("marked", DUE + 2 * HOUR)]
    assert standing(*told).standing is Standing.NO_ANSWER
    assert standing(*told, at=DUE + 2 * HOUR).standing is Standing.LATE


@given(histories, st.none() | moments, moments)
def test_the_standing_is_that_of_a_plain_reading(history, due, at):
    """The rule of the docstring once more, in another shape: only the last answer and one run of it count."""
    state = standing_of_answers(history, due, at, ZONE)
    come = [one for one in history if one.answered_at is None or one.answered_at <= at]
    said = [one.response for one in come]
    is_final = bool(said) and said[-1] in ("marked", "no_facilities")
    assert state.is_final == is_final
    assert state.is_overdue == (due is not None and at >= due and not is_final)
    expected = Standing.FINAL
    if not said or said[-1] == "awaiting":
        expected = Standing.NO_ANSWER if state.is_overdue else Standing.AWAITING
    elif not is_final:
        expected = Standing.NOT_FINAL
    else:
        others = [place for place, word in enumerate(said) if word not in ("marked", "no_facilities")]
        since = come[others[-1] + 1 if others else 0].answered_at
        if since is not None and due is not None and since > due:
            expected = Standing.LATE
    assert state.standing is expected


@given(histories, moments, moments, st.randoms())
def test_the_order_of_reading_does_not_matter(history, due, at, shuffler):
    shuffled = list(history)
    shuffler.shuffle(shuffled)
    assert standing_of_answers(shuffled, due, at, ZONE) == standing_of_answers(history, due, at, ZONE)


@given(histories, moments, moments, moments)
def test_time_alone_never_brings_an_answer(history, due, one, other):
    """Once every answer has come, waiting on changes nothing but that the deadline passes."""
    last = max((answer.answered_at for answer in history if answer.answered_at), default=one)
    earlier, later = sorted((max(one, last), max(other, last)))
    before, after = (standing_of_answers(history, due, at, ZONE) for at in (earlier, later))
    assert before.is_final == after.is_final
    assert after.is_overdue or not before.is_overdue


@given(histories, moments, moments, moments)
def test_a_later_deadline_makes_nobody_later(history, one, other, at):
    sooner, later = sorted((one, other))
    strict, lenient = (standing_of_answers(history, due, at, ZONE) for due in (sooner, later))
    assert strict.is_overdue or not lenient.is_overdue
    assert strict.standing is Standing.LATE or lenient.standing is not Standing.LATE


def test_one_letter_means_one_answer():
    assert {shown[0]: stored for stored, shown in ANSWERS.items()} == {
        "a": "awaiting",
        "m": "marked",
        "n": "no_facilities",
        "p": "partly_marked",
        "e": "extension_asked",
        "s": "standing_by",
    }
    for stored, shown in ANSWERS.items():
        assert meant_answer(shown[0], ANSWERS) == stored
        assert meant_answer(f" {shown.upper()} ", ANSWERS) == stored


@pytest.mark.parametrize("text", ["", "  ", "x", "marks", "0"])
def test_what_means_no_answer_is_refused_with_the_letters(text):
    with pytest.raises(AnswerError, match="m for marked, n for no facilities") as refused:
        meant_answer(text, ANSWERS)
    assert letters_of(ANSWERS) in str(refused.value)


NAMES = ["Brindle Gas", "Brindle Water", "Tallow Gas", "Tallow Gas Storage", "Ashby Light"]


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("ash", "Ashby Light"),
        ("LIG", "Ashby Light"),
        ("brindle  w", "Brindle Water"),
        ("tallow gas", "Tallow Gas"),
        ("tallow gas s", "Tallow Gas Storage"),
        ("wat", "Brindle Water"),
    ],
)
def test_first_letters_mean_an_operator(text, name):
    assert meant_operator(text, NAMES) == name


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("b", '"b" is not one operator: Brindle Gas and Brindle Water begin so; type more of the name'),
        ("gas", "Brindle Gas, Tallow Gas and Tallow Gas Storage begin so"),
        ("zz", '"zz" is not an operator: on this job there is Brindle Gas, Brindle Water'),
        (" ", "type the first letters of"),
    ],
)
def test_letters_that_mean_no_operator_or_several_are_refused_in_words(text, words):
    with pytest.raises(AnswerError) as refused:
        meant_operator(text, NAMES)
    assert words in str(refused.value)


def test_with_no_operator_on_the_job_the_words_say_so():
    with pytest.raises(AnswerError, match="no operator yet"):
        meant_operator("b", [])


@given(st.lists(st.text("abc ", min_size=1, max_size=6).filter(str.strip), min_size=1, unique=True))
def test_letters_never_mean_an_operator_that_they_do_not_stand_in(names):
    for name in names:
        try:
            meant = meant_operator(name[:2], names)
        except AnswerError:
            continue
        assert " ".join(name[:2].split()) in " ".join(meant.split())
