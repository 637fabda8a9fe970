"""What on a ticket cannot all be true, found for many tickets at once."""

import pytest
from django.contrib.gis.geos import MultiPolygon
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from locates.models import Response
from locates.models.answer_conflicts import contradictions_of
from tests.factories import (
    FacilityOperatorFactory,
    JobFactory,
    LineworkFactory,
    MarkFactory,
    OrganisationFactory,
    ResponseFactory,
    TestHoleFactory,
    TicketFactory,
    box,
    line,
    person_in_role,
    point,
    stand_aside,
)

pytestmark = pytest.mark.django_db
AWAY = ((500, -15), (500, 15))


@pytest.fixture
def ticket():
    return TicketFactory(job=JobFactory(name="Alder Street"))


@pytest.fixture
def gas(ticket):
    return FacilityOperatorFactory(job=ticket.job, name="Brindle Gas")


def earlier_job(ticket, name="Fern Lane", **values):
    return JobFactory(name=name, organisation=ticket.job.organisation, **values)


def kinds_on(*tickets):
    return [(one.kind.value, one.operator) for one in contradictions_of([ticket.pk for ticket in tickets])]


def test_no_facilities_over_a_mark_in_the_area_contradicts(ticket, gas):
    ResponseFactory(ticket=ticket, operator=gas, response="no_facilities")
    assert kinds_on(ticket) == []
    MarkFactory(job=ticket.job, operator=gas, geometry=line(*AWAY))
    MarkFactory(job=ticket.job)
    assert kinds_on(ticket) == []
    MarkFactory(job=ticket.job, operator=gas)
    (found,) = contradictions_of([ticket.pk])
    assert found.sentence == (
        'Brindle Gas answered "no facilities", but a mark of it is logged in the work area.'
    )
    assert "Ask the operator whose line it is" in found.action


def test_marked_with_no_mark_in_the_area_contradicts(ticket, gas):
    ResponseFactory(ticket=ticket, operator=gas, response="marked")
    MarkFactory(job=ticket.job, operator=gas, geometry=line(*AWAY))
    assert kinds_on(ticket) == [("bare", "Brindle Gas")]
    MarkFactory(job=ticket.job, operator=gas)
    assert kinds_on(ticket) == []


@pytest.mark.parametrize("said", ["awaiting", "partly_marked", "extension_asked", "standing_by"])
def test_what_is_no_final_answer_contradicts_no_mark(ticket, gas, said):
    ResponseFactory(ticket=ticket, operator=gas, response=said)
    assert kinds_on(ticket) == []
    MarkFactory(job=ticket.job, operator=gas)
    assert kinds_on(ticket) == []


def test_only_the_last_answer_counts_and_a_retired_one_does_not(ticket, gas):
    MarkFactory(job=ticket.job, operator=gas)
    ResponseFactory(ticket=ticket, operator=gas, response="no_facilities")
    last = ResponseFactory(ticket=ticket, operator=gas, response="marked")
    assert kinds_on(ticket) == []
    stand_aside(last)
    assert kinds_on(ticket) == [("denied", "Brindle Gas")]
    assert [one.response for one in Response.objects.that_count()] == ["no_facilities"]


def test_a_retired_mark_is_no_mark(ticket, gas):
    ResponseFactory(ticket=ticket, operator=gas, response="no_facilities")
    stand_aside(MarkFactory(job=ticket.job, operator=gas))
    assert kinds_on(ticket) == []


def test_a_line_of_an_earlier_job_whose_operator_was_not_notified_is_told_with_the_job(ticket):
    earlier = earlier_job(ticket)
    MarkFactory(job=earlier, operator__name="Tallow Power", ref="E-4")
    (found,) = contradictions_of([ticket.pk])
    assert (found.kind, found.earlier.job_id) == ("not_notified", earlier.pk)
    assert found.sentence == (
        "Tallow Power was not notified, but job Fern Lane has a line of it, mark E-4, in the work area."
    )
    assert "Ask the centre why" in found.action


@pytest.mark.parametrize("name", ["Tallow Power", " TALLOW  POWER", "tallowpower"])
@pytest.mark.parametrize("said", ["awaiting", "marked"])
def test_an_operator_that_was_notified_is_known_by_its_name_whatever_blanks_and_capitals(ticket, name, said):
    MarkFactory(job=earlier_job(ticket), operator__name="Tallow Power")
    answer = ResponseFactory(ticket=ticket, operator__name=name, response=said)
    assert ("not_notified", "Tallow Power") not in kinds_on(ticket)
    stand_aside(answer)
    assert kinds_on(ticket) == [("not_notified", "Tallow Power")]


