"""The dates of a ticket's form: worked out and shown before anything is saved, typed over with a reason.

The rule of Virginia as shipped gives a legal start and, being unsure of the rest, nothing else: called Monday
November 2 at 8 am, 48 hours on working days from Wednesday 7 am end on Friday at 7 am.
"""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from locates.local_time import write_local
from locates.models import JurisdictionRule, Ticket
from tests.factories import FacilityOperatorFactory, JobFactory, TicketFactory, person_in_role, seeded_rule
from tests.page_forms import controls_of, form_of

pytestmark = pytest.mark.django_db

CORNERS = "38.0001, -78.5001\n38.0001, -78.4980\n37.9999, -78.4980\n37.9999, -78.5001"
FRIDAY = datetime(2026, 11, 6, 12, 0, tzinfo=UTC)
LOOK_OVER = "The dates are worked out now"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


@pytest.fixture
def job():
    return JobFactory()


def words_of(response):
    return " ".join(response.content.decode().split())


def filled(client, job, **values):
    return form_of(client, reverse("locates:ticket-add", args=[job.pk])) | {
        "number": "T1",
        "ticket_kind": "routine",
        "called_at": "2026-11-02T08:00",
        "area": CORNERS,
        **values,
    }


def worked_out(client, job, typed):
    return client.post(reverse("locates:ticket-dates", args=[job.pk]), typed)


def saved(client, job, typed):
    return client.post(reverse("locates:ticket-add", args=[job.pk]), typed)


def logged(client, job, **values):
    """A ticket whose dates were worked out, looked at and saved."""
    page = worked_out(client, job, filled(client, job, **values))
    assert saved(client, job, controls_of(page)).status_code == 302
    return job.tickets.get()


def test_the_dates_are_shown_with_their_working_before_anything_is_saved(coordinator, job):
    page = words_of(worked_out(coordinator, job, filled(coordinator, job, called_by="R. Pell")))
    assert "<b>Fri Nov 6, 2026, 7:00 am EST</b> is taken if this is empty. Called Mon Nov 2, 2026" in page
    assert "ask the one-call centre and enter the date" in page
    assert 'value="R. Pell"' in page
    assert not Ticket.objects.exists()


def test_an_empty_date_takes_the_one_worked_out_and_stays_unknown_where_there_is_none(coordinator, job):
    ticket = logged(coordinator, job)
    assert ticket.legal_start_at == FRIDAY
    assert (ticket.expires_at, ticket.renew_by) == (None, None)
    assert ticket.dates_rule == seeded_rule()
    assert ticket.computed_dates["legal_start_at"]["at"] == FRIDAY.isoformat()
    assert "48 hours on working days" in ticket.computed_dates["legal_start_at"]["working"]
    assert ticket.computed_dates["expires_at"]["at"] is None


def test_no_date_is_taken_that_nobody_was_shown(coordinator, job):
    page = saved(coordinator, job, filled(coordinator, job))
    assert LOOK_OVER in words_of(page)
    assert "Fri Nov 6, 2026, 7:00 am EST" in words_of(page)
    assert not Ticket.objects.exists()
    later = controls_of(page) | {"called_at": "2026-11-03T08:00"}
    assert LOOK_OVER in words_of(saved(coordinator, job, later))
    assert saved(coordinator, job, controls_of(page)).status_code == 302


def test_another_date_than_was_worked_out_asks_for_a_reason_beside_it(coordinator, job):
    shown = controls_of(worked_out(coordinator, job, filled(coordinator, job)))
    typed = shown | {"legal_start_at": "2026-11-09T07:00"}
    page = words_of(saved(coordinator, job, typed))
    assert "Say why: Legal start differs from what was worked out." in page
    assert not Ticket.objects.exists()
    assert saved(coordinator, job, typed | {"override_reason": "Moved by phone."}).status_code == 302
    ticket = job.tickets.get()
    assert ticket.legal_start_at == FRIDAY + timedelta(days=3)
    assert ticket.computed_dates["legal_start_at"]["at"] == FRIDAY.isoformat()


def test_a_date_that_the_rule_does_not_give_is_typed_without_a_reason(coordinator, job):
    ticket = logged(coordinator, job, expires_at="2026-11-24T07:00", legal_start_at="2026-11-06T07:00")
    assert ticket.expires_at == datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
    assert ticket.override_reason == ""


def test_without_a_moment_of_the_call_nothing_is_worked_out_and_nothing_typed_is_lost(coordinator, job):
    for called_at, words in (("", "This field is required"), ("2026-03-08T02:30", "the clocks go forward")):
        page = words_of(worked_out(coordinator, job, filled(coordinator, job, called_at=called_at)))
        assert words in page
        assert 'value="T1"' in page
        assert "is taken if this is empty" not in page


@pytest.mark.parametrize("send", [worked_out, saved])
def test_a_call_that_is_still_to_come_dates_nothing_and_nothing_typed_is_lost(coordinator, job, send):
    soon = timezone.now() + timedelta(minutes=8)
    for called_at in ("2099-03-02T08:00", write_local(soon, job.time_zone)):
        page = send(coordinator, job, filled(coordinator, job, called_at=called_at))
        assert "That time is still to come. Accepted is the time at which the ticket was" in words_of(page)
        assert "is taken if this is empty" not in words_of(page)
        assert controls_of(page)["called_at"] == called_at
        assert controls_of(page)["number"] == "T1"
    assert not Ticket.objects.exists()


def test_a_clock_that_goes_some_minutes_ahead_is_let_pass(coordinator, job):
    ahead = timezone.now() + timedelta(minutes=3)
    ticket = logged(coordinator, job, called_at=write_local(ahead, job.time_zone))
    assert ticket.called_at == ahead.replace(second=0, microsecond=0)


