"""The JSON of a clock: what is read, and errors that say where, what was found and what is accepted."""

import json
import re
from copy import deepcopy
from datetime import time

import pytest

from locates.one_call import clock_reader
from locates.one_call.clock_members import ClockError
from locates.one_call.clock_reader import read_clock
from tests.one_call_clocks import SURE, TEXAN_SATURDAY, clock_json, hours, life


def changed(path: str, value: object) -> dict:
    """A sound clock with one member in place of its own."""
    clock = clock_json(
        zone={"name": "America/Chicago", **SURE},
        receipt={"cut_off": "16:30", **SURE},
        life=life(28, "calendar days", "call"),
        renewal={"lead": {"count": 2, "unit": "working days"}, **SURE},
        silence={"policy": "wait", "words": "Wait.", **SURE},
        latest_start=[{"counted_from": "call", "term": {"count": 10, "unit": "working days"}, **SURE}],
    )
    clock = deepcopy(clock)
    inner, *names = clock, *path.split(".")
    for name in names[:-1]:
        inner = inner[int(name) if name.isdecimal() else name]
    inner[names[-1]] = value
    return clock


def test_the_sound_clock_of_these_tests_is_read():
    clock = read_clock(changed("notice.begins", "receipt"))
    assert clock.receipt.cut_off == time(16, 30)
    assert clock.life.term.end.at == time(23, 59)
    assert clock.notice.term.end.day == "next"
    assert hash(clock) == hash(read_clock(changed("notice.begins", "receipt")))


def test_the_example_in_the_readers_own_words_is_read():
    example = re.search(r"Examples\n-+\n.*?::\n\n(.*?)\n\n48 hours", clock_reader.__doc__, re.DOTALL)
    clock = read_clock(json.loads(example[1]))
    assert clock.notice.term.count == 2
    assert clock.life.grounds.doubt == "a change to 30 days was proposed"


@pytest.mark.parametrize(
    ("path", "value", "where", "accepted"),
    [
        ("notice.term.unit", "fortnights", "notice.term.unit", "one of hours, working hours"),
        ("notice.term.count", 0, "notice.term.count", "a whole number, 1 to 400"),
        ("notice.term.count", 2.5, "notice.term.count", "a whole number"),
        ("notice.term.count", True, "notice.term.count", "a whole number"),
        ("notice.is_sure", "yes", "notice.is_sure", "true or false"),
        ("notice.citation", " ", "notice.citation", "text"),
        ("notice.doubt", "but", "notice.doubt", "only where is_sure is false"),
        ("notice.begins_at", "07:00", "notice.begins_at", "beside next_day and next_working_day alone"),
        (
            "notice.called_on",
            [TEXAN_SATURDAY | {"at": None}],
            "notice.called_on[0]",
            "called_on, starts_on and at",
        ),
        ("notice.called_on", [TEXAN_SATURDAY | {"holiday": None}], "notice.called_on[0]", "or neither"),
        ("receipt.cut_off", "16.30", "receipt.cut_off", "a time of day such as 07:00"),
        ("receipt.cut_off", "24:30", "receipt.cut_off", "a time of day such as 07:00"),
        ("receipt.counts_at", "17:00", "receipt.counts_at", "before cut_off"),
        ("life.counted_from", "the marks", "life.counted_from", "one of call, receipt"),
        ("life.no_fixed_term", "while visible", "life", "either term, or no_fixed_term"),
        ("life.rolls", True, "life", "the members that clock_reader describes"),
        ("renewal.lead.unit", "hours", "renewal.lead.unit", "a unit of days"),
        ("silence.policy", "go", "silence.policy", "one of wait, call_again, go_on_with_care"),
        ("latest_start.0.term", [], "latest_start[0].term", "an object"),
        ("latest_start", {}, "latest_start", "a list"),
        ("zone.name", "Mars/Phobos", "zone.name", "an IANA time zone"),
        ("zone.name", "../etc/passwd", "zone.name", "an IANA time zone"),
        ("working_days.closes_at", "00:00", "working_days.closes_at", "after opens_at"),
        ("working_days.weekdays", ["caturday"], "working_days.weekdays", "a list of monday"),
        (
            "working_days.centre_days",
            [{"day": "2026-02-29"}],
            "working_days.centre_days[0].day",
            "a date such as",
        ),
        (
            "working_days.holidays.state",
            "ZZ",
            "working_days.holidays.state",
            "two capital letters of a state",
        ),
        (
            "working_days.holidays.removed",
            ["Yule"],
            "working_days.holidays.removed",
            "names of days on the lists",
        ),
        (
            "working_days.holidays.days",
            [{"name": "Odd", "month": 2, "day": 30}],
            "working_days.holidays.days[0].day",
            "a day that the month has",
        ),
        (
            "working_days.holidays.days",
            [{"name": "Odd", "month": 2}],
            "working_days.holidays.days[0]",
            "either day, or nth",
        ),
        ("kinds", {"wedding": {}}, "kinds", "the members"),
        (
            "kinds",
            {"emergency": {"starts_at_once": False, **SURE}},
            "kinds.emergency",
            "starts_at_once true, or",
        ),
    ],
)
def test_what_is_no_clock_is_refused_with_its_place(path, value, where, accepted):
    with pytest.raises(ClockError) as caught:
        read_clock(changed(path, value))
    assert caught.value.where == where
    assert accepted in caught.value.accepted
    assert caught.value.found
    assert str(caught.value).startswith(f"{where}: found ")


@pytest.mark.parametrize("value", [None, [], "VA", 7])
def test_what_is_no_object_is_refused(value):
    with pytest.raises(ClockError, match=r"the clock: found .*; accepted: an object"):
        read_clock(value)


def test_a_clock_without_its_calendar_is_refused():
    with pytest.raises(ClockError, match="working_days: found nothing"):
        read_clock({"notice": hours(48)})


def test_a_part_that_is_not_sure_says_why():
    with pytest.raises(ClockError, match=r"notice.doubt: found nothing; accepted: why it is not sure"):
        read_clock(changed("notice.is_sure", False))
