"""The factories' small job is one that the database and the forms both accept."""

import pytest

from tests import factories

pytestmark = pytest.mark.django_db


def test_every_record_of_a_small_job_passes_its_own_validation():
    job = factories.small_job()
    job.full_clean()
    for records in (
        job.operators,
        job.requirements,
        job.tickets,
        job.marks,
        job.test_holes,
        job.surface_features,
        job.ground_points,
        job.linework,
        job.bores,
    ):
        assert records.count() == 1
        records.get().full_clean()
    job.tickets.get().responses.get().full_clean()
    for pit in job.bores.get().pits.all():
        pit.full_clean()


def test_a_bore_planned_rod_by_rod_and_a_stored_crossing_are_accepted_too():
    factories.RodBoreFactory().full_clean()
    crossing = factories.CrossingFactory()
    crossing.assessment.full_clean()
    crossing.full_clean()