def test_a_rule_whose_clock_was_not_read_gives_no_date_and_asks_for_each(coordinator):
    job = JobFactory(jurisdiction=JurisdictionRule.objects.create(code="ZZ", checked_on="2026-11-01"))
    ticket = logged(coordinator, job)
    assert ticket.legal_start_at is None
    assert "was not read for version 1" in ticket.computed_dates["legal_start_at"]["working"]


def test_a_clock_that_cannot_be_used_gives_no_date_and_loses_nothing(coordinator):
    rule = JurisdictionRule.objects.create(code="ZZ", checked_on="2026-11-01", clock={"notice": 2})
    job = JobFactory(jurisdiction=rule)
    page = words_of(worked_out(coordinator, job, filled(coordinator, job)))
    assert "the clock of ZZ version 1 cannot be used" in page
    assert 'value="T1"' in page


def test_the_newest_version_of_the_rule_is_the_one_that_counts(coordinator, job):
    old = seeded_rule()
    newer = JurisdictionRule.objects.create(code="VA", version=2, checked_on="2026-11-20", clock=old.clock)
    assert logged(coordinator, job).dates_rule == newer


def edited(client, ticket, **values):
    url = reverse("locates:ticket-edit", args=[ticket.pk])
    return client.post(url, form_of(client, url) | values)


def test_a_change_of_something_else_keeps_the_dates_and_their_working(coordinator, job):
    ticket = logged(coordinator, job)
    JurisdictionRule.objects.create(code="VA", version=2, checked_on="2026-11-20", clock={})
    assert edited(coordinator, ticket, called_by="R. Pell").status_code == 302
    again = Ticket.objects.get()
    assert again.called_by == "R. Pell"
    for name in ("computed_dates", "dates_rule", "legal_start_at"):
        assert getattr(again, name) == getattr(ticket, name)


def test_a_call_written_wrong_is_mended_and_its_dates_follow_under_the_rule_of_that_day(coordinator, job):
    ticket = logged(coordinator, job)
    JurisdictionRule.objects.create(code="VA", version=2, checked_on="2026-11-20", clock={})
    page = edited(coordinator, ticket, called_at="2026-11-03T08:00")
    assert LOOK_OVER in words_of(page)
    url = reverse("locates:ticket-edit", args=[ticket.pk])
    assert coordinator.post(url, controls_of(page)).status_code == 302
    again = Ticket.objects.get()
    assert again.dates_rule == seeded_rule()
    assert again.legal_start_at > ticket.legal_start_at
    assert again.computed_dates["legal_start_at"]["at"] == again.legal_start_at.isoformat()


def test_a_ticket_with_dates_of_the_centre_keeps_them_until_somebody_asks(coordinator):
    ticket = TicketFactory()
    assert edited(coordinator, ticket, called_by="R. Pell").status_code == 302
    assert Ticket.objects.get().computed_dates == {}
    url = reverse("locates:ticket-edit", args=[ticket.pk])
    page = worked_out(coordinator, ticket.job, form_of(coordinator, url))
    refused = coordinator.post(url, controls_of(page))
    assert "Say why: Legal start differs" in words_of(refused)
    with_reason = controls_of(refused) | {"override_reason": "As the centre gave it."}
    assert coordinator.post(url, with_reason).status_code == 302
    again = Ticket.objects.get()
    assert again.dates_rule == seeded_rule()
    assert again.legal_start_at == ticket.legal_start_at


def test_whom_the_centre_told_is_awaited_from_the_first_moment(coordinator, job):
    told, other = FacilityOperatorFactory(job=job), FacilityOperatorFactory(job=job)
    also = FacilityOperatorFactory(job=job)
    typed = controls_of(worked_out(coordinator, job, filled(coordinator, job)))
    assert "operators" not in typed
    response = saved(coordinator, job, typed | {"operators": [str(told.pk), str(also.pk)]})
    assert response.status_code == 302
    answers = job.tickets.get().responses.all()
    assert {(one.operator, one.response, one.responded_at) for one in answers} == {
        (told, "awaiting", None),
        (also, "awaiting", None),
    }
    assert [one.sequence for one in answers] == [0, 1]
    assert other not in [one.operator for one in answers]


def test_the_operators_chosen_stay_chosen_while_dates_are_worked_out(coordinator, job):
    first, second = FacilityOperatorFactory(job=job), FacilityOperatorFactory(job=job)
    typed = filled(coordinator, job, operators=[str(first.pk), str(second.pk)])
    page = worked_out(coordinator, job, typed).content.decode()
    assert page.count("checked") == 2


def test_an_operator_of_another_job_is_refused(coordinator, job):
    typed = filled(coordinator, job, operators=[str(FacilityOperatorFactory().pk)])
    assert "is not one of the available choices" in words_of(saved(coordinator, job, typed))
    assert not Ticket.objects.exists()


def test_depth_and_method_are_read_as_people_write_them(coordinator, job):
    ticket = logged(coordinator, job, stated_depth_m="6 ft", stated_method="horizontal directional drilling")
    assert ticket.stated_depth_m == pytest.approx(1.8288)
    assert ticket.stated_method == "horizontal directional drilling"


@pytest.mark.parametrize("role", ["Foreman", "Safety manager"])
def test_whoever_may_not_call_in_tickets_works_no_dates_out(client, job, role):
    client.force_login(person_in_role(role))
    assert client.post(reverse("locates:ticket-dates", args=[job.pk])).status_code == 403
