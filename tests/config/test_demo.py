"""`manage.py demo` in a fresh copy of the project, with real processes, killed for real."""

import json
import os
import re
import signal
import socket
import subprocess
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from config import processes
from config.checkout import Checkout
from config.cluster import NAME, SERVING_ROLE, Cluster
from config.supervisor import HOST, MARK_VARIABLE, answers
from tests.config.conftest import Copy
from tests.config.questions import ask
from tests.polling import wait_until

READY = "Ctrl-C ends it."
PARTS = 5  # web and its one worker process, two Celery workers, beat
NEW_ORGANISATION = (
    "INSERT INTO locates_organisation (id, name, desk_lead_hours) VALUES (gen_random_uuid(), '{}', 48)"
)
ROLES_THAT_ASK = (
    "SELECT string_agg(DISTINCT usename, ',') FROM pg_stat_activity"
    " WHERE backend_type = 'client backend' AND pid <> pg_backend_pid()"
)
RIGHTS_TO_THE_RECORD = (
    "SELECT array_to_string(relacl, ' ') FROM pg_class WHERE relname = 'locates_recordevent'"
)
COUNT_LOGINS = "SELECT count(*) FROM auth_user WHERE is_active"


def ours(copy: Copy) -> list[int]:
    """Every process of the copy's demo but the one that watches them."""
    return processes.carrying(MARK_VARIABLE, str(copy.checkout.root))


def all_run(copy: Copy) -> None:
    """Wait until every part runs and asks no more programs for its libraries, as each does at its start."""
    wait_until(lambda: all(len(ours(copy)) == PARTS for _ in range(50)), f"{PARTS} processes run", 120)


def free_port() -> int:
    """Give a port that was free a moment ago."""
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        return int(taken.getsockname()[1])


