"""Whose process is whose: nothing dead counts as alive, and nothing of others is ended."""

import os
import signal
import subprocess
import sys
from pathlib import Path

from config import processes
from tests.polling import wait_until

STUBBORN = """
import signal, time
signal.signal(signal.SIGTERM, signal.SIG_IGN)
print("up", flush=True)
time.sleep(600)
"""


def test_a_zombie_is_not_alive() -> None:
    pid = os.fork()
    if pid == 0:
        os._exit(0)
    wait_until(lambda: not processes.is_alive(pid), "the child has ended", 30)
    os.kill(pid, 0)  # the kernel still knows it, which is what a simpler check would ask
    assert not processes.is_alive(pid)
    os.waitpid(pid, 0)


def test_only_processes_in_the_very_folder_work_in_it(tmp_path: Path) -> None:
    (tmp_path / "inner").mkdir()
    with (
        subprocess.Popen(["sleep", "600"], cwd=tmp_path) as here,
        subprocess.Popen(["sleep", "600"], cwd=tmp_path / "inner") as further_in,
    ):
        assert processes.working_in(tmp_path) == [here.pid]
        here.kill()
        further_in.kill()


def test_a_process_is_found_by_the_whole_value_of_its_variable() -> None:
    with (
        subprocess.Popen(["sleep", "600"], env={"PATH": os.environ["PATH"], "MINE_OF": "/a"}) as ours,
        subprocess.Popen(["sleep", "600"], env={"PATH": os.environ["PATH"], "MINE_OF": "/a/b"}) as theirs,
    ):
        assert processes.carrying("MINE_OF", "/a") == [ours.pid]
        ours.kill()
        theirs.kill()


def test_a_process_that_ignores_the_request_is_killed() -> None:
    command = [sys.executable, "-c", STUBBORN]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as stubborn:
        assert stubborn.stdout is not None
        stubborn.stdout.readline()
        processes.end([stubborn.pid], patience_s=0.2)
        assert not processes.is_alive(stubborn.pid)
        assert stubborn.wait() == -signal.SIGKILL


def test_ending_what_is_gone_already_is_no_error() -> None:
    with subprocess.Popen(["true"]) as gone:
        gone.wait()
        processes.end([gone.pid])
