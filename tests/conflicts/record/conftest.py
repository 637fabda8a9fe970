"""What the tests of clearance records share: an empty broker, and real workers over it."""

import shutil

import pytest
from django.conf import settings

from tests.celery_crew import crew_in


@pytest.fixture(autouse=True)
def messages():
    """The folder of the broker's messages, empty at the start."""
    folder = settings.BROKER_FOLDER / "messages"
    shutil.rmtree(settings.BROKER_FOLDER, ignore_errors=True)
    folder.mkdir(parents=True)
    (settings.BROKER_FOLDER / "control").mkdir()
    return folder


@pytest.fixture
def crew(tmp_path, messages):
    """Workers and beat, ended when the test is over."""
    with crew_in(tmp_path) as workers:
        yield workers
