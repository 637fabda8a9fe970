"""`python3 manage.py demo`: everything made ready, the invented jobs loaded, the site running until Ctrl-C.

Standard library alone; what needs Django runs as a command of its own in the private environment.
"""

import argparse
import hashlib
import json
import os
import secrets
import shutil
import signal
import time
from pathlib import Path
from types import FrameType

from config.checkout import Checkout, LockedError, SetUpError, kept_text
from config.cluster import Cluster
from config.embedded import (
    RUNTIME,
    make_database_ready,
    make_packages_ready,
    may_ask,
    names_own_database,
    run_quietly,
    use_own_key,
    use_private_parts,
)
from config.progress import Progress
from config.supervisor import HOST, Supervisor, listen, marked_environment, python_parts
from config.system_packages import PROGRAM_GROUPS

PURPOSE = "demo"
ROLES = ("coordinator", "foreman", "safety_manager")
DATABASE_LOOK_S = 1.0


def read_options(words: list[str]) -> argparse.Namespace:
    """Read the command's options."""
    parser = argparse.ArgumentParser(
        prog="manage.py demo", description="Run Crosswatch here with invented jobs."
    )
    parser.add_argument(
        "--fresh", action="store_true", help="delete the private database first, after asking"
    )
    parser.add_argument("--port", type=int, default=8000, help="first port to try (default %(default)s)")
    parser.add_argument(
        "--yes", action="store_true", help="ask nothing: install packages and delete as needed"
    )
    parser.add_argument("--stop-when-ready", action="store_true", help="end as soon as the site answers")
    options = parser.parse_args(words)
    if not 1 <= options.port <= 65535:
        parser.error("--port takes a number from 1 to 65535")
    return options


def run_demo(checkout: Checkout, words: list[str]) -> int:
    """Make all ready, run it until a signal ends it, and give the exit status."""
    options = read_options(words)
    progress = Progress()
    own_database = names_own_database(os.environ)
    if options.fresh and own_database:
        raise SetUpError("--fresh deletes the private database only, and DATABASE_URL names another.", 2)
    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, interrupt)
    try:
        with checkout.lock("demo", wait=False):
            return Demo(checkout, options, progress, own_database=own_database).run()
    except LockedError as error:
        address = checkout.run_folder / "address"
        where = f" at {address.read_text()}" if address.exists() else ""
        raise SetUpError(f"The demo of this folder is running already{where}.") from error


