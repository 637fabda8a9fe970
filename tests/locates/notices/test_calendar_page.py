"""The calendar's page: a month, a list of days, a job, and what cannot be read."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.db import connection
from django.urls import reverse

from locates.calendar_entries import DateKind
from locates.desk.calendar_address import make_address
from locates.models import CalendarFeed, Ticket
from locates.models.calendar_feed import token_hash
from locates.views import calendar as calendar_view
from tests.factories import PersonFactory, TicketFactory, stand_aside

pytestmark = pytest.mark.django_db

CALENDAR, ADDRESS = reverse("locates:calendar"), reverse("locates:calendar-address")


@pytest.fixture
def page(client, ann):
    """What gives the words of a page as Ann sees it."""
    client.force_login(ann)

    def words(address: str) -> str:
        answer = client.get(address)
        assert answer.status_code == 200
        return " ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())

    return words


@pytest.fixture
def ticket(db):
    """A ticket with all five dates in November and December."""
    return TicketFactory(
        number="T-5",
        job__name="Alder Street",
        called_at=datetime(2026, 11, 2, 13, tzinfo=UTC),
        response_due_at=datetime(2026, 11, 5, 4, 59, tzinfo=UTC),
        legal_start_at=datetime(2026, 11, 5, 12, tzinfo=UTC),
        latest_start_at=datetime(2026, 11, 19, 12, tzinfo=UTC),
        renew_by=datetime(2026, 11, 24, 12, tzinfo=UTC),
        expires_at=datetime(2026, 12, 1, 4, 59, tzinfo=UTC),
    )


def test_the_pages_ask_for_a_login_and_a_role(client):
    for address in (CALENDAR, ADDRESS):
        assert client.get(address).url == f"{reverse('login')}?next={address}"
    client.force_login(PersonFactory())
    for address in (CALENDAR, ADDRESS):
        assert client.get(address).status_code == 403


def test_a_month_shows_each_date_on_its_day_where_the_job_is(page, ticket):
    shown = page(f"{CALENDAR}?month=2026-11")
    assert "November 2026" in shown
    for words in (
        "Wednesday, November 4 11:59 pm EST Answers due T-5 Alder Street",
        "Thursday, November 5 7:00 am EST Legal start T-5",
        "Thursday, November 19 7:00 am EST Latest start T-5",
        "Tuesday, November 24 7:00 am EST Renew by T-5",
        "Monday, November 30 11:59 pm EST Expires T-5",
    ):
        assert words in shown


def test_a_list_begins_with_a_day_and_goes_on(page, ticket):
    shown = page(f"{CALENDAR}?view=agenda&begin=2026-11-05")
    assert "Answers due" not in shown
    assert "Thursday, November 5 7:00 am EST Legal start T-5" in shown
    assert "Monday, November 30 11:59 pm EST Expires T-5" in shown
    assert "No date of a ticket falls in these days." in page(f"{CALENDAR}?view=agenda&begin=2027-11-05")


def test_a_job_is_chosen_and_kept_in_the_links(client, page, ticket):
    other = TicketFactory(number="T-6", expires_at=ticket.expires_at)
    assert "T-6" in page(f"{CALENDAR}?month=2026-11")
    address = f"{CALENDAR}?month=2026-11&job={ticket.job_id}"
    assert "T-6" not in page(address)
    assert f"job={ticket.job_id}" in client.get(address).content.decode().partition('rel="next"')[2][:80]
    assert other.number in page(f"{CALENDAR}?month=2026-11&job={other.job_id}")


def test_retired_tickets_are_left_out(page, ticket):
    stand_aside(ticket)
    assert "T-5" not in page(f"{CALENDAR}?month=2026-11")


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("month=2026-13", "accepted is a month from 1990 to 2100 such as 2026-11"),
        ("month=November", "accepted is a month"),
        ("month=0001-01", "accepted is a month"),
        ("month=9999-12", "accepted is a month"),
        ("begin=yesterday", "Accepted is a day such as 2026-11-05"),
        ("begin=9999-12-31&view=agenda", "Accepted is a day from 1990 to 2100"),
        ("job=7", "is not a valid UUID"),
        ("job=00000000-0000-0000-0000-000000000007", "Found no such job"),
        ("view=year", "year is not one of the available choices"),
    ],
)
def test_what_cannot_be_read_is_said_and_the_calendar_shown_all_the_same(page, query, words):
    shown = page(f"{CALENDAR}?{query}")
    assert words in shown
    assert "Sun" in shown or "No date of a ticket" in shown


@pytest.mark.parametrize("month", ["1990-01", "2100-12", "2026-02", "2028-02"])
def test_the_first_and_the_last_month_can_be_shown(page, month):
    assert "Error" not in page(f"{CALENDAR}?month={month}")


def test_a_full_day_leads_on_to_the_list(client, page, ticket):
    for _ in range(6):
        TicketFactory(job=ticket.job, expires_at=ticket.expires_at)
    assert "and 3 more" in page(f"{CALENDAR}?month=2026-11")
    assert page(f"{CALENDAR}?view=agenda&begin=2026-11-30").count("Expires") == 7


def test_a_list_that_is_too_long_stops_after_a_whole_day_and_says_where_to_go_on(page, ticket, monkeypatch):
    monkeypatch.setattr(calendar_view, "MOST_SHOWN", 3)
    shown = page(f"{CALENDAR}?view=agenda&begin=2026-11-03")
    assert "Legal start T-5" in shown
    assert "Renew by" not in shown
    assert "go on from November 6" in shown


def test_the_calendar_costs_as_many_queries_with_many_tickets_as_with_one(
    page, ticket, django_assert_max_num_queries
):
    counts = []
    for _ in range(2):
        with django_assert_max_num_queries(16) as captured:
            page(f"{CALENDAR}?month=2026-11")
        counts.append(len(captured))
        TicketFactory.create_batch(8)
    assert counts[0] == counts[1]


def test_an_address_is_shown_once_and_kept_as_a_hash(client, ann, page):
    shown = client.post(ADDRESS, {"followed_only": "no"}).content.decode()
    token = re.search(r'value="http://testserver/calendar/([\w-]{43})/tickets\.ics"', shown)[1]
    feed = CalendarFeed.objects.get()
    assert (feed.person, feed.token_hash) == (ann, token_hash(token))
    assert token not in client.get(ADDRESS).content.decode()
    assert "You have an address in use, for the tickets of every job" in page(ADDRESS)


def test_another_address_ends_the_one_before_and_both_can_be_ended(client, ann, page):
    first = make_address(ann, followed_only=False, at=datetime.now(UTC))
    client.post(ADDRESS, {"followed_only": "yes"})
    assert CalendarFeed.objects.of_token(first) is None
    assert CalendarFeed.objects.in_use().get().followed_only
    client.post(ADDRESS, {"end": "yes"})
    assert not CalendarFeed.objects.in_use().exists()
    assert "You have no address in use." in page(ADDRESS)


def test_what_an_address_is_to_hold_must_be_one_of_the_choices(client, page):
    client.post(ADDRESS, {"followed_only": "everything"})
    assert not CalendarFeed.objects.exists()


def test_the_day_it_is_follows_the_zone_of_the_job(page, ticket):
    today = datetime.now(UTC)
    shown = page(f"{CALENDAR}?job={ticket.job_id}")
    assert any(
        f"{day.day} {day:%A, %B} {day.day} today" in shown
        for day in (today - timedelta(hours=4), today - timedelta(hours=5))
    )


@pytest.mark.parametrize("kind", list(DateKind))
def test_a_span_of_each_date_is_read_by_its_index(ticket, kind):
    """The planner is kept from reading a table of one row whole, as it never would one of a million."""
    within = Ticket.objects.filter(
        **{f"{kind}__gte": ticket.called_at, f"{kind}__lt": ticket.expires_at}
    ).order_by(kind)
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL enable_seqscan = off")
    assert f"ticket_{kind}" in within.explain()
