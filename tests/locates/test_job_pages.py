"""The list of jobs and the page of one job: who may read it, and how it shows what is not known."""

import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils.html import escape

from tests.factories import (
    BoreFactory,
    ClearanceRequirementFactory,
    FacilityOperatorFactory,
    JobFactory,
    JurisdictionRuleFactory,
    MarkFactory,
    PersonFactory,
    ResponseFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    TicketFactory,
    person_in_role,
    seeded_rule,
    small_job,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def text_of(response) -> str:
    """The page's words with the markup's line breaks and blanks drawn together."""
    return " ".join(response.content.decode().split())


def job_text(client, job) -> str:
    return text_of(client.get(reverse("conflicts:job", args=[job.id])))


def test_every_page_asks_for_a_login(client):
    job = JobFactory()
    for address in (
        reverse("conflicts:jobs"),
        reverse("conflicts:job", args=[job.id]),
        reverse("locates:rules"),
        reverse("locates:rule", args=[job.jurisdiction_id]),
    ):
        response = client.get(address)
        assert response.status_code == 302
        assert response.url == f"{reverse('login')}?next={address}"


def test_a_person_without_a_role_is_told_so(client):
    client.force_login(PersonFactory())
    for address in (reverse("conflicts:jobs"), reverse("locates:rules")):
        response = client.get(address)
        assert response.status_code == 403
        assert "Your role may not open this page" in response.content.decode()


@pytest.mark.parametrize("role", ["Coordinator", "Foreman", "Safety manager"])
def test_every_role_reads_the_jobs(client, role):
    client.force_login(person_in_role(role))
    assert client.get(reverse("conflicts:jobs")).status_code == 200


def test_pages_only_read(foreman):
    job = JobFactory()
    for address in (
        reverse("conflicts:jobs"),
        reverse("conflicts:job", args=[job.id]),
        reverse("locates:rules"),
    ):
        assert foreman.post(address).status_code == 405


def test_a_job_that_is_not_there_is_a_page_with_a_way_on(foreman):
    response = foreman.get(reverse("conflicts:job", args=["00000000-0000-4000-8000-000000000000"]))
    assert response.status_code == 404
    assert "Nothing at this address" in response.content.decode()


def test_with_no_job_the_list_teaches_how_to_load_one(foreman):
    page = text_of(foreman.get(reverse("conflicts:jobs")))
    assert "No job is loaded yet" in page
    assert "manage.py load_job FILE" in page


def test_the_list_names_jobs_with_their_organisation_jurisdiction_and_bores(foreman):
    job = small_job()
    page = text_of(foreman.get(reverse("conflicts:jobs")))
    for words in (job.name, job.organisation.name, job.jurisdiction.code, job.bores.get().name, "1 bore"):
        assert words in page
    assert "Planned <time" in page


def test_a_long_list_is_paged(foreman):
    for _ in range(11):
        JobFactory()
    first = text_of(foreman.get(reverse("conflicts:jobs")))
    assert "Page 1 of 2" in first
    assert "Next jobs" in first
    second = text_of(foreman.get(reverse("conflicts:jobs"), {"page": 2}))
    assert second.count("<h2 id=") == 1


def test_times_are_in_the_zone_of_the_job_with_its_abbreviation(foreman):
    job = JobFactory(time_zone="America/Los_Angeles")
    TicketFactory(
        job=job,
        called_at=datetime(2026, 7, 1, 16, 5, tzinfo=UTC),
        legal_start_at=datetime(2026, 11, 5, 8, 0, tzinfo=UTC),
    )
    page = job_text(foreman, job)
    assert "Wed Jul 1, 2026, 9:05 am PDT" in page
    assert "Thu Nov 5, 2026, 12:00 am PST" in page


def test_dates_and_answers_that_nobody_knows_are_called_unknown(foreman):
    ticket = TicketFactory(legal_start_at=None, expires_at=None, boring_declared=None, white_lined=None)
    page = job_text(foreman, ticket.job)
    for label in ("Legal start", "Expires", "Boring declared", "White lining"):
        assert f'<dt>{label}</dt><dd><span class="unknown">unknown</span></dd>' in page


def test_a_depth_and_a_size_that_nobody_knows_are_called_unknown_and_never_zero(foreman):
    hole = TestHoleFactory(found=False, depth_to_top_m=None, dug_depth_m=1.524, outside_width_m=None)
    page = job_text(foreman, hole.job)
    assert '<td data-label="Depth to top"><span><span class="unknown">unknown</span></span></td>' in page
    assert '<td data-label="Outside size"><span><span class="unknown">unknown</span></span></td>' in page
    assert '<td data-label="Depth dug"><span>5 ft 0 in</span></td>' in page


def test_a_metric_job_is_shown_in_metres(foreman):
    hole = TestHoleFactory(job=JobFactory(show_units="metric"), depth_to_top_m=0.9144)
    page = job_text(foreman, hole.job)
    assert '<td data-label="Depth to top"><span>0.914 m</span></td>' in page
    assert " ft " not in page


def test_an_error_is_never_rounded_down(foreman):
    job = small_job(bore_horizontal_m=0.30, bore_vertical_m=0.15, test_hole_m=0.03)
    shown = re.sub("<[^>]*>", "", job_text(foreman, job))
    # 11.81 in, 5.91 in and 1.18 in: the worst case is worked out with all of it.
    for words in ("Planned bore, horizontal11 7/8 in", "Planned bore, vertical6 in", "Test hole1 1/4 in"):
        assert words in shown


def test_records_stand_in_the_order_of_their_numbers(foreman):
    job = JobFactory()
    for ref in ("TH-10", "TH-9", "TH-2b", "TH-2"):
        TestHoleFactory(job=job, ref=ref)
    page = job_text(foreman, job)
    places = [page.index(f'<th scope="row">{ref}<') for ref in ("TH-2", "TH-2b", "TH-9", "TH-10")]
    assert places == sorted(places)


def test_the_program_s_own_requirement_is_named_only_where_the_job_asks_nothing_of_every_line(foreman):
    job = JobFactory(show_units="metric")
    ClearanceRequirementFactory(job=job, facility_type="electric")
    words = "Where none fits: 0.305 m where crossing, 0.610 m where alongside."
    assert words in job_text(foreman, job)
    ClearanceRequirementFactory(job=job)
    assert words not in job_text(foreman, job)


def test_a_facility_type_is_told_by_its_letter_and_its_name(foreman):
    mark = MarkFactory(facility_type="reclaimed_water")
    page = job_text(foreman, mark.job)
    assert '<abbr class="code code-reclaimed_water" title="reclaimed water">R</abbr>' in page
    assert "<small>reclaimed water</small>" in page


def test_responses_keep_their_history_and_the_last_one_stands_out(foreman):
    first = ResponseFactory(response="extension_asked", note="Two more days.")
    ResponseFactory(ticket=first.ticket, operator=first.operator, response="marked")
    page = job_text(foreman, first.ticket.job)
    latest, earlier = page.split("<details>")[0:2]
    assert '<td data-label="Response"><span>marked</span></td>' in latest
    assert "extension asked" not in latest
    assert "1 earlier answer, since replaced<" in earlier
    assert "extension asked<small>earlier answer, since replaced</small>" in earlier


def test_the_header_says_where_the_tolerance_zone_comes_from(foreman):
    own = job_text(foreman, JobFactory(tolerance_zone_m=0.9144))
    assert "3 ft 0 in <small>set for this job, from the outside edge of the line</small>" in own
    sure = job_text(foreman, JobFactory(jurisdiction=JurisdictionRuleFactory(code="ZS")))
    assert "by the rule of ZS, from the outside edge of the line</small>" in sure
    unsure = JurisdictionRuleFactory(code="ZU", tolerance_is_sure=False, readings_agree="no")
    assert "not certain, ask the one-call centre" in job_text(foreman, JobFactory(jurisdiction=unsure))
    none = JurisdictionRuleFactory(code="ZN", tolerance_is_sure=False, tolerance_zone_m=None)
    page = job_text(foreman, JobFactory(jurisdiction=none))
    assert '<span class="unknown">unknown</span> <small>neither the job nor the rule of ZN gives one' in page


def test_the_header_cites_the_rule_and_says_how_sure_it_is(foreman):
    rule = seeded_rule("VA")
    page = job_text(foreman, JobFactory(jurisdiction=rule))
    assert escape(rule.citation) in page
    assert escape(rule.certainty) in page


def test_an_operator_is_listed_with_an_emergency_number_that_a_phone_can_dial(foreman):
    operator = FacilityOperatorFactory(emergency_phone="+1 555 0100")
    page = job_text(foreman, operator.job)
    assert 'href="tel:+1%20555%200100"' in page


def test_an_emergency_number_that_nobody_knows_is_called_unknown(foreman):
    operator = FacilityOperatorFactory(emergency_phone="")
    page = job_text(foreman, operator.job)
    assert '<td data-label="Emergency number"><span><span class="unknown">unknown</span></span></td>' in page


def test_the_general_notes_stand_on_every_page(foreman):
    for page in (text_of(foreman.get(reverse("conflicts:jobs"))), job_text(foreman, JobFactory())):
        assert "Call before you dig" in page
        assert "does not replace potholing" in page
        assert "emergency number and the emergency services" in page


def test_names_are_escaped(foreman):
    job = JobFactory(name='<script>alert("1")</script>')
    page = job_text(foreman, job)
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def fill(job, times: int) -> None:
    for _ in range(times):
        operator = FacilityOperatorFactory(job=job)
        ClearanceRequirementFactory(job=job, operator=operator)
        ticket = TicketFactory(job=job)
        ResponseFactory(ticket=ticket, operator=operator)
        mark = MarkFactory(job=job, operator=operator, ticket=ticket)
        TestHoleFactory(job=job, mark=mark, ticket=ticket)
        SurfaceFeatureFactory(job=job, explained_by_mark=mark)
        BoreFactory(job=job)


def queries_of(client, address, django_assert_max_num_queries) -> int:
    client.get(address)
    with django_assert_max_num_queries(66) as captured:
        client.get(address)
    return len(captured)


def test_the_page_of_a_job_costs_as_many_queries_with_many_records_as_with_few(
    foreman, django_assert_max_num_queries
):
    few, many = JobFactory(), JobFactory()
    fill(few, 1)
    fill(many, 5)
    first, second = (
        queries_of(foreman, reverse("conflicts:job", args=[job.id]), django_assert_max_num_queries)
        for job in (few, many)
    )
    assert first == second


def test_the_list_costs_as_many_queries_with_many_jobs_as_with_few(foreman, django_assert_max_num_queries):
    address = reverse("conflicts:jobs")
    fill(JobFactory(), 1)
    few = queries_of(foreman, address, django_assert_max_num_queries)
    for _ in range(4):
        fill(JobFactory(), 2)
    assert queries_of(foreman, address, django_assert_max_num_queries) == few


def test_the_rules_list_opens_each_rule_in_full(foreman):
    rule = seeded_rule("VA")
    listed = text_of(foreman.get(reverse("locates:rules")))
    assert reverse("locates:rule", args=[rule.id]) in listed
    full = text_of(foreman.get(reverse("locates:rule", args=[rule.id])))
    assert escape(rule.citation) in full
    assert "not legal advice" in full.lower()


def test_what_a_rule_does_not_say_is_called_unknown(foreman):
    rule = JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False, notice_value="")
    page = text_of(foreman.get(reverse("locates:rule", args=[rule.id])))
    assert '<dt>Notice</dt><dd><span class="unknown">unknown</span>' in page
    assert '<dt>Tolerance zone</dt><dd><span><span class="unknown">unknown</span></span>' in page
