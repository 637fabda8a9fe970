"""Processes of this machine: which are alive, which belong to us, and how to end exactly those.

Reads /proc. Where there is none (macOS) nothing is found, so nothing is ended. Standard library alone.
"""

import os
import signal
import time
from collections.abc import Iterable, Iterator
from pathlib import Path

PROC = Path("/proc")
KILL_PATIENCE_S = 5.0  # a killed process goes at once, unless it waits for a disk


def is_alive(pid: int) -> bool:
    """Whether the process runs; a dead one that its parent has not yet collected (a zombie) does not."""
    if not PROC.joinpath("self").exists():
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return False
        return True
    try:
        # The name, in brackets, may hold anything; the state is the first word after it.
        state = PROC.joinpath(str(pid), "stat").read_text(errors="replace").rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state not in {"Z", "X"}


def all_pids() -> Iterator[int]:
    """Every process there is."""
    if PROC.is_dir():
        yield from (int(entry.name) for entry in PROC.iterdir() if entry.name.isdigit())


def works_in(pid: int, folder: Path) -> bool:
    """Whether the folder is the process's working directory; a PostgreSQL server's is its data folder."""
    try:
        return os.readlink(PROC / str(pid) / "cwd") == str(folder.resolve())
    except OSError:  # gone, a zombie, or another account's: in no case a server of ours
        return False


def working_in(folder: Path) -> list[int]:
    """Every live process with the folder as its working directory."""
    return [pid for pid in all_pids() if works_in(pid, folder) and is_alive(pid)]


def carrying(variable: str, value: str) -> list[int]:
    """Every live process that was started with an environment variable of exactly this value."""
    entry = os.fsencode(f"{variable}={value}")
    found = []
    for pid in all_pids():
        try:
            entries = PROC.joinpath(str(pid), "environ").read_bytes().split(b"\0")
        except OSError:  # gone, or another account's
            continue
        if entry in entries and pid != os.getpid() and is_alive(pid):
            found.append(pid)
    return found


def end(pids: Iterable[int], gently: signal.Signals = signal.SIGTERM, patience_s: float = 5.0) -> None:
    """End processes: ask, wait, then kill what is still there."""
    left = [pid for pid in pids if send(pid, gently)]
    deadline_s = time.monotonic() + patience_s
    while left and time.monotonic() < deadline_s:
        time.sleep(0.05)
        left = [pid for pid in left if is_alive(pid)]
    for pid in left:
        send(pid, signal.SIGKILL)
    deadline_s = time.monotonic() + KILL_PATIENCE_S
    while any(is_alive(pid) for pid in left) and time.monotonic() < deadline_s:
        time.sleep(0.05)


def send(pid: int, number: signal.Signals) -> bool:
    """Send a signal; False if the process is gone already."""
    try:
        os.kill(pid, number)
    except ProcessLookupError:
        return False
    return True
