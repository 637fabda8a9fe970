"""The private iCalendar address, parsed back by the library and held against RFC 5545, section by section."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from locates.desk.calendar_address import end_address, make_address
from locates.desk.reckon_tickets import reckon_job
from locates.desk.retire import retire
from locates.exchange import icalendar_feed
from locates.models import CalendarFeed, Ticket
from locates.views import calendar as calendar_view
from tests.factories import FollowFactory, JobFollowFactory, TicketFactory, person_in_role

pytestmark = pytest.mark.django_db

NOW = timezone.now().replace(microsecond=0)
HOUR = timedelta(hours=1)


def address_of(person, *, followed_only: bool = False) -> str:
    token = make_address(person, followed_only=followed_only, at=NOW)
    return reverse("locates:calendar-feed", args=[token])


@pytest.fixture
def address(ann):
    return address_of(ann)


@pytest.fixture
def ticket(db):
    made = TicketFactory(
        number="T-5",
        job__name="Alder Street, north; side",
        called_at=NOW - 100 * HOUR,
        response_due_at=NOW - 50 * HOUR,
        legal_start_at=NOW - 49 * HOUR,
        latest_start_at=NOW + 100 * HOUR,
        renew_by=NOW + 200 * HOUR,
        expires_at=NOW + 300 * HOUR,
    )
    reckon_job(made.job_id)
    return made


def read(client, address: str):
    """Bytes, and the calendar that the library reads from them."""
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content, Calendar.from_ical(answer.content)


def events(calendar) -> dict[str, object]:
    return {str(event["SUMMARY"]).partition(":")[0]: event for event in calendar.walk("VEVENT")}


def test_the_dates_come_back_as_they_are_stored(client, address, ticket):
    _, calendar = read(client, address)
    found = events(calendar)
    assert {title: event["DTSTART"].dt for title, event in found.items()} == {
        "Answers due": ticket.response_due_at,
        "Legal start": ticket.legal_start_at,
        "Latest start": ticket.latest_start_at,
        "Renew by": ticket.renew_by,
        "Expires": ticket.expires_at,
    }
    assert str(found["Expires"]["SUMMARY"]) == "Expires: ticket T-5 (Alder Street, north; side)"
    assert "look at the ticket before relying on it" in str(found["Expires"]["DESCRIPTION"])


def test_the_file_keeps_the_rules_of_lines_and_of_the_calendar(client, address, ticket):
    Ticket.objects.filter(pk=ticket.pk).update(number="T-\N{GREEK SMALL LETTER OMEGA}" + "long " * 30)
    content, calendar = read(client, address)
    lines = content.split(b"\r\n")
    # 3.1: lines end with CRLF, are folded at 75 octets, and no fold splits a character.
    assert lines[-1] == b""
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf-8")
    # 3.4, 3.6: one calendar with at least one component; 3.7.3 and 3.7.4: PRODID and VERSION once each.
    unfolded = content.replace(b"\r\n ", b"").decode().split("\r\n")
    assert (unfolded[0], unfolded[-2]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert unfolded.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in unfolded) == 1
    for event in calendar.walk("VEVENT"):
        # 3.6.1: UID and DTSTAMP are required, DTSTART where there is no METHOD; each of these at most once.
        for name in ("UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE", "STATUS", "CLASS", "TRANSP"):
            assert name in event
            assert not isinstance(event[name], list)
    # 3.3.5, form 2: a time in UTC ends with Z and carries no TZID, so that no VTIMEZONE (3.6.5) is needed.
    starts = [line for line in unfolded if line.startswith(("DTSTART", "DTSTAMP"))]
    assert len(starts) == 10
    assert all(re.fullmatch(r"DT(START|STAMP):\d{8}T\d{6}Z", line) for line in starts)
    # 3.3.11: commas and semicolons of text are escaped.
    assert r"Alder Street\, north\; side" in "".join(unfolded)


def test_text_that_would_end_a_line_or_begin_a_component_stays_text(client, address, ticket):
    hostile = "T\r\nEND:VEVENT\r\nBEGIN:VEVENT\nSUMMARY:no\x00\x07\\"
    Ticket.objects.filter(pk=ticket.pk).update(number=hostile.replace("\x00", ""))
    content, calendar = read(client, address)
    assert content.split(b"\r\n").count(b"BEGIN:VEVENT") == len(calendar.walk("VEVENT")) == 5
    assert b"\x07" not in content
    assert str(events(calendar)["Expires"]["SUMMARY"]).startswith("Expires: ticket T END:VEVENT BEGIN:VEVENT")


def test_an_entry_keeps_its_uid_and_its_sequence_grows_when_the_ticket_is_changed(client, address, ticket):
    before = events(read(client, address)[1])
    ticket.expires_at += HOUR
    ticket.number = "T-5B"
    ticket.save()
    after = events(read(client, address)[1])
    # 3.8.4.7: one UID for an entry for good, and no two alike. 3.8.7.4: SEQUENCE from 0, growing.
    assert {title: event["UID"] for title, event in before.items()} == {
        title: event["UID"] for title, event in after.items()
    }
    assert len({event["UID"] for event in after.values()}) == 5
    assert [int(before["Expires"]["SEQUENCE"]), int(after["Expires"]["SEQUENCE"])] == [0, 1]
    # 3.8.7.2: without a METHOD, DTSTAMP is when the entry was last revised.
    assert after["Expires"]["DTSTAMP"].dt == ticket.edited_at.replace(microsecond=0)


def test_the_same_records_give_the_same_bytes(client, address, ticket):
    assert read(client, address)[0] == read(client, address)[0]


def test_a_retired_ticket_is_cancelled_and_a_date_taken_away_drops_out(client, ann, address, ticket):
    Ticket.objects.filter(pk=ticket.pk).update(renew_by=None)
    assert "Renew by" not in events(read(client, address)[1])
    ticket.refresh_from_db()
    retire(ticket, by=ann)
    found = events(read(client, address)[1])
    # 3.8.1.11: what is called off has the status CANCELLED, under a higher SEQUENCE (3.8.7.4).
    assert {str(event["STATUS"]) for event in found.values()} == {"CANCELLED"}
    assert int(found["Expires"]["SEQUENCE"]) == 1
    assert not found["Expires"].walk("VALARM")


def test_what_runs_out_rings_a_day_before(client, address, ticket):
    found = events(read(client, address)[1])
    assert {title for title, event in found.items() if event.walk("VALARM")} == {"Renew by", "Expires"}
    [alarm] = found["Expires"].walk("VALARM")
    # 3.6.6: an alarm that displays has ACTION, DESCRIPTION and TRIGGER.
    assert (str(alarm["ACTION"]), alarm["TRIGGER"].dt) == ("DISPLAY", -timedelta(days=1))
    assert "T-5" in str(alarm["DESCRIPTION"])


def test_a_finished_ticket_says_so_and_rings_no_more(client, address, ticket):
    ticket.work_finished_at = NOW - HOUR
    ticket.save()
    reckon_job(ticket.job_id)
    found = events(read(client, address)[1])
    assert "(work finished)" in str(found["Expires"]["DESCRIPTION"])
    assert not found["Expires"].walk("VALARM")


def test_an_address_for_what_is_followed_holds_nothing_else(client, ann, ticket):
    address = address_of(ann, followed_only=True)
    by_job = TicketFactory(number="T-6", called_at=NOW - HOUR, legal_start_at=None, expires_at=NOW + HOUR)
    TicketFactory(number="T-7", called_at=NOW - HOUR, legal_start_at=None, expires_at=NOW + HOUR)
    FollowFactory(person=ann, ticket=ticket)
    FollowFactory(person=ann, ticket=by_job)
    JobFollowFactory(person=ann, job=by_job.job)
    summaries = [str(event["SUMMARY"]) for event in read(client, address)[1].walk("VEVENT")]
    assert sum("T-5" in one for one in summaries) == 5
    assert sum("T-6" in one for one in summaries) == 1
    assert not any("T-7" in one for one in summaries)


def test_an_empty_calendar_can_be_read(client, address):
    content, calendar = read(client, address)
    assert calendar.walk("VEVENT") == []
    assert content.startswith(b"BEGIN:VCALENDAR\r\n")


def test_dates_long_past_or_far_ahead_are_left_out(client, address):
    long_ago = NOW - timedelta(days=40)
    TicketFactory(called_at=long_ago - HOUR, legal_start_at=long_ago, expires_at=NOW + timedelta(days=400))
    assert read(client, address)[1].walk("VEVENT") == []


def test_a_calendar_that_is_cut_says_where_it_ends(client, address, ticket, monkeypatch):
    monkeypatch.setattr(calendar_view, "MOST_IN_FEED", 2)
    found = read(client, address)[1].walk("VEVENT")
    assert len(found) == 3
    assert "left out" in str(found[-1]["SUMMARY"])
    assert found[-1]["DTSTART"].dt == ticket.legal_start_at


def test_the_link_to_the_ticket_is_there_where_the_site_knows_its_address(client, address, ticket, settings):
    settings.SITE_ADDRESS = "https://locates.example"
    link = events(read(client, address)[1])["Expires"]["URL"]
    assert str(link) == f"https://locates.example/tickets/{ticket.pk}/"
    settings.SITE_ADDRESS = ""
    assert "URL" not in events(read(client, address)[1])["Expires"]


def test_no_login_is_asked_and_the_answer_is_private(client, address, ticket):
    answer = client.get(address)
    assert answer["Content-Type"] == icalendar_feed.MEDIA_TYPE
    assert answer["Cache-Control"] == "private, max-age=900"
    assert answer["X-Robots-Tag"] == "noindex"
    assert not answer.cookies


def test_who_asks_again_gets_no_body_while_nothing_has_changed(client, address, ticket):
    etag = client.get(address)["ETag"]
    again = client.get(address, headers={"If-None-Match": etag})
    assert (again.status_code, again.content) == (304, b"")
    assert again["Cache-Control"] == "private, max-age=900"
    ticket.save()
    assert client.get(address, headers={"If-None-Match": etag}).status_code == 200


def test_reading_often_writes_seldom(client, address, ticket):
    client.get(address)
    first = CalendarFeed.objects.get().read_at
    client.get(address)
    assert CalendarFeed.objects.get().read_at == first
    CalendarFeed.objects.update(read_at=first - timedelta(minutes=16))
    client.get(address)
    assert CalendarFeed.objects.get().read_at >= first


def test_an_address_that_is_not_in_use_leads_nowhere(client, ann, address, ticket):
    end_address(ann, at=NOW)
    assert client.get(address).status_code == 404
    assert client.get(reverse("locates:calendar-feed", args=["x" * 43])).status_code == 404
    feed = CalendarFeed.objects.get()
    assert client.get(reverse("locates:calendar-feed", args=[feed.token_hash])).status_code == 404


@pytest.mark.parametrize("change", ["gone", "no role"])
def test_an_address_ends_with_what_its_person_may_see(client, ticket, change):
    foreman = person_in_role("Foreman")
    address = address_of(foreman)
    assert client.get(address).status_code == 200
    if change == "gone":
        type(foreman).objects.filter(pk=foreman.pk).update(is_active=False)
    else:
        foreman.groups.clear()
    assert client.get(address).status_code == 404


def test_only_reading_is_answered(client, address):
    assert client.post(address).status_code == 405


def test_a_calendar_of_many_tickets_costs_as_many_queries_as_one_of_few(
    client, address, ticket, django_assert_max_num_queries
):
    counts = []
    client.get(address)
    for _ in range(2):
        with django_assert_max_num_queries(12) as captured:
            client.get(address)
        counts.append(len(captured))
        for _ in range(6):
            TicketFactory(called_at=NOW - HOUR, legal_start_at=NOW, expires_at=NOW + HOUR)
    assert counts[0] == counts[1]


def test_times_across_the_change_of_the_clocks_stay_the_moments_that_they_are(ann):
    """1:30 am comes twice in New York on November 1, 2026: the entry's time, in UTC, tells them apart."""
    first = datetime(2026, 11, 1, 5, 30, tzinfo=UTC)
    made = []
    for at in (first, first + HOUR):
        made.append(TicketFactory(called_at=at - 100 * HOUR, legal_start_at=None, expires_at=at))
    span = calendar_view.Span(ann.pk, first - HOUR, first + 2 * HOUR)
    entries, _ = calendar_view.read_entries(span, 10)
    calendar = Calendar.from_ical(icalendar_feed.write_calendar(entries, lambda key: "", is_cut=False))
    found = calendar.walk("VEVENT")
    assert [event["DTSTART"].dt for event in found] == [first, first + HOUR]
    assert "1:30 am EDT" in str(found[0]["DESCRIPTION"])
    assert "1:30 am EST" in str(found[1]["DESCRIPTION"])
