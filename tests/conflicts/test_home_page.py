"""The first page: what needs a person with the place to act, then the jobs, in a fixed number of queries."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts import home_sheet
from conflicts.assess import store_assessment
from conflicts.models import Bore
from locates.models import Response, SurfaceFeature, TestHole, Ticket
from tests.factories import (
    BoreFactory,
    JobFactory,
    JurisdictionRuleFactory,
    MarkFactory,
    PersonFactory,
    ResponseFactory,
    TicketFactory,
    person_in_role,
    small_job,
)

pytestmark = pytest.mark.django_db

HOME = "/"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator"))
    return client


def text_of(response) -> str:
    return " ".join(response.content.decode().split())


def home_text(client, **query) -> str:
    response = client.get(HOME, query)
    assert response.status_code == 200
    return text_of(response)


def job_of_these_days(**values):
    """The small job with its dates about now: a bore that starts in two days under a ticket in force."""
    now = timezone.now()
    job = small_job(**values)
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now + timedelta(days=2), planned_finish_at=now + timedelta(days=3))
    store_assessment(job.bores.get().pk)
    return job


def test_the_page_asks_for_a_login_and_a_role_and_only_reads(client):
    assert client.get(HOME).url == f"{reverse('login')}?next=/"
    client.force_login(PersonFactory())
    assert client.get(HOME).status_code == 403
    client.force_login(person_in_role("Foreman"))
    assert client.post(HOME).status_code == 405
    assert "no-store" in client.get(HOME).headers["Cache-Control"]


def test_what_needs_a_person_stands_before_the_jobs(coordinator):
    job = job_of_these_days()
    TestHole.objects.all().delete()
    store_assessment(job.bores.get().pk)
    page = home_text(coordinator)
    assert page.index('id="needs"') < page.index(job.bores.get().name) < page.index('id="jobs"')
    assert "Starts in 2 days, " in page


def test_an_unexposed_crossing_leads_to_its_page(coordinator):
    job = job_of_these_days()
    TestHole.objects.all().delete()
    store_assessment(job.bores.get().pk)
    address = reverse("conflicts:crossing", args=[job.bores.get().pk, 0])
    assert f'<a href="{address}">{job.marks.get().ref} at 1+64.0 ft</a>' in home_text(coordinator)


def test_a_missing_answer_leads_to_the_form_for_who_may_fill_it_in(coordinator, client):
    job = job_of_these_days()
    Response.objects.update(response="awaiting")
    store_assessment(job.bores.get().pk)
    form = reverse("locates:response-add", args=[job.tickets.get().pk])
    assert f'href="{form}">Record the answer' in home_text(coordinator)
    reader = person_in_role("Safety manager")
    assert not reader.has_perm("locates.add_response")
    client.force_login(reader)
    page = home_text(client)
    assert form not in page
    assert f'href="{reverse("conflicts:job", args=[job.pk])}#tickets">To the tickets' in page


def test_an_answer_whose_time_is_still_to_come_is_told_of_a_ticket_with_no_other_matter(coordinator):
    now = timezone.now()
    job = small_job()
    job.bores.update(planned_start_at=now + timedelta(days=30), planned_finish_at=now + timedelta(days=31))
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    Response.objects.update(responded_at=now - timedelta(days=6))
    assert "later than now" not in home_text(coordinator)
    Response.objects.update(responded_at=now + timedelta(hours=2))
    assert f"on ticket {job.tickets.get().number}: marked, but answered" in home_text(coordinator)


def test_a_surface_feature_without_its_mark_leads_to_the_surface_features(coordinator):
    job = job_of_these_days()
    SurfaceFeature.objects.update(explained_by_mark=None)
    store_assessment(job.bores.get().pk)
    assert f'href="{reverse("conflicts:job", args=[job.pk])}#surface-features"' in home_text(coordinator)


def test_a_ticket_of_a_job_without_a_bore_is_followed_too(coordinator):
    now = timezone.now()
    ticket = TicketFactory(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=2),
    )
    ResponseFactory(ticket=ticket)
    page = home_text(coordinator)
    assert f"<h3>Ticket {ticket.number}</h3>" in page
    assert "Expires in 2 days, " in page
    assert "Renew it if the work goes on." in page


def test_a_ticket_that_has_run_out_and_a_job_that_is_past_need_nobody(coordinator):
    job = job_of_these_days()
    now = timezone.now()
    job.tickets.update(expires_at=now - timedelta(days=4))
    job.bores.update(planned_start_at=now - timedelta(days=9), planned_finish_at=now - timedelta(days=8))
    page = home_text(coordinator)
    assert "Nothing here needs a person now" in page
    assert "Past: 1 job<" in page
    assert job.name in page.split("Past: 1 job<")[1]


def test_a_bore_of_which_nothing_holds_is_counted_and_not_listed(coordinator):
    job_of_these_days()
    page = home_text(coordinator)
    assert "1 bore to start within two weeks or under way, 1 of them with nothing that holds" in page
    assert "with nothing that holds but the walk of its day" in page
    assert "Nothing here needs a person now" in page


def test_a_bore_that_is_late_still_stands_in_the_list(coordinator):
    job = job_of_these_days()
    now = timezone.now()
    job.bores.update(planned_start_at=now - timedelta(days=2), planned_finish_at=now - timedelta(days=1))
    assert "Was to be finished " in home_text(coordinator)


def test_a_bore_without_dates_is_never_past_and_asks_for_them(coordinator):
    bore = BoreFactory(planned_start_at=None, planned_finish_at=None)
    page = home_text(coordinator)
    assert f'href="{reverse("conflicts:bore-edit", args=[bore.pk])}">Enter the dates' in page
    assert "No start is planned: enter it" in page
    assert "Past:" not in page


def test_a_bore_being_recalculated_is_said_to_be_missing_from_the_list(coordinator):
    job = job_of_these_days()
    MarkFactory(job=job)
    page = home_text(coordinator)
    assert "Being recalculated, so not in this list yet:" in page
    assert ", 1 of them with nothing that holds" not in page


def test_a_bore_that_cannot_be_computed_says_why(coordinator):
    rule = JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False)
    small = small_job(jurisdiction=rule)
    now = timezone.now()
    small.bores.update(planned_start_at=now + timedelta(days=1), planned_finish_at=now + timedelta(days=2))
    page = home_text(coordinator)
    assert "Cannot be computed" in page
    assert "has no tolerance zone" in page


def test_a_retired_bore_needs_nobody(coordinator):
    job = job_of_these_days()
    TestHole.objects.all().delete()
    store_assessment(job.bores.get().pk)
    assert "unexposed</span>" in home_text(coordinator)
    job.bores.update(retired_at=timezone.now())
    assert "unexposed</span>" not in home_text(coordinator)


def test_needs_beyond_the_first_twelve_are_counted_and_can_be_shown(coordinator):
    now = timezone.now()
    for number in range(9):
        TicketFactory(
            number=f"LONG-{number}",
            called_at=now - timedelta(days=9),
            legal_start_at=now - timedelta(days=5),
            expires_at=now + timedelta(days=2, hours=number),
        )
    page = home_text(coordinator)
    # Each ticket runs out and names no operator.
    assert "and 6 more: " in page
    assert "LONG-6" not in page.split('id="jobs"')[0]
    everything = home_text(coordinator, needs="all")
    assert "LONG-8" in everything
    assert "more: " not in everything


def test_what_is_not_looked_at_is_counted(coordinator, monkeypatch):
    monkeypatch.setattr(home_sheet, "MOST_BORES", 1)
    job_of_these_days()
    job_of_these_days()
    assert "Not looked at here, for they come later: 1 bore to start within two weeks." in home_text(
        coordinator
    )


def test_jobs_stand_by_their_next_start_and_the_rest_is_a_page_away(coordinator):
    now = timezone.now()
    for number in range(7):
        BoreFactory(
            job=JobFactory(name=f"Lane {number}"),
            planned_start_at=now + timedelta(days=40 - number),
            planned_finish_at=now + timedelta(days=60),
        )
    jobs = home_text(coordinator).split('id="jobs"')[1]
    assert [number for number in range(7) if f">Lane {number}</a>" in jobs] == [2, 3, 4, 5, 6]
    assert jobs.index("Lane 6") < jobs.index("Lane 2")
    assert f'href="{reverse("conflicts:jobs")}">All 7 jobs with work to come' in jobs


def test_with_no_job_a_coordinator_is_shown_how_to_begin(coordinator, client):
    page = home_text(coordinator)
    assert f'href="{reverse("locates:job-add")}">Create a job' in page
    assert "manage.py load_job FILE" in page
    client.force_login(person_in_role("Safety manager"))
    page = home_text(client)
    assert "Create a job" not in page
    assert "A coordinator creates a job" in page


def test_the_page_costs_as_many_queries_with_many_jobs_as_with_one(
    coordinator, django_assert_max_num_queries
):
    def queries() -> int:
        coordinator.get(HOME)
        with django_assert_max_num_queries(48) as captured:
            assert "What needs a person" in text_of(coordinator.get(HOME))
        return len(captured)

    def add() -> None:
        job = job_of_these_days()
        ticket = TicketFactory(job=job, legal_start_at=None, expires_at=None)
        ResponseFactory(ticket=ticket, response="awaiting")

    add()
    one = queries()
    for _ in range(3):
        add()
    assert Bore.objects.count() == 4
    assert Ticket.objects.count() == 8
    assert queries() == one