class Demo:
    """One run of the demo."""

    def __init__(
        self, checkout: Checkout, options: argparse.Namespace, progress: Progress, *, own_database: bool
    ) -> None:
        self.checkout = checkout
        self.options = options
        self.progress = progress
        self.own_database = own_database
        self.environment = marked_environment(os.environ)
        self.supervisor = Supervisor(checkout.root, self.environment, progress.say)
        self.database_looked_at_s = 0.0

    def run(self) -> int:
        """Do every step, and in the end undo whatever runs."""
        self.progress.say("Crosswatch: making ready")
        left = self.supervisor.end_leftovers()
        if left:
            self.progress.say(f"  Ended {left} processes that an earlier demo had left")
        groups = [*PROGRAM_GROUPS] if self.own_database else [*PROGRAM_GROUPS, "database"]
        ask = may_ask(yes=self.options.yes)
        make_packages_ready(self.checkout, groups, RUNTIME, self.progress, ask=ask)
        if self.options.fresh:
            self.start_anew()
        try:
            self.make_data_ready()
            self.run_site()
        finally:
            self.end()
        return 0

    def start_anew(self) -> None:
        """Delete the private database and the logins with it, after asking."""
        if may_ask(yes=self.options.yes):
            answer = input("Delete the private database of this folder with all that is in it? [y/N] ")
            if answer.strip().lower() not in {"y", "yes"}:
                raise SetUpError("Nothing was deleted.")
        elif not self.options.yes:
            raise SetUpError("--fresh deletes the database, and there is no terminal to ask: add --yes.", 2)
        with self.progress.step("The old database deleted"):
            Cluster.of(self.checkout).remove()
            for name in ("logins.json", "beat-schedule"):
                (self.checkout.run_folder / name).unlink(missing_ok=True)
            shutil.rmtree(self.checkout.run_folder / "broker", ignore_errors=True)

    def make_data_ready(self) -> None:
        """Bring the database, the static files, the jobs and the logins up to date."""
        if self.own_database:
            use_own_key(self.checkout, self.environment)
        else:
            use_private_parts(self.checkout, self.environment)
            make_database_ready(self.checkout, PURPOSE, self.progress)
        with self.progress.step("Tables"):
            self.manage("migrate", "--no-input", "--verbosity", "0")
        # Nothing that serves knows the owner of the tables.
        self.environment.pop("OWNER_DATABASE_URL", None)
        # The stamp lies among the files: it goes when they go.
        stamp, state = self.checkout.root / "staticfiles" / ".made-from", self.static_state()
        if not stamp.exists() or stamp.read_text() != state:
            with self.progress.step("Static files"):
                self.manage("collectstatic", "--no-input", "--clear", "--verbosity", "0")
            stamp.write_text(state)
        with self.progress.step("Numeric kernels"):
            # Compiled at the first run, and then kept: once here, not by every part for itself.
            self.python("-m", "conflicts.engine.warm")
        with self.progress.step("Invented jobs and logins"):
            kept_text(self.logins, make_logins)
            self.manage("demo_data", "--logins", str(self.logins))

    def run_site(self) -> None:
        """Start the site, tell where it is and who may log in, and keep it running."""
        logs = self.checkout.run_folder / "logs"
        logs.mkdir(exist_ok=True)
        # Held open all the while: a web server that is started again listens on it at once.
        listener = listen(self.options.port)
        address = f"http://{HOST}:{listener.getsockname()[1]}/"
        parts = python_parts(self.checkout.python, logs, listener, self.checkout.run_folder)
        for part in parts:
            part.log.unlink(missing_ok=True)
        self.supervisor.heed_signals()
        with self.progress.step("Web server, two workers and beat"):
            self.supervisor.start(parts)
            self.supervisor.wait_until_ready(f"{address}healthz")
        (self.checkout.run_folder / "address").write_text(address)
        self.progress.say(self.welcome(address, logs))
        if not self.options.stop_when_ready:
            self.supervisor.watch(self.look_after_database)

    def look_after_database(self) -> None:
        """Start the private database again if it has died."""
        if self.own_database or time.monotonic() < self.database_looked_at_s + DATABASE_LOOK_S:
            return
        self.database_looked_at_s = time.monotonic()
        cluster = Cluster.of(self.checkout)
        if cluster.server_pid() is None and cluster.start(PURPOSE):
            self.progress.say("The private database had ended; started again.")

    def end(self) -> None:
        """End what this demo started: its parts, and the database if it was a demo that began it."""
        self.progress.say("Stopping")
        self.supervisor.stop()
        (self.checkout.run_folder / "address").unlink(missing_ok=True)
        if not self.own_database:
            cluster = Cluster.of(self.checkout)
            if cluster.purpose() == PURPOSE:
                cluster.stop()

    def welcome(self, address: str, logs: Path) -> str:
        """Word the address and the logins."""
        logins = json.loads(self.logins.read_text())
        rows = "\n".join(f"  {name:<16}{password}" for name, password in logins.items())
        table = f"  {'login':<16}password\n{rows}"
        return f"\nCrosswatch runs at {address}\n\n{table}\n\nLogs: {logs}\nCtrl-C ends it."

    @property
    def logins(self) -> Path:
        """The private file of the demo's logins."""
        return self.checkout.run_folder / "logins.json"

    def manage(self, *words: str) -> None:
        """Run one of Django's commands in the private environment."""
        self.python(str(self.checkout.root / "manage.py"), *words)

    def python(self, *words: str) -> None:
        """Run a Python program in the private environment."""
        run_quietly([self.checkout.python, *words], self.checkout.root, self.environment)

    def static_state(self) -> str:
        """Give a digest of what the static files are made from."""
        digest = hashlib.sha256((self.checkout.root / RUNTIME).read_bytes())
        for path in sorted((self.checkout.root / "static").rglob("*")):
            found = path.stat()
            digest.update(f"{path}\0{found.st_size}\0{found.st_mtime_ns}\n".encode())
        return digest.hexdigest()


def make_logins() -> str:
    """Make one login for each role, each with a password of its own."""
    return json.dumps({role: secrets.token_urlsafe(9) for role in ROLES}, indent=2)


def interrupt(number: int, frame: FrameType | None) -> None:
    """Take a plain kill before the site runs for Ctrl-C."""
    raise KeyboardInterrupt
