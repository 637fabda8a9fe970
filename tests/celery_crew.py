"""Real Celery workers and beat over the test database, each in a process group of its own."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote, urlencode

from django.conf import settings
from django.db import connection

from config import processes
from tests.polling import wait_until

# A worker compiles the kernels first if nothing is cached yet, and another suite may have the machine.
START_S = 180.0
COMMAND_S = 60.0
MARK_VARIABLE = "CROSSWATCH_CREW_OVER"


def test_database_url() -> str:
    """The database of this test, as others name it."""
    parts = connection.settings_dict
    login = f"{quote(parts['USER'])}:{quote(parts['PASSWORD'])}@"
    where = {name: str(parts[key]) for name, key in (("host", "HOST"), ("port", "PORT")) if parts[key]}
    return f"postgres://{login}/{quote(parts['NAME'])}?{urlencode(where)}"


test_database_url.__test__ = False


def site_environment() -> dict[str, str]:
    """An environment in which programs are the site itself, over this test's database and broker."""
    return os.environ | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "DATABASE_URL": test_database_url(),
        "SECRET_KEY": settings.SECRET_KEY,
        "BROKER_FOLDER": str(settings.BROKER_FOLDER),
        "BROKER_URL": "",
        "PLAIN_HTTP": "1",
        "LOG_LEVEL": "INFO",
        "C_FORCE_ROOT": "1",
    }


@dataclass
class Program:
    """A running part, and what it has said so far."""

    process: subprocess.Popen[bytes]
    log: Path

    def said(self) -> str:
        """Its log."""
        return f"The log of {self.log.stem}:\n{self.log.read_text()}"

    def kill(self) -> None:
        """End it as the kernel does when memory runs out, with all that it started."""
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@dataclass
class Crew:
    """Workers and beat of one test; `folder` takes their logs, `environment` adds to ours."""

    folder: Path
    environment: dict[str, str] = field(default_factory=dict)
    programs: list[Program] = field(default_factory=list)

    def all_environment(self) -> dict[str, str]:
        """The site's environment with what these programs have besides."""
        ours = {MARK_VARIABLE: test_database_url(), "TMPDIR": str(self.folder)}
        return site_environment() | ours | self.environment

    def worker(self, *words: str) -> Program:
        """Start a worker, and give it once it takes messages."""
        name = f"worker-{len(self.programs)}"
        quiet = ("--without-gossip", "--without-mingle", "--without-heartbeat")
        worker = self._start(name, "worker", "-n", f"{name}@tests", "--loglevel", "INFO", *quiet, *words)
        wait_until(
            lambda: worker.process.poll() is not None or " ready." in worker.log.read_text(),
            "the worker takes messages",
            START_S,
            worker.said,
        )
        assert worker.process.poll() is None, worker.said()
        return worker

    def solo_worker(self) -> Program:
        """Start a worker of one process, as the embedded set-up does."""
        return self.worker("-P", "solo")

    def beat(self) -> Program:
        """Start the clock that calls for the sweep."""
        return self._start("beat", "beat", "--pidfile=", "-s", str(self.folder / "schedule"))

    def manage(self, *words: str | Path, **environment: str) -> str:
        """Run one of Django's commands beside them to its end, and give what it said on standard error."""
        done = subprocess.run(
            [sys.executable, settings.BASE_DIR / "manage.py", *words],
            env=self.all_environment() | environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
            timeout=COMMAND_S,
        )
        assert done.returncode == 0, done.stderr
        return done.stderr

    def said(self) -> str:
        """All logs."""
        return "\n".join(program.said() for program in self.programs)

    def end(self) -> None:
        """End all of them at once: in order it takes seconds, and there is nothing left to put in order."""
        for program in self.programs:
            if program.process.poll() is None:
                program.kill()

    def _start(self, name: str, *words: str) -> Program:
        log = self.folder / f"{name}.log"
        with log.open("wb") as output:
            process = subprocess.Popen(
                [sys.executable, "-m", "celery", "-A", "config.celery", *words],
                cwd=settings.BASE_DIR,
                env=self.all_environment(),
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=output,
                start_new_session=True,
            )
        self.programs.append(Program(process, log))
        return self.programs[-1]


@contextmanager
def crew_in(folder: Path, **environment: str) -> Iterator[Crew]:
    """Workers and beat that end with the block, whatever happens in it."""
    # What a killed test run may have left over this database.
    processes.end(processes.carrying(MARK_VARIABLE, test_database_url()))
    crew = Crew(folder, environment)
    try:
        yield crew
    finally:
        crew.end()
