"""Tickets whose dates rest on an older version of a rule: listed beside the newest, never rewritten."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from locates.desk.settle_dates import work_out
from locates.models import JurisdictionRule, Ticket
from locates.one_call.clock import Call
from tests.factories import JobFactory, TicketFactory, person_in_role, seeded_rule, stand_aside

pytestmark = pytest.mark.django_db

CALLED = datetime(2026, 11, 2, 13, 0, tzinfo=UTC)
STARTS = datetime(2026, 11, 6, 12, 0, tzinfo=UTC)
REVIEW = "locates:tickets-to-review"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def ruled_ticket(**values):
    rule = seeded_rule()
    call = Call(kind="routine", called_at=CALLED, time_zone="America/New_York", start_at=None)
    return TicketFactory(
        **{
            "called_at": CALLED,
            "legal_start_at": STARTS,
            "expires_at": timezone.now() + timedelta(days=9),
            "dates_rule": rule,
            "computed_dates": work_out(rule, call, own_days=()),
            **values,
        }
    )


def newer_rule(version=2, **values):
    """The shipped rule again with a notice of three days of 24 hours in the place of two."""
    clock = seeded_rule().clock
    clock["notice"]["term"]["count"] = 72
    return JurisdictionRule.objects.create(
        **{"code": "VA", "version": version, "checked_on": "2026-11-20", "clock": clock, **values}
    )


def test_a_ticket_is_listed_beside_what_the_new_version_gives_and_nothing_is_rewritten(coordinator):
    ticket = ruled_ticket()
    assert "No ticket waits" in words_of(coordinator.get(reverse(REVIEW)))
    newer_rule()
    page = words_of(coordinator.get(reverse(REVIEW)))
    assert ticket.number in page
    assert "Fri Nov 6, 2026, 7:00 am EST" in page
    assert "Mon Nov 9, 2026, 7:00 am EST" in page
    assert '<b class="is-stop">yes</b>' in page
    again = Ticket.objects.get()
    assert (again.legal_start_at, again.computed_dates) == (ticket.legal_start_at, ticket.computed_dates)
    assert again.version == 1


def test_what_needs_no_review_is_not_listed(coordinator):
    newest = newer_rule()
    now = timezone.now()
    ruled_ticket(number="CURRENT", dates_rule=newest)
    ruled_ticket(number="SEEN", reviewed_rule=newest)
    ruled_ticket(number="EXPIRED", expires_at=now - timedelta(minutes=1))
    ruled_ticket(number="FINISHED", work_finished_at=now)
    TicketFactory(number="UNRULED", expires_at=now + timedelta(days=9))
    stand_aside(ruled_ticket(number="RETIRED"))
    stand_aside(ruled_ticket(number="ORPHAN").job)
    undated = ruled_ticket(number="UNDATED", expires_at=None)
    assert list(Ticket.objects.to_review(now)) == [undated]


def test_a_person_says_that_the_dates_stay_and_a_still_newer_version_asks_again(coordinator):
    ticket, newer = ruled_ticket(), newer_rule()
    url = reverse("locates:ticket-reviewed", args=[ticket.pk])
    assert coordinator.post(url, {"rule": str(newer.pk)}).url == reverse(REVIEW)
    again = Ticket.objects.get()
    assert (again.reviewed_rule, again.edited_by.username) == (newer, "ruth")
    assert (again.legal_start_at, again.dates_rule) == (ticket.legal_start_at, ticket.dates_rule)
    assert "No ticket waits" in words_of(coordinator.get(reverse(REVIEW)))
    twice = coordinator.post(url, {"rule": str(newer.pk)}, follow=True)
    assert "is not to be reviewed any more" in words_of(twice)
    newer_rule(version=3)
    assert ticket.number in words_of(coordinator.get(reverse(REVIEW)))


def test_a_version_that_nobody_was_shown_is_not_reviewed(coordinator):
    ticket, shown = ruled_ticket(), newer_rule()
    newer_rule(version=3)
    url = reverse("locates:ticket-reviewed", args=[ticket.pk])
    page = words_of(coordinator.post(url, {"rule": str(shown.pk)}, follow=True))
    assert "The rule has changed again" in page
    assert Ticket.objects.get().reviewed_rule is None


def test_who_only_reads_sees_the_list_and_marks_nothing(client):
    ticket, newer = ruled_ticket(), newer_rule()
    client.force_login(person_in_role("Foreman"))
    url = reverse("locates:ticket-reviewed", args=[ticket.pk])
    page = words_of(client.get(reverse(REVIEW)))
    assert ticket.number in page
    assert url not in page
    assert client.post(url, {"rule": str(newer.pk)}).status_code == 403


def test_the_list_costs_as_many_queries_with_many_tickets_as_with_one(
    coordinator, django_assert_max_num_queries
):
    newer_rule()

    def queries():
        with django_assert_max_num_queries(20) as captured:
            coordinator.get(reverse(REVIEW))
        return len(captured)

    ruled_ticket()
    queries()
    one = queries()
    for _ in range(4):
        ruled_ticket(job=JobFactory())
    assert queries() == one
