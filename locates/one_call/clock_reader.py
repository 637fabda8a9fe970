"""Read the JSON of a clock: how a law on dates is written down in `clocks.json` and in a rule.

Every part may be left out or null where nothing was read; the desk then asks for its date. Each part has
``is_sure`` (true or false), ``citation`` and, where it is not sure, ``doubt`` (why, for the person who asks).
A name in quotes is one of the words in `clock_terms`; times of day are written "07:00", weekdays "monday".

working_days
    needed. ``weekdays`` (Monday to Friday), ``opens_at`` ("00:00"), ``closes_at`` (null: midnight),
    ``holidays`` (below), ``centre_days`` ``[{"day": "2026-12-24", "is_working": false, "name": "..."}]``
holidays
    needed. ``state``; ``lists`` of "federal", "state", "federal_and_state" (days on both lists); ``days``
    ``[{"name", "month", "day"} or {"name", "month", "nth", "weekday", "days_after"}]``; ``removed``
    (names of days); ``doubtful_lists``, ``doubtful_days`` (a count that meets one gives no date);
    ``saturday`` "friday", "none" or "doubtful"; ``sunday`` "monday", "none" or "doubtful"; ``one_a_day``
    (two holidays observed on one day take two working days)
zone
    ``name``: the law's own time zone
receipt
    ``cut_off`` (a call later than it, or on a day that does not count, counts as the next working day's),
    ``opens_at`` (an earlier call counts as made then), ``only_working_days`` (the second of these without a
    cut-off), ``counts_at`` ("00:00": when in that day; a call before it counts as made then)
notice
    ``term`` (days end by default at midnight after the last: ``{"day": "next", "at": "00:00"}``),
    ``begins`` "receipt", "next_day", "next_working_day"; ``begins_at``; ``stated_start_binds`` (true);
    ``called_on`` ``[{"called_on", "starts_on", "at", "holiday", "starts_on_then"}]``
term
    ``count``, ``unit`` ("hours", "working hours", "working days", "business days", "full working days",
    "full business days", "calendar days"), ``first_day_counts`` (false), ``end`` ``{"day", "at"}``: day
    "last", "next", "next_working"; at a time of day or "same time"; by default 23:59 of the last
early_start
    ``is_allowed``: before the notice has run, once every operator has answered
response
    ``counted_from`` of "call", "receipt", "notice begins", "notice ends", "legal start", "stated start";
    ``term`` (null: that very moment); ``what``
latest_start
    list of the same, or from "answers due": the first of them counts; ``what`` says what it bounds
life
    ``term`` and ``counted_from`` as above or "answers due", or ``no_fixed_term`` ("while the marks are
    visible"); ``rolls_on`` (to the next working day), ``ends_early`` (texts)
renewal
    ``lead`` (``{"count", "unit"}`` of the days that follow the call, up to and with the last day; null: a
    new notice, its notice period decides), ``not_before`` (longest lead accepted), ``from_day`` (first day
    of the life on which a renewal is accepted), ``runs_on`` (needs no notice period)
silence
    ``policy`` "wait", "call_again", "go_on_with_care"; ``words``
kinds
    by "emergency", "site_meeting" ...: ``starts_at_once``, ``conditions``, ``notice``

"stated start" is the legal start where the notice states none; "next_working" is the working day after the
last one counted.

Examples
--------
Two full business days after the day of the call, 45 days of life::

    {"working_days": {"holidays": {"state": "OR", "lists": ["federal", "state"], "sunday": "monday",
                                   "is_sure": true, "citation": "OAR 952-001-0010"},
                      "is_sure": true, "citation": "OAR 952-001-0010"},
     "notice": {"term": {"count": 2, "unit": "full business days"},
                "is_sure": true, "citation": "OAR 952-001-0050"},
     "response": {"counted_from": "notice ends", "is_sure": true, "citation": "OAR 952-001-0070"},
     "life": {"term": {"count": 45, "unit": "calendar days"}, "counted_from": "call",
              "is_sure": false, "citation": "OAR 952-001-0050", "doubt": "a change to 30 days was proposed"},
     "silence": {"policy": "wait", "words": "...", "is_sure": true, "citation": "..."}}

48 hours from 07:00 of the next working day::

    "notice": {"term": {"count": 48, "unit": "hours"}, "begins": "next_working_day", "begins_at": "07:00",
               ...}

A notice on a Saturday: Tuesday 11:59, Wednesday where Monday is a holiday::

    "called_on": [{"called_on": "saturday", "starts_on": "tuesday", "at": "11:59",
                   "holiday": "monday", "starts_on_then": "wednesday"}]
"""

from datetime import date, time
from zoneinfo import ZoneInfo

