"""What the tests of large files share: surveys of many rows, and real workers over an empty broker."""

import shutil

import pytest
from django.conf import settings

from locates.desk.bring_file import confirm, keep_file
from locates.exchange.vector_files import read_tables
from tests import factories
from tests.celery_crew import crew_in
from tests.surveyed_files import confirmed


def survey_of(count: int, *, wrong_row: int | None = None) -> bytes:
    """A CSV of ground points about the place of the factories; one row may hold what no ground has."""
    rows = ["ref,lon,lat,elevation_m"]
    for number in range(count):
        place = factories.point(number % 100, number // 100)
        elevation_m = 99_999 if number == wrong_row else 100 + number / 1000
        rows.append(f"G{number},{place.x!r},{place.y!r},{elevation_m}")
    return "\n".join(rows).encode()


@pytest.fixture
def bring_survey():
    """Keep a survey as a coordinator's import whose columns are confirmed; gives the import."""

    def bring(job, count: int, *, by, at, wrong_row=None):
        raw = survey_of(count, wrong_row=wrong_row)
        brought = keep_file(job, "ground_point", "ground.csv", raw, by=by, at=at)
        [table] = read_tables("ground.csv", raw)
        confirm(brought, confirmed(table, "ground_point", job=job, epsg="4326", unit="degree"))
        return brought

    return bring


@pytest.fixture
def messages():
    """The folder of the broker's messages, empty at the start."""
    folder = settings.BROKER_FOLDER / "messages"
    shutil.rmtree(settings.BROKER_FOLDER, ignore_errors=True)
    folder.mkdir(parents=True)
    (settings.BROKER_FOLDER / "control").mkdir()
    return folder


@pytest.fixture
def crew(tmp_path, db, messages):
    """Real workers and beat; they see the records of a test of `django_db(transaction=True)`."""
    with crew_in(tmp_path) as crew:
        yield crew
