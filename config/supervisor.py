"""Web server, workers and beat of the demo: started, watched, started again when they die, and ended.

Standard library alone.
"""

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from config import processes
from config.checkout import SetUpError

HOST = "127.0.0.1"
MARK_VARIABLE = "CROSSWATCH_DEMO_OF"  # every part carries it, so a part whose demo was killed can be found
MOST_RESTARTS = 5
RESTART_WINDOW_S = 60.0
READY_PATIENCE_S = 60.0
END_PATIENCE_S = 10.0


@dataclass
class Part:
    """One program that runs as long as the demo does."""

    name: str
    command: list[str]
    log: Path
    kept_sockets: tuple[int, ...] = ()
    process: subprocess.Popen[bytes] | None = None
    starts_s: list[float] = field(default_factory=list)

    def start(self, root: Path, environment: Mapping[str, str]) -> None:
        """Start it in a session of its own, so that Ctrl-C in the terminal reaches us alone."""
        self.starts_s.append(time.monotonic())
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                self.command,
                cwd=root,
                env={**environment, MARK_VARIABLE: str(root)},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
                pass_fds=self.kept_sockets,
            )

    def died_too_often(self) -> bool:
        """Whether it has died so often of late that another start is of no use."""
        since_s = time.monotonic() - RESTART_WINDOW_S
        return len([start_s for start_s in self.starts_s if start_s > since_s]) > MOST_RESTARTS


class Supervisor:
    """Keeps the parts running until a signal ends it all."""

    def __init__(self, root: Path, environment: Mapping[str, str], say: Callable[[str], None]) -> None:
        self.root = root
        self.environment = environment
        self.say = say
        self.parts: list[Part] = []
        self.signals = 0

    def end_leftovers(self) -> int:
        """End the parts of an earlier demo of this checkout that was killed before it could."""
        left = processes.carrying(MARK_VARIABLE, str(self.root))
        processes.end(left, patience_s=END_PATIENCE_S)
        return len(left)

    def heed_signals(self) -> None:
        """Take Ctrl-C, a plain kill and a closed terminal as the wish to end in order."""
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, self._note_signal)

    def start(self, parts: list[Part]) -> None:
        """Start all parts."""
        self.parts = parts
        for part in parts:
            part.start(self.root, self.environment)

    def wait_until_ready(self, url: str) -> None:
        """Wait until the site answers that it is well, starting again whatever dies meanwhile."""
        deadline_s = time.monotonic() + READY_PATIENCE_S
        while not answers(url) and not self.signals:
            if time.monotonic() > deadline_s:
                log = self.parts[0].log
                raise SetUpError(f"The site has not answered for {READY_PATIENCE_S:.0f} s: see {log}")
            self.restart_dead()
            time.sleep(0.1)

    def watch(self, look_after_more: Callable[[], None]) -> None:
        """Keep the parts running until a signal comes, and call what looks after the rest."""
        while not self.signals:
            look_after_more()
            self.restart_dead()
            time.sleep(0.2)

    def restart_dead(self) -> None:
        """Start again what has died, and say so; give up on what dies again and again."""
        for part in self.parts:
            if part.process is None or part.process.poll() is None:
                continue
            words = f"{part.name} ended ({ending(part.process.returncode)})"
            if part.died_too_often():
                raise SetUpError(f"{words} for the {MOST_RESTARTS + 1}th time in a minute: see {part.log}")
            self.say(f"{words}; started again.")
            part.start(self.root, self.environment)

    def stop(self) -> None:
        """End every part with all that it started; a second signal ends them at once."""
        running = [part.process for part in self.parts if part.process is not None]
        for process in running:
            process.terminate()
        deadline_s, signals = time.monotonic() + END_PATIENCE_S, self.signals
        while any(process.poll() is None for process in running):
            if time.monotonic() > deadline_s or self.signals > signals:
                break
            time.sleep(0.05)
        processes.end(processes.carrying(MARK_VARIABLE, str(self.root)), signal.SIGKILL)
        for process in running:
            process.kill()
            process.wait()

    def _note_signal(self, number: int, frame: FrameType | None) -> None:
        self.signals += 1


def python_parts(python: Path, logs: Path, listener: socket.socket, run_folder: Path) -> list[Part]:
    """Give the parts of the embedded set-up: web, two workers and beat.

    Workers run one task at a time in their only process (`solo`): on a broker of files, a pool of processes
    can stop for good when one of them is killed.
    """
    celery = [str(python), "-m", "celery", "-A", "config.celery"]
    web = [str(python), "-m", "gunicorn", "config.wsgi", "--bind", f"fd://{listener.fileno()}"]
    # The control socket would lie in the home folder, shared by every gunicorn of the account.
    parts = [
        Part("web", [*web, "--threads", "4", "--no-control-socket"], logs / "web.log", (listener.fileno(),))
    ]
    for name in ("worker-1", "worker-2"):
        command = [*celery, "worker", "-P", "solo", "-n", f"{name}@crosswatch", "--loglevel", "INFO"]
        parts.append(Part(name, command, logs / f"{name}.log"))
    # Without a pid file, since a stale one would stop the next beat.
    schedule = run_folder / "beat-schedule"
    parts.append(Part("beat", [*celery, "beat", "--pidfile=", "-s", str(schedule)], logs / "beat.log"))
    return parts


def listen(first_port: int, tries: int = 50) -> socket.socket:
    """Take the first free port from `first_port` on, and hold it: a restarted web server gets it again."""
    for port in range(first_port, min(first_port + tries, 65536)):
        listener = socket.socket()
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, port))
        except OSError as error:
            listener.close()
            sys.stderr.write(f"Port {port} cannot be used ({error.strerror}); the next one is tried.\n")
            continue
        listener.listen(128)
        return listener
    raise SetUpError(f"None of the {tries} ports from {first_port} on is free: name another with --port.")


def answers(url: str) -> bool:
    """Whether the address answers with success."""
    try:
        with urllib.request.urlopen(url, timeout=5):  # noqa: S310 - our own address on this machine
            return True
    except (urllib.error.URLError, TimeoutError, ConnectionError):
        return False


def ending(status: int) -> str:
    """Word how a process ended."""
    return f"killed by {signal.Signals(-status).name}" if status < 0 else f"exit status {status}"


def marked_environment(environment: Mapping[str, str]) -> dict[str, str]:
    """Give the environment of the demo's parts: plain HTTP on this machine, and as root, Celery's consent."""
    made = {**environment, "PLAIN_HTTP": "1", "PYTHONUNBUFFERED": "1"}
    if os.geteuid() == 0:
        made["C_FORCE_ROOT"] = "1"
    return made
