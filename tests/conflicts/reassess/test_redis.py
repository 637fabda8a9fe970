"""The same over Redis, with a pool of processes as a company runs it."""

import subprocess

import pytest

from conflicts.assess import stored_figures
from conflicts.models import Bore, Reassessment
from tests.celery_crew import crew_in
from tests.database_sessions import locked_row
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

READY_S = 15.0
DONE_S = 60.0


@pytest.fixture
def redis_url(tmp_path):
    """A Redis of this test's own, on a socket in its folder."""
    socket = tmp_path / "redis.sock"
    server = subprocess.Popen(
        ["redis-server", "--port", "0", "--unixsocket", socket, "--save", "", "--dir", tmp_path],
        stdout=subprocess.DEVNULL,
    )
    try:
        wait_until(socket.exists, "Redis listens", READY_S)
        yield f"redis+socket://{socket}"
    finally:
        server.terminate()
        server.wait()


def test_a_bore_whose_pool_is_killed_is_assessed_by_another_pool_once(redis_url, tmp_path, db, job_file):
    with crew_in(tmp_path, BROKER_URL=redis_url) as crew:
        crew.manage("load_job", job_file)
        bore = Bore.objects.first()
        attempts = Reassessment.objects.filter(bore=bore, state="running")
        with locked_row("conflicts_bore", bore.pk):
            first = crew.worker("--concurrency", "2")
            wait_until(attempts.filter(attempts=1).exists, "the bell is heard over Redis", DONE_S, crew.said)
            first.kill()
            crew.beat()
            second = crew.worker("--concurrency", "2")
            wait_until(attempts.filter(attempts=2).exists, "the second attempt begins", DONE_S, crew.said)
        wait_until(lambda: not Reassessment.objects.exists(), "nothing waits", DONE_S, crew.said)
        assert stored_figures(bore) is not None
        assert second.said().count(f"Bore {bore.pk}: new figures stored") == 1
        assert f"Bore {bore.pk}: new figures stored" not in first.said()
