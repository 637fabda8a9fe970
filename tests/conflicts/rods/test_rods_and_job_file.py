"""The job file has no room for rods that were drilled: they are never lost by it."""

import pytest

from conflicts.exchange.whole_job import export_job, load_job
from conflicts.models import DrilledRod
from locates.errors import JobFileError
from locates.exchange.job_documents import document_text
from tests import factories
from tests.factories import DrilledRodFactory

pytestmark = pytest.mark.django_db


def test_a_job_with_rods_is_written_out_as_it_was_planned_and_never_replaced():
    bore = factories.small_job().bores.get()
    before = document_text(export_job(bore.job))
    rod = DrilledRodFactory(bore=bore, depth_m=0.4, remarks="read twice")
    after = document_text(export_job(bore.job))
    assert after == before
    with pytest.raises(JobFileError) as refused:
        load_job(after.encode(), replace=True)
    assert refused.value.field == "job.name"
    assert "signed or kept for good" in str(refused.value)
    assert DrilledRod.objects.get() == rod