from locates.one_call.calendar import STATES, is_listed
from locates.one_call.calendar_terms import (
    HOLIDAY_LISTS,
    SHIFTS_OF_SATURDAY,
    SHIFTS_OF_SUNDAY,
    WEEKDAYS,
    CentreDay,
    DayOfYear,
    Grounds,
    Holidays,
    LawZone,
    WorkingDays,
)
from locates.one_call.clock_members import Members
from locates.one_call.clock_terms import (
    BEGIN_DAYS,
    END_DAYS,
    HOUR_UNITS,
    KINDS,
    MOMENTS,
    MOMENTS_OF_ANSWERS,
    POLICIES,
    UNITS,
    CalledOn,
    Clock,
    Deadline,
    EarlyStart,
    End,
    KindRule,
    Life,
    Notice,
    Receipt,
    Renewal,
    Silence,
    Term,
)

MOST_UNITS = 400  # no ticket is good for longer: a slip of the hand
AT_MIDNIGHT_AFTER = End(day="next", at=time(0))
AT_DAY_END = End()
SAME_TIME = "same time"

_LEAP_YEAR = 2024


def read_clock(value: object) -> Clock:
    """Clock of a JSON object.

    Parameters
    ----------
    value : object
        As read from JSON.

    Returns
    -------
    Clock
        Frozen and hashable.

    Raises
    ------
    ClockError
        What is not described above.
    """
    members = Members(value, "")
    clock = Clock(
        working_days=members.needed("working_days", _working_days),
        zone=members.part("zone", _zone),
        receipt=members.part("receipt", _receipt),
        notice=members.part("notice", _notice),
        early_start=members.part("early_start", _early_start),
        response=members.part("response", lambda inner: _deadline(inner, MOMENTS_OF_ANSWERS)),
        latest_start=members.parts("latest_start", _deadline),
        life=members.part("life", _life),
        renewal=members.part("renewal", _renewal),
        silence=members.part("silence", _silence),
        kinds=members.named("kinds", _kind_rule, KINDS),
    )
    members.finish()
    return clock


def _grounds(members: Members) -> Grounds:
    is_sure = members.flag("is_sure")
    doubt = members.text("doubt", "")
    if is_sure and doubt:
        raise members.refuse("doubt", f"{doubt!r} beside is_sure true", "a doubt only where is_sure is false")
    if not is_sure and not doubt.strip():
        raise members.refuse("doubt", "nothing", "why it is not sure, in words")
    return Grounds(is_sure=is_sure, citation=members.text("citation"), doubt=doubt)


def _zone(members: Members) -> LawZone:
    name = members.text("name")
    try:
        ZoneInfo(name)
    except (ValueError, KeyError) as error:
        raise members.refuse("name", repr(name), "an IANA time zone such as America/New_York") from error
    return LawZone(name=name, grounds=_grounds(members))


def _working_days(members: Members) -> WorkingDays:
    weekdays = members.choices("weekdays", WEEKDAYS) or WEEKDAYS[:5]
    opens_at, closes_at = members.clock_time("opens_at", time(0)), members.clock_time("closes_at")
    if opens_at is None or (closes_at is not None and closes_at <= opens_at):
        raise members.refuse("closes_at", f"{closes_at}", "a time of day after opens_at")
    return WorkingDays(
        weekdays=tuple(sorted(WEEKDAYS.index(day) for day in weekdays)),
        opens_at=opens_at,
        closes_at=closes_at,
        holidays=members.needed("holidays", _holidays),
        centre_days=members.parts("centre_days", _centre_day),
        grounds=_grounds(members),
    )


def _holidays(members: Members) -> Holidays:
    state = members.text("state")
    if state not in STATES:
        raise members.refuse("state", repr(state), "two capital letters of a state, such as VA")
    removed = members.texts("removed")
    for name in removed:
        if not is_listed(state, name):
            raise members.refuse("removed", repr(name), f"names of days on the lists of {state}")
    return Holidays(
        state=state,
        lists=members.choices("lists", HOLIDAY_LISTS),
        days=members.parts("days", _day_of_year),
        removed=removed,
        doubtful_lists=members.choices("doubtful_lists", HOLIDAY_LISTS),
        doubtful_days=members.parts("doubtful_days", _day_of_year),
        saturday=members.choice("saturday", SHIFTS_OF_SATURDAY, "doubtful"),
        sunday=members.choice("sunday", SHIFTS_OF_SUNDAY, "doubtful"),
        one_a_day=members.flag("one_a_day", False),
        grounds=_grounds(members),
    )


def _day_of_year(members: Members) -> DayOfYear:
    name, month = members.text("name"), members.whole("month", 1, 12)
    day = members.maybe_whole("day", 1, 31)
    nth, weekday = members.maybe_whole("nth", -1, 4), members.index("weekday", WEEKDAYS)
    is_nth = nth not in (None, 0) and weekday is not None
    if (day is None) != is_nth or (day is not None and (nth is not None or weekday is not None)):
        raise members.refuse("", "neither or both", "either day, or nth (1 to 4, or -1) and weekday")
    if day is not None:
        try:
            date(_LEAP_YEAR, month, day)
        except ValueError as error:
            raise members.refuse("day", str(day), "a day that the month has") from error
    days_after = members.maybe_whole("days_after", -7, 7, 0)
    return DayOfYear(name=name, month=month, day=day, nth=nth, weekday=weekday, days_after=days_after or 0)