def test_a_found_test_hole_in_the_area_is_a_line_though_its_mark_lies_outside(ticket):
    earlier = earlier_job(ticket)
    mark = MarkFactory(job=earlier, operator__name="Tallow Power", geometry=line(*AWAY))
    missed = TestHoleFactory(
        job=earlier, mark=mark, found=False, depth_to_top_m=None, dug_depth_m=2.0, position=point(50, 0)
    )
    assert kinds_on(ticket) == []
    TestHoleFactory(job=earlier, mark=mark, position=point(50, 0), ref=f"{missed.ref}b")
    assert kinds_on(ticket) == [("not_notified", "Tallow Power")]


def test_what_names_no_operator_tells_of_nobody(ticket):
    earlier = earlier_job(ticket)
    LineworkFactory(job=earlier)
    TestHoleFactory(job=earlier, mark=None)
    assert kinds_on(ticket) == []


def test_lines_of_other_companies_outside_the_area_or_retired_do_not_count(ticket):
    MarkFactory(job=JobFactory(organisation=OrganisationFactory()))
    MarkFactory(job=earlier_job(ticket, "Elm Row"), geometry=line(*AWAY))
    stand_aside(MarkFactory(job=earlier_job(ticket, "Oak Row")))
    gone = earlier_job(ticket, "Ash Row")
    MarkFactory(job=gone)
    stand_aside(gone)
    MarkFactory(job=ticket.job)
    assert kinds_on(ticket) == []


def test_of_several_earlier_jobs_the_latest_is_named_and_the_others_counted(ticket):
    for name, day in (("Elm Row", 3), ("Oak Row", 9), ("Ash Row", 6)):
        job = earlier_job(ticket, name)
        MarkFactory(job=job, operator__name="Tallow Power", marked_at=f"2025-05-0{day}T12:00Z", ref=name[:3])
    (found,) = contradictions_of([ticket.pk])
    assert found.sentence == (
        "Tallow Power was not notified, but job Oak Row has a line of it, mark Oak, in the work area; "
        "2 more jobs know one there."
    )


def test_many_tickets_are_read_in_two_queries_and_none_in_none(ticket, gas):
    ResponseFactory(ticket=ticket, operator=gas, response="marked")
    MarkFactory(job=earlier_job(ticket), operator__name="Tallow Power")
    others = [
        TicketFactory(job=ticket.job, area=MultiPolygon(box(east, -20, east + 9, 20), srid=4326))
        for east in (20, 46, 300)
    ]
    for count in (1, 4):
        with CaptureQueriesContext(connection) as queries:
            found = kinds_on(*[ticket, *others][:count])
        assert len(queries) == 2
    assert found == [("bare", "Brindle Gas"), *[("not_notified", "Tallow Power")] * 2]
    with CaptureQueriesContext(connection) as queries:
        assert contradictions_of([]) == []
    assert len(queries) == 0


def test_a_retired_ticket_is_left_out(ticket, gas):
    ResponseFactory(ticket=ticket, operator=gas, response="marked")
    MarkFactory(job=earlier_job(ticket))
    stand_aside(ticket)
    assert kinds_on(ticket) == []


def test_the_search_for_earlier_lines_goes_by_the_index_of_places(ticket):
    """Lines of the whole organisation are never read one by one."""
    earlier = earlier_job(ticket)
    operator = FacilityOperatorFactory(job=earlier)
    mark = MarkFactory(job=earlier, operator=operator)
    for factory, values in (
        (MarkFactory, {"operator": operator}),
        (TestHoleFactory, {"mark": mark}),
    ):
        records = [
            factory.build(job=earlier, ref=f"far-{place}", **values, **elsewhere(factory, place))
            for place in range(2000)
        ]
        factory._meta.model.objects.bulk_create(records)
    with CaptureQueriesContext(connection) as queries:
        assert kinds_on(ticket) == [("not_notified", operator.name)]
    (asked,) = [one["sql"] for one in queries if "WITH area" in one["sql"]]
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE locates_mark, locates_testhole, locates_ticket")
        cursor.execute("EXPLAIN " + asked)
        plan = "\n".join(row[0] for row in cursor.fetchall())
    assert "Index Scan using locates_mark_geometry" in plan
    assert "Index Scan using locates_testhole_position" in plan


def elsewhere(factory, place):
    east_m = 1000 + 50 * place
    if factory is TestHoleFactory:
        return {"position": point(east_m, 0)}
    return {"geometry": line((east_m, -15), (east_m, 15))}


def test_the_jobs_page_and_the_ticket_s_responses_tell_of_it(client, ticket, gas):
    client.force_login(person_in_role("Coordinator"))
    ResponseFactory(ticket=ticket, operator=gas, response="marked")
    earlier = earlier_job(ticket)
    MarkFactory(job=earlier, operator__name="Tallow Power")
    for address in (
        reverse("conflicts:job", args=[ticket.job_id]),
        reverse("locates:response-add", args=[ticket.pk]),
    ):
        page = client.get(address).content.decode()
        assert "but no mark of it is logged in the work area" in page
        assert "Tallow Power was not notified" in page
        assert f"{reverse('conflicts:job', args=[earlier.pk])}#marks" in page
