"""The site's web server as the embedded set-up runs it, in a process group of its own, to be killed."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from socket import socket

from django.conf import settings

from config import processes
from config.supervisor import HOST, answers, listen, python_parts
from tests.celery_crew import MARK_VARIABLE, Program, site_environment, test_database_url
from tests.polling import wait_until

START_S = 60.0
FIRST_PORT = 18200


@dataclass
class WebServer:
    """Gunicorn over a socket that outlives it, as the demo's does: who asks meanwhile waits in its queue."""

    folder: Path
    listener: socket
    environment: dict[str, str]
    program: Program | None = None
    starts: int = 0

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self.listener.getsockname()[1])

    def start(self) -> None:
        """Start it, and wait until it answers."""
        self.starts += 1
        [part, *_] = python_parts(Path(sys.executable), self.folder, self.listener, self.folder)
        log = self.folder / f"web-{self.starts}.log"
        with log.open("wb") as output:
            process = subprocess.Popen(
                part.command,
                cwd=settings.BASE_DIR,
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=output,
                start_new_session=True,
                pass_fds=part.kept_sockets,
            )
        self.program = Program(process, log)
        address = f"http://{HOST}:{self.port}/healthz"
        wait_until(lambda: answers(address), "the site answers", START_S, self.program.said)

    def kill(self) -> None:
        """End the server and its workers at once, as the kernel does when memory runs out."""
        if self.program is not None and self.program.process.poll() is None:
            self.program.kill()


@contextmanager
def web_server_in(folder: Path, **environment: str) -> Iterator[WebServer]:
    """A running web server over the test's database, or the one that is named; it ends with the block."""
    # With the tests' password hasher and static files as they lie; the rest are the site's own settings.
    ours = {"DJANGO_SETTINGS_MODULE": "config.testing", "TMPDIR": str(folder)}
    marked = {MARK_VARIABLE: f"{test_database_url()} web"}
    processes.end(processes.carrying(*next(iter(marked.items()))))
    with listen(FIRST_PORT) as listener:
        server = WebServer(folder, listener, site_environment() | ours | marked | environment)
        try:
            server.start()
            yield server
        finally:
            server.kill()
