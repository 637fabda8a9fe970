"""The private cluster comes back after every death; on a real PostgreSQL, killed for real."""

import os
import signal
import subprocess

import pytest

from config import processes
from config.checkout import Checkout
from config.cluster import PORT, Cluster
from tests.config.questions import ask
from tests.polling import wait_until


@pytest.fixture
def cluster(checkout: Checkout) -> Cluster:
    """A running cluster that holds something worth keeping."""
    cluster = Cluster.of(checkout)
    cluster.start("test")
    ask(cluster, "CREATE TABLE kept AS SELECT 42 AS answer")
    return cluster


def server(cluster: Cluster) -> int:
    """Give the server's process."""
    pid = cluster.server_pid()
    assert pid is not None
    return pid


def came_back(cluster: Cluster) -> bool:
    """Whether a start brings up the only server, with the data."""
    return (
        cluster.start("test")
        and ask(cluster, "SELECT answer FROM kept") == "42"
        and server(cluster) in processes.working_in(cluster.data)
    )


def test_after_the_server_was_killed(cluster: Cluster) -> None:
    os.kill(server(cluster), signal.SIGKILL)
    assert came_back(cluster)


def test_after_the_server_was_killed_in_the_middle_of_a_query(cluster: Cluster) -> None:
    with subprocess.Popen(
        ["psql", "-X", "-c", "SELECT pg_sleep(600)", cluster.url], stderr=subprocess.DEVNULL
    ) as session:
        sleepers = "SELECT count(*) FROM pg_stat_activity WHERE wait_event = 'PgSleep'"
        wait_until(lambda: ask(cluster, sleepers) == "1", "the query runs", 30)
        killed = server(cluster)
        os.kill(killed, signal.SIGKILL)
        assert came_back(cluster)
        assert session.wait() != 0  # the orphaned session was ended before the new server took the data
    assert server(cluster) != killed


def test_after_every_process_of_it_was_killed(cluster: Cluster) -> None:
    for pid in processes.working_in(cluster.data):
        os.kill(pid, signal.SIGKILL)
    assert came_back(cluster)


def test_after_a_crash_that_left_a_pid_which_is_another_process_now(cluster: Cluster) -> None:
    """PostgreSQL alone refuses here: it only asks whether a process of that number lives."""
    pid_file = cluster.data / "postmaster.pid"
    lines = pid_file.read_text().split("\n")
    socket_lock = cluster.socket_folder / f".s.PGSQL.{PORT}.lock"
    left = socket_lock.read_text().split("\n")
    for pid in processes.working_in(cluster.data):
        os.kill(pid, signal.SIGKILL)
    account = cluster.account.entry
    switch = {"user": account.pw_uid, "group": account.pw_gid} if cluster.account.is_other else {}
    with subprocess.Popen(["sleep", "600"], cwd="/", **switch) as bystander:
        pid_file.write_text("\n".join([str(bystander.pid), *lines[1:]]))
        socket_lock.write_text("\n".join([str(bystander.pid), *left[1:]]))
        assert came_back(cluster)
        assert bystander.poll() is None, "a process that is not ours was ended"
        bystander.kill()


def test_after_a_pid_file_that_holds_nonsense(cluster: Cluster) -> None:
    for pid in processes.working_in(cluster.data):
        os.kill(pid, signal.SIGKILL)
    (cluster.data / "postmaster.pid").write_text("")
    assert came_back(cluster)


def test_while_it_shuts_down(cluster: Cluster) -> None:
    os.kill(server(cluster), signal.SIGINT)
    cluster.start("test")
    assert ask(cluster, "SELECT answer FROM kept") == "42"


def test_after_the_making_of_the_data_was_cut_off(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.account.own(cluster.folder)
    draft = cluster.folder / "data.new"
    cluster.account.own(draft)
    (draft / "PG_VERSION").write_text("15\n")
    assert cluster.start("test") is True
    assert not draft.exists()
    assert ask(cluster, "SELECT postgis_lib_version() <> ''") == "t"


def test_after_the_making_of_the_database_was_cut_off(checkout: Checkout) -> None:
    cluster = Cluster.of(checkout)
    cluster.start("test")
    ask(cluster, "DROP EXTENSION postgis")
    (cluster.folder / "made").unlink()
    os.kill(server(cluster), signal.SIGKILL)
    assert cluster.start("test") is True
    assert ask(cluster, "SELECT postgis_lib_version() <> ''") == "t"


def test_a_data_folder_that_is_none_is_kept_aside(
    checkout: Checkout, capsys: pytest.CaptureFixture[str]
) -> None:
    cluster = Cluster.of(checkout)
    cluster.account.own(cluster.folder)
    cluster.data.mkdir()
    (cluster.data / "somebody's notes").write_text("keep me")
    assert cluster.start("test") is True
    (aside,) = cluster.folder.glob("data.unusable.*")
    assert (aside / "somebody's notes").read_text() == "keep me"
    assert "was no database: kept as" in capsys.readouterr().err
