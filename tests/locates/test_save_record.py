"""A record is saved unless somebody else changed or retired it, its job, or what it names meanwhile."""

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from conflicts.models import Reassessment
from locates.desk.retire import retire
from locates.desk.save_record import save_record
from locates.errors import ChangedMeanwhileError, RetiredMeanwhileError
from locates.models import Mark
from tests.factories import BoreFactory, MarkFactory, TicketFactory, person_in_role

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return person_in_role("Coordinator")


def test_a_record_is_saved_as_its_next_version_with_its_editor_and_has_the_bores_computed_anew(by):
    mark = MarkFactory()
    BoreFactory(job=mark.job)
    mark.located_by = "R. Pell"
    save_record(mark, by=by, opened_version=1)
    again = Mark.objects.get()
    assert (again.located_by, again.version, again.edited_by) == ("R. Pell", 2, by)
    assert Reassessment.objects.get().wanted == 1


def test_a_record_of_another_version_is_not_overwritten(by):
    mark = MarkFactory()
    Mark.objects.get().save()
    mark.located_by = "Lost if saved."
    with pytest.raises(ChangedMeanwhileError) as told:
        save_record(mark, by=by, opened_version=1)
    assert told.value.present.version == 2
    assert Mark.objects.get().located_by == ""


def test_a_name_that_was_taken_since_the_form_was_checked_is_refused_in_words(by):
    taken = MarkFactory()
    double = Mark(
        job=taken.job,
        operator=taken.operator,
        ref=taken.ref,
        facility_type=taken.facility_type,
        marked_at=taken.marked_at,
        geometry=taken.geometry,
    )
    with pytest.raises(ValidationError, match="no other mark of the job has"), transaction.atomic():
        save_record(double, by=by)
    assert Mark.objects.count() == 1


def test_a_retired_record_is_not_saved(by):
    mark = MarkFactory()
    retire(mark, by=by)
    with pytest.raises(RetiredMeanwhileError, match=r"Mark .* is retired; bring it back first"):
        save_record(mark, by=by, opened_version=2)


def test_a_record_of_a_retired_job_is_not_saved(by):
    mark = MarkFactory()
    retire(mark.job, by=by)
    with pytest.raises(RetiredMeanwhileError, match=r"The job .* is retired"):
        save_record(mark, by=by, opened_version=2)


def test_a_record_that_names_a_retired_one_is_not_saved(by):
    mark = MarkFactory()
    ticket = TicketFactory(job=mark.job)
    retire(ticket, by=by)
    mark.ticket = ticket
    with pytest.raises(RetiredMeanwhileError, match=r"Ticket .* is retired"):
        save_record(mark, by=by, opened_version=1)
