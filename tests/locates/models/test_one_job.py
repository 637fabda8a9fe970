"""References between records stay inside one job, in the database too."""

import pytest
from django.db import IntegrityError, connection, transaction

from locates.models import Job
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("constraint", "factory", "field", "other"),
    [
        (
            "requirement_operator_of_its_job",
            factories.ClearanceRequirementFactory,
            "operator",
            factories.FacilityOperatorFactory,
        ),
        ("mark_operator_of_its_job", factories.MarkFactory, "operator", factories.FacilityOperatorFactory),
        ("mark_ticket_of_its_job", factories.MarkFactory, "ticket", factories.TicketFactory),
        ("test_hole_mark_of_its_job", factories.TestHoleFactory, "mark", factories.MarkFactory),
        ("test_hole_ticket_of_its_job", factories.TestHoleFactory, "ticket", factories.TicketFactory),
        (
            "surface_feature_mark_of_its_job",
            factories.SurfaceFeatureFactory,
            "explained_by_mark",
            factories.MarkFactory,
        ),
    ],
)
def test_a_record_of_another_job_is_refused_at_commit(constraint, factory, field, other):
    record, stranger = factory(), other()
    type(record).objects.filter(pk=record.pk).update(**{field: stranger})
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        connection.check_constraints()
    # Back in order, or the end of the test would find it again.
    type(record).objects.filter(pk=record.pk).update(**{field: getattr(record, field)})


def test_a_job_goes_with_all_its_records_and_leaves_the_rule():
    job = factories.small_job()
    kept = factories.small_job()
    job.delete()
    connection.check_constraints()
    assert list(Job.objects.all()) == [kept]
    assert kept.marks.exists()
    assert kept.jurisdiction.jobs.count() == 1


def test_a_mark_leaves_its_holes_and_features_behind_unexplained():
    job = factories.small_job()
    job.marks.get().delete()
    assert job.test_holes.get().mark is None
    assert job.surface_features.get().explained_by_mark is None


def test_an_operator_with_marks_stays():
    job = factories.small_job()
    with pytest.raises(IntegrityError):
        job.operators.get().delete()
