"""A private PostgreSQL with what the test's own database holds, for tests that kill the server."""

import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from config import processes
from config.checkout import Checkout
from config.cluster import Cluster
from config.postgres import program_folder
from tests.celery_crew import test_database_url
from tests.polling import wait_until

GONE_S = 10.0


@contextmanager
def copy_of_test_database() -> Iterator[Cluster]:
    """A cluster as `manage.py` makes it, filled from the test's database; it goes with the block."""
    # Not in pytest's folder, which is closed to the account that the server runs under where root tests.
    folder = Path(tempfile.mkdtemp(dir="/var/tmp", prefix="crosswatch-")).resolve()
    folder.chmod(0o755)
    cluster = Cluster.of(Checkout(folder))
    try:
        cluster.start("test")
        _fill(cluster, folder / "dump.sql")
        yield cluster
    finally:
        cluster.remove()
        shutil.rmtree(folder)


def _fill(cluster: Cluster, dump: Path) -> None:
    programs = program_folder()
    assert programs is not None
    write = [programs / "pg_dump", "--no-owner", "--file", dump, test_database_url()]
    read = [programs / "psql", "-X", "-q", "-1", "-v", "ON_ERROR_STOP=1", "-f", dump, cluster.url]
    for command in (write, read):
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr


def kill_server(cluster: Cluster) -> None:
    """End the postmaster and all of its processes at once: none has a moment to put things in order."""
    postmaster = cluster.server_pid()
    assert postmaster is not None
    killed = [postmaster, *(pid for pid in processes.working_in(cluster.data) if pid != postmaster)]
    assert len(killed) > 1
    for pid in killed:
        processes.send(pid, signal.SIGKILL)
    wait_until(lambda: not any(map(processes.is_alive, killed)), "the server is gone", GONE_S)
