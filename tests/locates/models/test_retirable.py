"""Retired records stand aside: not found, not taken, but still there; versions count every save."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from conflicts.models import Bore, Pit
from locates.models import FacilityOperator, Job, Mark, Response, SurfaceFeature, TestHole, Ticket
from tests import factories
from tests.factories import stand_aside

pytestmark = pytest.mark.django_db

NAMED = [
    (factories.JobFactory, "name", ("organisation",)),
    (factories.FacilityOperatorFactory, "name", ("job",)),
    (factories.TicketFactory, "number", ("job",)),
    (factories.MarkFactory, "ref", ("job",)),
    (factories.TestHoleFactory, "ref", ("job",)),
    (factories.SurfaceFeatureFactory, "ref", ("job",)),
    (factories.BoreFactory, "name", ("job",)),
    (factories.PitFactory, "end", ("bore",)),
    (factories.ClearanceRequirementFactory, "facility_type", ("job",)),
]


@pytest.mark.parametrize(
    "model", [Job, FacilityOperator, Ticket, Response, Mark, TestHole, SurfaceFeature, Bore, Pit]
)
def test_a_retired_record_is_not_found_unless_it_is_asked_for(model):
    factories.ResponseFactory(ticket__job=(job := factories.small_job()), operator=job.operators.get())
    record = model.objects.first()
    stand_aside(record)
    assert not model.objects.contains(record)
    assert model.with_retired.contains(record)


@pytest.mark.parametrize(("factory", "field", "owners"), NAMED)
def test_a_name_is_free_again_once_its_record_is_retired(factory, field, owners):
    first = factory()
    same = {field: getattr(first, field), **{owner: getattr(first, owner) for owner in owners}}
    with pytest.raises(IntegrityError), transaction.atomic():
        factory(**same)
    stand_aside(first)
    assert factory(**same).pk != first.pk


def test_a_name_that_a_live_record_has_is_refused_in_words_though_a_form_has_no_field_for_retiring():
    taken = factories.MarkFactory()
    double = factories.MarkFactory.build(job=taken.job, operator=taken.operator, ref=taken.ref)
    with pytest.raises(ValidationError, match="no other mark of the job has"):
        double.validate_constraints(exclude={"retired_at", "retired_by"})


def test_a_job_lists_its_live_records_only():
    job = factories.small_job()
    stand_aside(job.marks.get())
    stand_aside(job.bores.get())
    assert not job.marks.exists()
    assert not job.bores.exists()
    assert job.marks(manager="with_retired").count() == 1


def test_a_version_grows_by_one_with_every_save_whoever_saves():
    mark = factories.MarkFactory()
    other = Mark.objects.get(pk=mark.pk)
    assert mark.version == 1
    mark.save()
    other.save(update_fields=["located_by"])
    assert other.version == 3
    assert Mark.objects.get(pk=mark.pk).version == 3


def test_a_saved_record_says_when_it_was_last_edited():
    mark = factories.MarkFactory()
    first = mark.edited_at
    mark.save(update_fields=["ref"])
    assert Mark.objects.get(pk=mark.pk).edited_at > first


def test_a_retired_answer_keeps_its_place_in_the_history():
    answer = factories.ResponseFactory()
    stand_aside(answer)
    assert Response.objects.next_sequence(answer.ticket) == answer.sequence + 1
