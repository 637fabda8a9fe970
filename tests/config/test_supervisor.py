"""The parts of the demo: started again when they die, given up in the end, ended with all they began."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from config import processes, supervisor
from config.checkout import SetUpError
from config.supervisor import HOST, MARK_VARIABLE, MOST_RESTARTS, Part, Supervisor, listen
from tests.polling import wait_until

PARENT_OF_ONE = "import subprocess, time; subprocess.Popen(['sleep', '600']); time.sleep(600)"


@pytest.fixture
def told() -> list[str]:
    """What the supervisor has said."""
    return []


@pytest.fixture
def watcher(tmp_path: Path, told: list[str]) -> Iterator[Supervisor]:
    """A supervisor over nothing yet."""
    watcher = Supervisor(tmp_path, os.environ, told.append)
    yield watcher
    watcher.stop()


def part(folder: Path, code: str) -> Part:
    """Give a part that runs some Python."""
    return Part("part", [sys.executable, "-c", code], folder / "part.log")


def ours(folder: Path) -> list[int]:
    """Every process that carries the folder's mark."""
    return processes.carrying(MARK_VARIABLE, str(folder))


def wait_for(count: int, folder: Path) -> None:
    """Wait until so many processes carry the mark."""
    wait_until(lambda: len(ours(folder)) == count, f"{count} processes run", 30)


def test_a_part_that_was_killed_is_started_again_and_said_so(
    watcher: Supervisor, told: list[str], tmp_path: Path
) -> None:
    watcher.start([part(tmp_path, "import time; time.sleep(600)")])
    process = watcher.parts[0].process
    assert process is not None
    process.kill()
    process.wait()
    watcher.restart_dead()
    assert told == ["part ended (killed by SIGKILL); started again."]
    assert watcher.parts[0].process is not process


def test_a_part_that_dies_again_and_again_is_given_up(
    watcher: Supervisor, told: list[str], tmp_path: Path
) -> None:
    watcher.start([part(tmp_path, "import sys; sys.exit(3)")])
    with pytest.raises(SetUpError, match=r"part ended \(exit status 3\).*part\.log"):
        watcher.watch(lambda: None)
    assert len(told) == MOST_RESTARTS


def test_stopping_ends_what_the_parts_themselves_started(watcher: Supervisor, tmp_path: Path) -> None:
    watcher.start([part(tmp_path, PARENT_OF_ONE)])
    wait_for(2, tmp_path)
    watcher.stop()
    assert ours(tmp_path) == []


def test_the_parts_of_a_killed_demo_are_ended_and_nobody_elses(watcher: Supervisor, tmp_path: Path) -> None:
    environment = {**os.environ, MARK_VARIABLE: str(tmp_path)}
    with (
        subprocess.Popen(["sleep", "600"], env=environment) as left,
        subprocess.Popen(["sleep", "600"]) as bystander,
    ):
        wait_for(1, tmp_path)
        assert watcher.end_leftovers() == 1
        assert left.wait() == -signal.SIGTERM
        assert bystander.poll() is None
        bystander.kill()


def test_a_part_gets_no_signal_from_the_terminal_but_ours(watcher: Supervisor, tmp_path: Path) -> None:
    watcher.start([part(tmp_path, "import time; time.sleep(600)")])
    process = watcher.parts[0].process
    assert process is not None
    assert os.getsid(process.pid) == process.pid


def test_a_signal_ends_the_watch(watcher: Supervisor, tmp_path: Path) -> None:
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    try:
        watcher.heed_signals()
        watcher.start([part(tmp_path, "import time; time.sleep(600)")])
        watcher.watch(lambda: os.kill(os.getpid(), signal.SIGTERM))
        assert watcher.signals == 1
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def test_a_port_that_is_taken_is_left_for_the_next(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        port = taken.getsockname()[1]
        with listen(port) as listener:
            assert listener.getsockname()[1] > port
    assert f"Port {port} cannot be used" in capsys.readouterr().err


def test_no_free_port_at_all_is_an_error() -> None:
    with socket.socket() as taken:
        taken.bind((HOST, 0))
        taken.listen()
        with pytest.raises(SetUpError, match="name another with --port"):
            listen(taken.getsockname()[1], tries=1)


def test_an_address_that_nobody_serves_does_not_answer() -> None:
    with socket.socket() as silent:
        silent.bind((HOST, 0))
        assert supervisor.answers(f"http://{HOST}:{silent.getsockname()[1]}/") is False