def _centre_day(members: Members) -> CentreDay:
    return CentreDay(day=members.day("day"), is_working=members.flag("is_working"), name=members.text("name"))


def _receipt(members: Members) -> Receipt:
    opens_at, cut_off = members.clock_time("opens_at"), members.clock_time("cut_off")
    counts_at = members.clock_time("counts_at", time(0)) or time(0)
    if opens_at is not None and cut_off is not None and cut_off <= opens_at:
        raise members.refuse("cut_off", f"{cut_off:%H:%M}", "a time of day after opens_at")
    if cut_off is not None and counts_at >= cut_off:
        raise members.refuse("counts_at", f"{counts_at:%H:%M}", "a time of day before cut_off")
    return Receipt(
        opens_at=opens_at,
        cut_off=cut_off,
        only_working_days=members.flag("only_working_days", False),
        counts_at=counts_at,
        grounds=_grounds(members),
    )


def _notice(members: Members) -> Notice:
    begins = members.choice("begins", BEGIN_DAYS, "receipt")
    begins_at = members.clock_time("begins_at")
    if (begins == "receipt") != (begins_at is None):
        raise members.refuse(
            "begins_at", f"{begins_at}", "a time of day beside next_day and next_working_day alone"
        )
    return Notice(
        term=members.needed("term", lambda inner: _term(inner, AT_MIDNIGHT_AFTER)),
        begins=begins,
        begins_at=begins_at,
        stated_start_binds=members.flag("stated_start_binds", True),
        called_on=members.parts("called_on", _called_on),
        grounds=_grounds(members),
    )


def _term(members: Members, end: End = AT_DAY_END) -> Term:
    return Term(
        count=members.whole("count", 1, MOST_UNITS),
        unit=members.choice("unit", UNITS),
        first_day_counts=members.flag("first_day_counts", False),
        end=members.part("end", _end) or end,
    )


def _end(members: Members) -> End:
    day = members.choice("day", END_DAYS, "last")
    if members.is_word("at", SAME_TIME):
        return End(day=day, at=None)
    return End(day=day, at=members.clock_time("at", time(23, 59)))


def _called_on(members: Members) -> CalledOn:
    called_on, starts_on = members.index("called_on", WEEKDAYS), members.index("starts_on", WEEKDAYS)
    at = members.clock_time("at")
    holiday, then = members.index("holiday", WEEKDAYS), members.index("starts_on_then", WEEKDAYS)
    if called_on is None or starts_on is None or at is None:
        raise members.refuse("", "not all three", "called_on, starts_on and at")
    if (holiday is None) != (then is None):
        raise members.refuse("", "one of the two", "holiday and starts_on_then, or neither")
    return CalledOn(called_on=called_on, starts_on=starts_on, at=at, holiday=holiday, starts_on_then=then)


def _early_start(members: Members) -> EarlyStart:
    return EarlyStart(is_allowed=members.flag("is_allowed"), grounds=_grounds(members))


def _deadline(members: Members, moments: tuple[str, ...] = MOMENTS) -> Deadline:
    return Deadline(
        counted_from=members.choice("counted_from", moments),
        term=members.part("term", _term),
        what=members.text("what", ""),
        grounds=_grounds(members),
    )


def _life(members: Members) -> Life:
    term, no_fixed_term = members.part("term", _term), members.text("no_fixed_term", "")
    if (term is None) != bool(no_fixed_term):
        raise members.refuse("", "neither or both", "either term, or no_fixed_term")
    return Life(
        term=term,
        counted_from=members.choice("counted_from", MOMENTS) if term else "",
        no_fixed_term=no_fixed_term,
        rolls_on=members.flag("rolls_on", False),
        ends_early=members.texts("ends_early"),
        grounds=_grounds(members),
    )


def _renewal(members: Members) -> Renewal:
    return Renewal(
        lead=members.part("lead", _days),
        not_before=members.part("not_before", _days),
        from_day=members.maybe_whole("from_day", 1, MOST_UNITS),
        runs_on=members.flag("runs_on", False),
        grounds=_grounds(members),
    )


def _days(members: Members) -> Term:
    term = _term(members)
    if term.unit in HOUR_UNITS:
        raise members.refuse("unit", repr(term.unit), "a unit of days")
    return term


def _silence(members: Members) -> Silence:
    return Silence(
        policy=members.choice("policy", POLICIES), words=members.text("words"), grounds=_grounds(members)
    )


def _kind_rule(members: Members) -> KindRule:
    starts_at_once, notice = members.flag("starts_at_once"), members.part("notice", _notice)
    if starts_at_once == (notice is not None):
        raise members.refuse("", "neither or both", "either starts_at_once true, or a notice")
    return KindRule(
        starts_at_once=starts_at_once,
        conditions=members.text("conditions"),
        notice=notice,
        grounds=_grounds(members),
    )
