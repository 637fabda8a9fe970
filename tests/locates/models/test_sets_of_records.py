"""Sets of records that more than one page or check asks for."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from locates.models import Job, JurisdictionRule, Response, TestHole, Ticket
from tests import factories

pytestmark = pytest.mark.django_db


def test_the_highest_sequence_of_each_operator_is_its_latest_answer():
    ticket = factories.TicketFactory()
    gas = factories.FacilityOperatorFactory(job=ticket.job)
    power = factories.FacilityOperatorFactory(job=ticket.job)
    for operator, response in ((gas, "awaiting"), (power, "no_facilities"), (gas, "marked")):
        factories.ResponseFactory(ticket=ticket, operator=operator, response=response)
    factories.ResponseFactory(operator__name="another ticket's")

    latest = Response.objects.filter(ticket=ticket).latest_each()
    assert {(answer.operator, answer.response) for answer in latest} == {
        (gas, "marked"),
        (power, "no_facilities"),
    }


def test_the_next_place_in_a_tickets_history_follows_its_last():
    ticket = factories.TicketFactory()
    assert Response.objects.next_sequence(ticket) == 0
    factories.ResponseFactory(ticket=ticket, sequence=4)
    factories.ResponseFactory(sequence=9)
    assert Response.objects.next_sequence(ticket) == 5


def test_a_ticket_is_in_force_from_its_legal_start_until_its_expiry():
    ticket = factories.TicketFactory()
    for at, is_in_force in (
        (factories.LEGAL_START_AT - timedelta(seconds=1), False),
        (factories.LEGAL_START_AT, True),
        (factories.EXPIRES_AT - timedelta(seconds=1), True),
        (factories.EXPIRES_AT, False),
    ):
        assert Ticket.objects.in_force(at).contains(ticket) is is_in_force


def test_a_ticket_with_an_unknown_date_is_never_in_force():
    factories.TicketFactory(legal_start_at=None)
    factories.TicketFactory(expires_at=None)
    assert not Ticket.objects.in_force(factories.PLANNED_START_AT).exists()


def test_holes_that_contradict_the_marks_are_told_apart():
    job = factories.JobFactory()
    mark = factories.MarkFactory(job=job)
    unmarked = factories.TestHoleFactory(job=job)
    missed = factories.TestHoleFactory(job=job, mark=mark, found=False, depth_to_top_m=None, dug_depth_m=1.5)
    factories.TestHoleFactory(job=job, mark=mark)
    factories.TestHoleFactory(job=job, found=False, depth_to_top_m=None, dug_depth_m=1.5)
    assert list(TestHole.objects.of_no_mark()) == [unmarked]
    assert list(TestHole.objects.missed()) == [missed]


def test_the_newest_version_of_each_rule_is_found():
    second = factories.JurisdictionRuleFactory(code="VA", version=2)
    newest = JurisdictionRule.objects.in_use_by(None)
    assert newest.get(code="VA") == second
    assert newest.get(code="TX").version == 1


def test_jobs_bring_what_their_page_names_in_one_query(django_assert_num_queries):
    job = factories.small_job()
    with django_assert_num_queries(1):
        found = Job.objects.with_grounds().get(pk=job.pk)
        assert found.organisation.name
        assert found.tolerance_width_m == 0.6096


def test_jobs_under_a_version_of_a_rule_are_found():
    job = factories.JobFactory()
    second = factories.JurisdictionRuleFactory(code="VA", version=2)
    assert list(Job.objects.under(job.jurisdiction)) == [job]
    assert not Job.objects.under(second).exists()


@pytest.mark.parametrize(
    ("factory", "field", "other"),
    [
        (factories.MarkFactory, "operator", factories.FacilityOperatorFactory),
        (factories.MarkFactory, "ticket", factories.TicketFactory),
        (factories.TestHoleFactory, "mark", factories.MarkFactory),
        (factories.TestHoleFactory, "ticket", factories.TicketFactory),
        (factories.SurfaceFeatureFactory, "explained_by_mark", factories.MarkFactory),
        (factories.ClearanceRequirementFactory, "operator", factories.FacilityOperatorFactory),
        (factories.ResponseFactory, "operator", factories.FacilityOperatorFactory),
    ],
)
def test_what_belongs_to_another_job_is_refused_in_words(factory, field, other):
    record = factory()
    setattr(record, field, other())
    with pytest.raises(ValidationError, match="of another job") as caught:
        record.full_clean()
    assert list(caught.value.message_dict) == [field]


def test_records_say_what_they_are():
    job = factories.small_job(name="Alder Street")
    ticket, mark, hole = job.tickets.get(), job.marks.get(), job.test_holes.get()
    operator = job.operators.get()
    assert str(job) == "Alder Street"
    assert str(ticket) == f"{ticket.number} (routine)"
    assert str(ticket.responses.get()) == f"{operator}: marked"
    assert str(mark) == f"{mark.ref} (gas/oil/steam, {operator})"
    assert str(hole) == f"{hole.ref} (found)"
    assert str(job.requirements.get()) == "every line: crossing 0.305 m, alongside 0.61 m"
    assert str(job.surface_features.get()).endswith("(valve, gas/oil/steam)")
    assert str(job.linework.get()) == "curb"
    assert str(job.ground_points.get()) == "ground at 0.0 m"
    assert str(job.jurisdiction) == "VA version 1"