@contextmanager
def running(copy: Copy, *words: str, **variables: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """Run the demo until its address is told; give the process and the address."""
    command = copy.command("demo", "--port", str(free_port()), *words)
    with subprocess.Popen(
        command,
        env=copy.environment(**variables),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as demo:
        assert demo.stdout is not None
        told = ""
        for line in demo.stdout:
            told += line
            if READY in line:
                break
        try:
            found = re.search(r"http://\S+", told)
            assert found, told
            yield demo, found[0]
        finally:
            # A test that fails would else wait for the demo for ever.
            demo.kill()


def finish(demo: subprocess.Popen[str], number: signal.Signals) -> str:
    """End the demo with a signal and give what else it said."""
    demo.send_signal(number)
    told, _ = demo.communicate(timeout=60)
    return told


def test_it_serves_loads_and_ends_and_a_second_run_keeps_the_data(project_copy: Copy) -> None:
    cluster = Cluster.of(project_copy.checkout)
    with running(project_copy) as (demo, address):
        assert answers(f"{address}healthz")
        with urllib.request.urlopen(f"{address}static/admin/css/base.css", timeout=10) as style:  # noqa: S310
            assert style.status == 200
        all_run(project_copy)
        wait_until(lambda: ask(cluster, ROLES_THAT_ASK) == SERVING_ROLE, "all ask as the site's role", 60)
        assert f"{SERVING_ROLE}=r/{NAME}" in ask(cluster, RIGHTS_TO_THE_RECORD).split()
        ask(cluster, NEW_ORGANISATION.format("Kept Boring"))
        finish(demo, signal.SIGINT)
        assert demo.returncode == 0
    assert ours(project_copy) == []
    assert not cluster.is_ready()
    with running(project_copy) as (demo, _):
        assert ask(cluster, "SELECT count(*) FROM locates_organisation WHERE name = 'Kept Boring'") == "1"
        finish(demo, signal.SIGTERM)
        assert demo.returncode == 0


def test_each_role_gets_a_login_of_its_own_that_is_kept_private(project_copy: Copy) -> None:
    done = project_copy.manage("demo", "--port", str(free_port()), "--stop-when-ready")
    assert done.returncode == 0, done.stdout + done.stderr
    file = project_copy.checkout.run_folder / "logins.json"
    logins = json.loads(file.read_text())
    assert file.stat().st_mode & 0o777 == 0o600
    assert list(logins) == ["coordinator", "foreman", "safety_manager"]
    assert len(set(logins.values())) == 3
    assert all(f"{name:<16}{password}" in done.stdout for name, password in logins.items())


def test_a_part_that_is_killed_comes_back_and_so_does_the_database(project_copy: Copy) -> None:
    cluster = Cluster.of(project_copy.checkout)
    with running(project_copy) as (demo, address):
        killed = ours(project_copy)
        for pid in killed:
            processes.send(pid, signal.SIGKILL)
        server = cluster.server_pid()
        assert server is not None
        os.kill(server, signal.SIGKILL)
        wait_until(
            lambda: answers(f"{address}healthz") and len(ours(project_copy)) == PARTS, "all are back", 120
        )
        assert set(killed).isdisjoint(ours(project_copy))
        told = finish(demo, signal.SIGINT)
    for part in ("web", "worker-1", "worker-2", "beat"):
        assert f"{part} ended (killed by SIGKILL); started again." in told
    assert "The private database had ended; started again." in told


def test_after_the_demo_itself_was_killed_the_next_one_ends_what_it_left(project_copy: Copy) -> None:
    with running(project_copy) as (demo, _):
        demo.kill()
        demo.wait()
        all_run(project_copy)
    done = project_copy.manage("demo", "--port", str(free_port()), "--stop-when-ready")
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"Ended {PARTS} processes that an earlier demo had left" in done.stdout
    assert ours(project_copy) == []
    assert not Cluster.of(project_copy.checkout).is_ready()


def test_a_second_demo_of_the_same_folder_is_refused_with_the_address_of_the_first(
    project_copy: Copy,
) -> None:
    with running(project_copy) as (demo, address):
        second = project_copy.manage("demo")
        assert second.returncode == 1
        assert f"running already at {address}" in second.stderr
        assert answers(f"{address}healthz")
        finish(demo, signal.SIGINT)


def test_a_database_that_ran_before_goes_on_after(project_copy: Copy) -> None:
    project_copy.manage("database", "start")
    done = project_copy.manage("demo", "--port", str(free_port()), "--stop-when-ready")
    assert done.returncode == 0, done.stdout + done.stderr
    assert Cluster.of(project_copy.checkout).is_ready()


def test_starting_anew_needs_a_yes_and_then_forgets_the_data(project_copy: Copy) -> None:
    cluster = Cluster.of(project_copy.checkout)
    assert project_copy.manage("migrate", "--verbosity", "0").returncode == 0
    ask(cluster, NEW_ORGANISATION.format("Old Boring"))
    refused = project_copy.manage("demo", "--fresh")
    assert refused.returncode == 2
    assert "add --yes" in refused.stderr
    assert ask(cluster, "SELECT count(*) FROM locates_organisation WHERE name = 'Old Boring'") == "1"
    with running(project_copy, "--fresh", "--yes") as (demo, _):
        assert ask(cluster, "SELECT count(*) FROM locates_organisation WHERE name = 'Old Boring'") == "0"
        assert ask(cluster, COUNT_LOGINS) == "3"
        finish(demo, signal.SIGINT)


def test_starting_anew_never_touches_a_database_of_somebodys_own(project_copy: Copy) -> None:
    done = project_copy.manage("demo", "--fresh", "--yes", DATABASE_URL="postgres://nobody@/x?host=/nowhere")
    assert done.returncode == 2
    assert "DATABASE_URL names another" in done.stderr


@contextmanager
def redis(folder: Path) -> Iterator[Path]:
    """Run a Redis of our own on a socket; give the socket."""
    socket_path = folder / "redis.sock"
    command = ["redis-server", "--port", "0", "--unixsocket", socket_path, "--save", "", "--dir", folder]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL) as server:
        wait_until(socket_path.exists, "Redis listens", 30)
        yield socket_path
        server.terminate()


def test_a_database_and_a_broker_that_are_named_are_used_and_left_alone(project_copy: Copy) -> None:
    root = project_copy.checkout.root
    logs = project_copy.checkout.run_folder / "logs"
    (root / "elsewhere").mkdir()
    other = Cluster.of(Checkout(root / "elsewhere"))
    other.start("test")
    try:
        with (
            redis(root) as broker,
            running(project_copy, DATABASE_URL=other.url, BROKER_URL=f"redis+socket://{broker}") as (demo, _),
        ):
            assert ask(other, COUNT_LOGINS) == "3"
            # Told of when the jobs were loaded, before any worker ran. Nothing but Redis can have kept it.
            wait_until(
                lambda: any("Task conflicts.reassess[" in log.read_text() for log in logs.iterdir()),
                "a worker has been told",
                120,
            )
            finish(demo, signal.SIGINT)
        assert other.is_ready()
        assert not (root / ".pg").exists()
        assert not (root / ".run" / "broker").exists()
    finally:
        other.remove()
