"""What the tests of reassessing share: an empty broker, and real workers over it."""

import shutil

import pytest
from django.conf import settings

from tests.celery_crew import crew_in
from tests.factories import small_job
from tests.job_documents import job_bytes, job_document


@pytest.fixture(autouse=True)
def messages():
    """The folder of the broker's messages, empty at the start."""
    folder = settings.BROKER_FOLDER / "messages"
    shutil.rmtree(settings.BROKER_FOLDER, ignore_errors=True)
    folder.mkdir(parents=True)
    (settings.BROKER_FOLDER / "control").mkdir()
    return folder


@pytest.fixture
def bore(db):
    """The bore of a small job, never assessed."""
    return small_job().bores.get()


@pytest.fixture
def job_file(tmp_path):
    """A job file with two bores."""
    file = tmp_path / "job.geojson"
    file.write_bytes(job_bytes(job_document()))
    return file


@pytest.fixture
def crew(tmp_path, db):
    """Real workers and beat; they see the records of a test of `django_db(transaction=True)`."""
    with crew_in(tmp_path) as crew:
        yield crew
