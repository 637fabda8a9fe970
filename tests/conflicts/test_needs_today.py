"""What needs a person first: the order of urgency, and every matter told once and with its reason."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from conflicts.needs_today import (
    FINISH_PASSED,
    NO_START,
    AnswerNow,
    Band,
    BoreNow,
    JobNow,
    Matter,
    TicketNow,
    band,
    first_needs,
    needs_today,
)

# A Tuesday, 9:00 am in New York.
NOW = datetime(2026, 11, 10, 14, 0, tzinfo=UTC)
NEW_YORK = "America/New_York"
ALDER = JobNow(UUID(int=1), "Alder Street", NEW_YORK)
BIRCH = JobNow(UUID(int=2), "Birch Lane", "America/Los_Angeles")


def days(count: float) -> timedelta:
    return timedelta(days=count)


def refused(name: str, start_at: datetime | None, job: JobNow = ALDER, finish_at: datetime | None = None):
    """A bore with one need."""
    return BoreNow(job, uuid4(), name, start_at, finish_at, refusal=f"{name} has no path")


def ticket(number: str, start_at, expires_at, *answers: tuple, job: JobNow = ALDER) -> TicketNow:
    return TicketNow(job, number, None, start_at, expires_at, tuple(AnswerNow(*one) for one in answers))


def names(bores=(), tickets=()) -> list[str]:
    return [subject.name for subject in needs_today(bores, tickets, NOW)]


def sentences(*tickets: TicketNow) -> list[str]:
    return [need.sentence for subject in needs_today([], tickets, NOW) for need in subject.needs]


ANSWERED = ("Brindle Gas", "marked")


def test_what_is_under_way_comes_before_today_an_unknown_start_and_later_days():
    later, today, unknown, under_way = (
        refused("later", NOW + days(3)),
        refused("today", NOW + timedelta(hours=2)),
        refused("unknown", None),
        refused("under way", NOW - timedelta(hours=2)),
    )
    assert names([later, unknown, today, under_way]) == ["under way", "today", "unknown", "later"]


def test_of_later_days_the_nearer_comes_first_whatever_the_job():
    bores = [
        refused("third", NOW + days(9)),
        refused("first", NOW + days(2), BIRCH),
        refused("second", NOW + days(4)),
    ]
    assert names(bores) == ["first", "second", "third"]


def test_the_order_does_not_depend_on_the_order_of_reading():
    bores = [refused(f"B{number}", NOW + days(number % 3)) for number in range(7)]
    assert names(bores) == names(bores[::-1])


def test_today_ends_at_midnight_of_the_jobs_own_zone():
    # 1:00 am on Wednesday in New York is still Tuesday in Los Angeles.
    moment = datetime(2026, 11, 11, 6, 0, tzinfo=UTC)
    assert band(moment, NOW, NEW_YORK) is Band.LATER
    assert band(moment, NOW, "America/Los_Angeles") is Band.TODAY
    assert band(NOW, NOW, NEW_YORK) is Band.NOW
    assert band(None, NOW, NEW_YORK) is Band.UNKNOWN


def test_a_bore_without_a_planned_start_needs_one():
    [subject] = needs_today([BoreNow(ALDER, uuid4(), "B1", None, None)], [], NOW)
    assert [(need.matter, need.sentence) for need in subject.needs] == [(Matter.DATES, NO_START)]
    assert subject.due == "No start planned"


def test_a_bore_whose_planned_finish_has_passed_needs_new_dates_unless_it_is_drilled():
    [subject] = needs_today([BoreNow(ALDER, uuid4(), "B1", NOW - days(2), NOW)], [], NOW)
    assert [(need.matter, need.sentence) for need in subject.needs] == [(Matter.DATES, FINISH_PASSED)]


def test_two_bores_without_a_planned_start_are_both_told():
    assert names([BoreNow(ALDER, uuid4(), name, None, None) for name in ("B1", "B2")]) == ["B1", "B2"]


def test_a_bore_of_which_nothing_is_open_does_not_stand_in_the_list():
    assert names([BoreNow(ALDER, uuid4(), "B1", NOW + days(1), NOW + days(2))]) == []


@pytest.mark.parametrize(
    ("start_at", "finish_at", "words"),
    [
        (NOW + timedelta(hours=3), None, "Starts today, Tue Nov 10, 2026, 12:00 pm EST"),
        (NOW + days(1), None, "Starts tomorrow, Wed Nov 11, 2026, 9:00 am EST"),
        (NOW + days(6), None, "Starts in 6 days, Mon Nov 16, 2026, 9:00 am EST"),
        (NOW - days(1), None, "Planned to be under way since Mon Nov 9, 2026, 9:00 am EST"),
        (NOW - days(1), NOW, "Was to be finished Tue Nov 10, 2026, 9:00 am EST"),
    ],
)
def test_a_bore_says_when_in_the_zone_of_its_job(start_at, finish_at, words):
    [subject] = needs_today([refused("B1", start_at, finish_at=finish_at)], [], NOW)
    assert subject.due == words


def test_a_ticket_that_runs_out_within_days_is_to_be_renewed():
    near = ticket("T1", NOW - days(9), NOW + days(4), ANSWERED)
    assert sentences(near) == ["Renew it if the work goes on."]
    assert sentences(ticket("T1", NOW - days(9), NOW + days(6), ANSWERED)) == []


def test_a_ticket_that_starts_within_days_says_that_nobody_digs_before():
    near = ticket("T1", NOW + days(2), NOW + days(20), ANSWERED)
    assert sentences(near) == ["Nobody digs under it before; have every answer by then."]
    assert sentences(ticket("T1", NOW + days(4), NOW + days(20), ANSWERED)) == []


@pytest.mark.parametrize(
    ("start_at", "expires_at", "words"),
    [
        (None, NOW + days(20), "Not known: legal start. Enter it: until then it is not in force."),
        (NOW - days(2), None, "Not known: expiry. Enter it: until then it is not in force."),
        (None, None, "Not known: legal start and expiry. Enter it: until then it is not in force."),
    ],
)
def test_a_date_of_a_ticket_that_is_not_known_has_to_be_entered(start_at, expires_at, words):
    assert sentences(ticket("T1", start_at, expires_at, ANSWERED)) == [words]


def test_an_operator_that_has_not_answered_finally_is_named_with_its_ticket():
    open_one = ticket(
        "T1",
        NOW - days(1),
        NOW + days(20),
        ANSWERED,
        ("Hollow Cable", "awaiting"),
        ("Pell Water", "extension_asked"),
    )
    assert sentences(open_one) == [
        "Hollow Cable on ticket T1: awaiting. Get its final answer.",
        "Pell Water on ticket T1: extension asked. Get its final answer.",
    ]


def test_a_deadline_for_answers_that_has_passed_is_told():
    open_one = ticket("T1", NOW - days(1), NOW + days(20), ("Hollow Cable", "awaiting"))
    (sentence,) = sentences(replace(open_one, response_due_at=NOW - days(2)))
    assert sentence.startswith("Hollow Cable on ticket T1: awaiting, and the deadline passed ")
    assert sentences(replace(open_one, response_due_at=NOW + days(1))) == sentences(open_one)


def test_an_answer_whose_time_is_still_to_come_has_not_come():
    late, just_now, timeless = (
        ticket("T1", NOW - days(1), NOW + days(20), ("Pell Water", answer, at))
        for answer, at in (
            ("no_facilities", NOW + timedelta(minutes=1)),
            ("no_facilities", NOW),
            ("marked", None),
        )
    )
    assert sentences(late) == [
        "Pell Water on ticket T1: no facilities, but answered Tue Nov 10, 2026, 9:01 am EST, later than now. "
        "Correct it."
    ]
    assert sentences(just_now) == sentences(timeless) == []


def test_a_ticket_without_any_operator_is_told():
    assert sentences(ticket("T1", NOW - days(1), NOW + days(20))) == [
        "Ticket T1 names no operator: log who was notified."
    ]


def test_answers_are_asked_for_only_when_the_start_is_near():
    assert sentences(ticket("T1", NOW + days(9), NOW + days(20), ("Hollow Cable", "awaiting"))) == []


def test_equal_words_of_two_jobs_are_two_matters():
    late = ("Hollow Cable", "awaiting")
    both = [ticket("T1", NOW - days(1), NOW + days(20), late, job=job) for job in (ALDER, BIRCH)]
    assert len(sentences(*both)) == 2


def test_a_bore_and_a_ticket_of_one_moment_stand_by_what_takes_longest_to_settle():
    moment = NOW + days(2)
    bore = BoreNow(ALDER, uuid4(), "B1", None, None)
    unknown = ticket("T1", None, moment, ANSWERED)
    # Neither moment is known: a ticket's dates take longer to settle than a bore's.
    assert names([bore], [unknown]) == ["Ticket T1", "B1"]


def test_as_many_needs_are_shown_as_asked_and_the_rest_is_counted():
    tickets = [
        ticket(f"T{number}", NOW - days(1), NOW + days(number), ("A", "awaiting"), ("B", "awaiting"))
        for number in (1, 2, 3)
    ]
    subjects = needs_today([], tickets, NOW)
    assert sum(len(subject.needs) for subject in subjects) == 9
    shown, left_out = first_needs(subjects, 4)
    assert [len(subject.needs) for subject in shown] == [3, 1]
    assert left_out == 5
    assert first_needs(subjects, 9) == (subjects, 0)
    assert first_needs([], 4) == ([], 0)
