"""Days that a centre counts its own way settle doubts; tickets that they touch are listed, not rewritten."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import call_command
from django.db import IntegrityError
from django.urls import reverse
from django.utils import timezone

from locates.desk.keep_centre_day import add_centre_day, retire_centre_day
from locates.desk.settle_dates import days_in_use, rule_in_use, work_out
from locates.models import CentreDay, DayReview, JurisdictionRule, Ticket
from locates.models.centre_day import own_days
from locates.one_call.clock import Call
from tests.factories import (
    JobFactory,
    JurisdictionRuleFactory,
    TicketFactory,
    person_in_role,
    seeded_rule,
    stand_aside,
)
from tests.one_call_clocks import SURE, clock_json, days, life

pytestmark = pytest.mark.django_db

# Mon 2026-11-23; of the shipped rule of California nobody knows whether Fri 27 counts.
CALLED = datetime(2026, 11, 24, 18, 0, tzinfo=UTC)
FRIDAY = date(2026, 11, 27)
ZONE = "America/Los_Angeles"
REVIEW = "locates:tickets-to-review"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def kept(day=FRIDAY, is_working=True, code="CA", words="told by the centre on the telephone"):
    person = person_in_role("Coordinator")
    one = CentreDay(code=code, day=day, is_working=is_working, words=words)
    return one, add_centre_day(one, by=person)


def worked(code="CA", called=CALLED):
    rule = seeded_rule(code)
    call = Call(kind="routine", called_at=called, time_zone=ZONE, start_at=None)
    return work_out(rule, call, own_days=own_days(code, None))


def dated_ticket(number="HB-26-0914", called=CALLED, **values):
    rule, dates = seeded_rule("CA"), worked(called=called)
    job = values.pop("job", None) or JobFactory(jurisdiction=rule, time_zone=ZONE)
    return TicketFactory(
        number=number,
        job=job,
        **{
            "called_at": called,
            "legal_start_at": datetime.fromisoformat(dates["legal_start_at"]["at"]),
            "expires_at": datetime(2099, 1, 1, tzinfo=UTC),
            "dates_rule": rule,
            "computed_dates": dates,
            **values,
        },
    )


@pytest.mark.parametrize(
    ("is_working", "start"),
    # 2 working days of 07:00 to 17:00 after Tue 24, Thanksgiving left out: Wed 25 and Fri 27, or Mon 30.
    [(True, "2026-11-28T01:00:00+00:00"), (False, "2026-12-01T01:00:00+00:00")],
)
def test_a_day_that_the_centre_has_told_is_sure(is_working, start):
    assert "being the safe one" in worked()["legal_start_at"]["working"]
    kept(is_working=is_working)
    found = worked()["legal_start_at"]
    assert datetime.fromisoformat(found["at"]) == datetime.fromisoformat(start)
    assert "being the safe one" not in found["working"]


def test_a_day_of_another_jurisdiction_or_a_retired_one_settles_nothing():
    before = worked()
    kept(code="NV")
    assert worked() == before
    one, _ = kept()
    assert worked() != before
    retire_centre_day(one.pk, by=person_in_role("Coordinator"))
    assert worked() == before


def test_a_day_of_the_table_goes_before_one_of_the_clock():
    own = {"day": "2026-09-16", "is_working": True, "name": "written in the clock"}
    rule = JurisdictionRuleFactory(code="ZZ", clock=clock_json(working_days={"centre_days": [own]}))
    kept(day=date(2026, 9, 16), is_working=False, code="ZZ")
    call = Call(kind="routine", called_at=datetime(2026, 9, 14, 14, tzinfo=UTC), time_zone="America/New_York")
    assert (
        work_out(rule, call, own_days=own_days("ZZ", None))["legal_start_at"]["at"]
        == "2026-09-18T04:00:00+00:00"
    )


def test_the_command_counts_with_the_days_of_the_centre(capsys):
    kept()
    call_command("ticket_dates", "CA", "--called", "2026-11-24T10:00-08:00", "--format", "json")
    assert '"legal_start_at": "2026-11-27T17:00:00-08:00"' in capsys.readouterr().out


def test_a_ticket_that_the_day_would_date_otherwise_is_listed_and_not_rewritten(coordinator):
    ticket = dated_ticket()
    assert "No ticket waits" in words_of(coordinator.get(reverse(REVIEW)))
    one, asked = kept()
    assert asked == 1
    page = words_of(coordinator.get(reverse(REVIEW)))
    assert ticket.number in page
    assert "Fri Nov 27, 2026</a>, a working day" in page or "Fri Nov 27, 2026, a working day" in page
    assert "Fri Nov 27, 2026, 5:00 pm PST" in page  # as it would be now
    again = Ticket.objects.get()
    assert (again.computed_dates, again.legal_start_at) == (ticket.computed_dates, ticket.legal_start_at)
    assert again.version == ticket.version
    ticket_page = words_of(coordinator.get(reverse("locates:ticket", args=[ticket.pk])))
    assert "How the centre counts Fri Nov 27, 2026 was told since" in ticket_page

    url = reverse("locates:ticket-reviewed", args=[ticket.pk])
    rule = str(seeded_rule("CA").pk)
    assert "have changed again" in words_of(coordinator.post(url, {"rule": rule, "day": ""}, follow=True))
    assert DayReview.objects.count() == 1
    told = coordinator.post(url, {"rule": rule, "day": str(one.pk)}, follow=True)
    assert "Its dates stay as they are" in words_of(told)
    assert "No ticket waits" in words_of(told)
    assert Ticket.objects.get().edited_by.username == "ruth"


def test_what_the_day_does_not_touch_is_not_listed():
    job = JobFactory(jurisdiction=seeded_rule("CA"), time_zone=ZONE)
    now = timezone.now()
    dated_ticket("LATER", called=datetime(2026, 12, 7, 18, 0, tzinfo=UTC), job=job)
    dated_ticket("BEFORE", called=datetime(2026, 10, 5, 18, 0, tzinfo=UTC), job=job, expires_at=None)
    dated_ticket("OVER", job=job, expires_at=now - timedelta(minutes=1), legal_start_at=None)
    dated_ticket("FINISHED", job=job, work_finished_at=now)
    stand_aside(dated_ticket("RETIRED", job=job))
    TicketFactory(number="UNRULED", job=job, expires_at=now + timedelta(days=9))
    touched = dated_ticket("TOUCHED", job=job)
    assert kept()[1] == 1
    assert list(Ticket.objects.to_review(now)) == [touched]


def test_a_day_retired_again_leaves_nothing_to_review_and_one_that_was_looked_at_is_not_asked_of_again():
    ticket = dated_ticket()
    one, _ = kept()
    _, asked = retire_centre_day(one.pk, by=person_in_role("Coordinator"))
    assert asked == 0
    assert not DayReview.objects.exists()
    assert retire_centre_day(one.pk, by=person_in_role("Coordinator"))[1] == 0  # said twice
    kept()
    DayReview.objects.all().delete()  # as somebody who looked leaves it
    assert kept(day=date(2027, 3, 1), is_working=False)[1] == 0
    assert Ticket.objects.get().computed_dates == ticket.computed_dates


def test_of_a_day_one_thing_is_said_at_a_time():
    kept()
    with pytest.raises(IntegrityError):
        kept(is_working=False)


def test_the_page_adds_and_retires_and_says_how_many_tickets_wait(coordinator):
    dated_ticket()
    rule_page = words_of(coordinator.get(reverse("locates:rule", args=[seeded_rule("CA").pk])))
    url = reverse("locates:centre-days", args=["CA"])
    assert url in rule_page
    typed = {"day": "2026-11-27", "counts": "yes", "words": "the centre, by telephone"}
    page = words_of(coordinator.post(url, typed, follow=True))
    assert "Saved: CA 2026-11-27: a working day. 1 ticket waits for a review" in page
    one = CentreDay.objects.get()
    assert (one.made_by.username, one.is_working) == ("ruth", True)
    rule_page = words_of(coordinator.get(reverse("locates:rule", args=[seeded_rule("CA").pk])))
    assert "<dt>Fri Nov 27, 2026</dt><dd>a working day: the centre, by telephone</dd>" in rule_page

    again = words_of(coordinator.post(url, typed))
    assert (
        "it is said already that it is a working day (the centre, by telephone): retire that first" in again
    )
    assert 'value="the centre, by telephone"' in again  # nothing typed is lost
    page = words_of(coordinator.post(reverse("locates:centre-day-retire", args=[one.pk]), follow=True))
    assert "Retired: CA 2026-11-27: a working day." in page
    assert CentreDay.objects.get().retired_by.username == "ruth"


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"day": "someday"}, "Enter a valid date"),
        ({"day": "1950-01-02"}, "Found the year 1950; accepted is a day of 1971 to 2100."),
        ({"counts": ""}, "This field is required"),
        ({"words": "  "}, "This field is required"),
    ],
)
def test_a_day_that_cannot_be_is_refused_and_nothing_is_kept(coordinator, wrong, told):
    typed = {"day": "2026-11-27", "counts": "no", "words": "the centre, by telephone"} | wrong
    page = words_of(coordinator.post(reverse("locates:centre-days", args=["CA"]), typed))
    assert told in page
    assert not CentreDay.objects.exists()


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_who_only_reads_sees_the_days_and_changes_none(client, role):
    one, _ = kept()
    client.force_login(person_in_role(role))
    url = reverse("locates:centre-days", args=["CA"])
    page = words_of(client.get(url))
    assert "told by the centre on the telephone" in page
    assert "Add a day" not in page
    assert client.post(url, {}).status_code == 403
    assert client.post(reverse("locates:centre-day-retire", args=[one.pk])).status_code == 403


def test_an_unknown_jurisdiction_has_no_page(coordinator):
    assert coordinator.get(reverse("locates:centre-days", args=["QQ"])).status_code == 404


def test_a_change_costs_as_many_queries_with_many_tickets_as_with_one(
    coordinator, django_assert_max_num_queries
):
    job = JobFactory(jurisdiction=seeded_rule("CA"), time_zone=ZONE)
    for number in range(12):
        dated_ticket(f"HB-{number}", job=job)
    one = CentreDay(code="CA", day=FRIDAY, is_working=True, words="told")
    person = person_in_role("Safety manager")
    with django_assert_max_num_queries(8):
        assert add_centre_day(one, by=person) == 12
    with django_assert_max_num_queries(13):
        coordinator.get(reverse(REVIEW))


def test_a_newer_version_of_the_rule_counts_with_the_same_days():
    kept(code="VA", day=date(2026, 11, 25), is_working=False)
    clock = clock_json(notice=days(2, "working days"), life=life(10, "calendar days", "call"), renewal=SURE)
    rule = JurisdictionRule.objects.create(code="VA", version=2, checked_on="2026-11-20", clock=clock)
    job = JobFactory()
    assert rule_in_use(job) == rule
    assert [one.day for one in days_in_use(job)] == [date(2026, 11, 25)]
