"""Retiring takes the parts along, leaves what can stand alone, refuses the rest, and is undone as a whole."""

import pytest

from conflicts.models import Bore, Pit, Reassessment
from locates.desk.dependents import read_dependents
from locates.desk.restore import restore
from locates.desk.retire import retire
from locates.errors import RetiredMeanwhileError, StillNamedError, TakenMeanwhileError
from locates.models import Job, Mark, Response, SurfaceFeature, TestHole, Ticket
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return factories.small_job()


@pytest.fixture
def by():
    return factories.person_in_role("Coordinator")


def test_a_ticket_takes_its_answers_along_and_leaves_the_marks_and_holes_made_under_it(job, by):
    ticket = job.tickets.get()
    retirement = retire(ticket, by=by)
    assert retirement.also == "1 response"
    assert not Ticket.objects.exists()
    assert not Response.objects.exists()
    assert job.marks.get().ticket is None
    assert job.test_holes.get().ticket is None
    gone = Ticket.with_retired.get()
    assert (gone.retired_by, gone.retirement, gone.version) == (by, retirement, 2)


def test_a_mark_leaves_its_holes_which_then_belong_to_no_mark(job, by):
    retire(job.marks.get(), by=by)
    assert TestHole.objects.of_no_mark().count() == 1
    assert job.surface_features.get().explained_by_mark is None


def test_what_names_a_record_can_be_retired_with_it(job, by):
    retirement = retire(job.marks.get(), by=by, with_loose=True)
    assert retirement.also == "1 surface feature, 1 test hole"
    assert not TestHole.objects.exists()
    assert not SurfaceFeature.objects.exists()
    restore(retirement, by=by)
    assert job.test_holes.get().mark == job.marks.get()
    assert job.surface_features.get().explained_by_mark == job.marks.get()


def test_undoing_brings_everything_back_and_ties_it_again(job, by):
    ticket = job.tickets.get()
    retirement = retire(ticket, by=by)
    restore(retirement, by=by)
    assert job.tickets.get() == ticket
    assert job.marks.get().ticket == ticket
    assert job.test_holes.get().ticket == ticket
    assert ticket.responses.count() == 1
    retirement.refresh_from_db()
    assert retirement.restored_by == by


def test_undoing_leaves_alone_what_was_tied_to_another_record_meanwhile(job, by):
    retirement = retire(job.marks.get(), by=by)
    other = factories.MarkFactory(job=job)
    job.test_holes.update(mark=other)
    restore(retirement, by=by)
    assert job.test_holes.get().mark == other


def test_undoing_twice_is_undoing_once(job, by):
    retirement = retire(job.marks.get(), by=by)
    restore(retirement, by=by)
    version = job.marks.get().version
    restore(retirement, by=by)
    assert job.marks.get().version == version


def test_an_operator_that_marks_and_answers_name_is_not_retired(job, by):
    with pytest.raises(
        StillNamedError, match=r"is named by 1 response, 1 mark|is named by 1 mark, 1 response"
    ):
        retire(job.operators.get(), by=by)
    assert job.operators.exists()


def test_an_operator_whose_requirement_would_then_speak_of_everybody_is_not_retired(job, by):
    operator = factories.FacilityOperatorFactory(job=job)
    factories.ClearanceRequirementFactory(job=job, operator=operator)
    with pytest.raises(StillNamedError, match="1 clearance requirement"):
        retire(operator, by=by)


def test_a_job_takes_everything_along_and_brings_it_back(job, by):
    retirement = retire(job, by=by)
    assert not Job.objects.exists()
    assert not Bore.objects.exists()
    assert not Pit.objects.exists()
    assert not Mark.objects.exists()
    restore(retirement, by=by)
    assert Job.objects.get() == job
    assert Bore.objects.get().pits.count() == 2
    assert job.test_holes.get().mark == job.marks.get()
    assert Response.objects.count() == 1


def test_nothing_comes_back_while_a_live_record_has_its_name(job, by):
    mark = job.marks.get()
    retirement = retire(mark, by=by, with_loose=True)
    factories.MarkFactory(job=job, ref=mark.ref)
    with pytest.raises(TakenMeanwhileError) as refused:
        restore(retirement, by=by)
    assert f"Mark {mark} cannot come back" in str(refused.value)
    assert "no other mark of the job has" in str(refused.value)
    assert not TestHole.objects.exists()


def test_a_part_does_not_come_back_without_what_it_is_part_of(job, by):
    answer = retire(job.tickets.get().responses.get(), by=by)
    retire(job.tickets.get(), by=by)
    with pytest.raises(RetiredMeanwhileError, match=r"Ticket .* is retired; bring it back first"):
        restore(answer, by=by)
    assert not Response.objects.exists()


def test_a_hole_that_was_retired_before_its_mark_comes_back_without_it_and_is_tied_when_the_mark_does(
    job, by
):
    hole, mark = retire(job.test_holes.get(), by=by), retire(job.marks.get(), by=by)
    restore(hole, by=by)
    assert job.test_holes.get().mark is None
    restore(mark, by=by)
    assert job.test_holes.get().mark == job.marks.get()


def test_a_record_is_retired_once(job, by):
    mark = job.marks.get()
    retire(mark, by=by)
    with pytest.raises(RetiredMeanwhileError):
        retire(mark, by=by)


def test_retiring_and_bringing_back_have_the_bores_computed_anew(job, by):
    retirement = retire(job.marks.get(), by=by)
    assert Reassessment.objects.get().wanted == 1
    restore(retirement, by=by)
    assert Reassessment.objects.get().wanted == 2


def test_what_was_computed_from_a_record_is_counted(job):
    crossing = factories.CrossingFactory(assessment__bore=job.bores.get(), mark=job.marks.get())
    assert read_dependents(crossing.mark).computed == 1
    assert read_dependents(job.tickets.get()).computed == 0


def test_a_job_costs_as_many_queries_with_many_records_as_with_few(job, by, django_assert_max_num_queries):
    many = factories.small_job()
    for _ in range(5):
        mark = factories.MarkFactory(job=many)
        factories.TestHoleFactory(job=many, mark=mark)
    with django_assert_max_num_queries(150) as few_taken:
        retire(job, by=by)
    with django_assert_max_num_queries(150) as many_taken:
        retire(many, by=by)
    assert len(many_taken) == len(few_taken)
