"""The private PostGIS cluster of one checkout: made, started, brought back after any death, and stopped.

It listens on a Unix socket in a folder that only its account may enter, so it needs no password, and no port
of the machine. Standard library alone.
"""

import contextlib
import os
import shlex
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import quote

from config import processes
from config.checkout import Checkout, SetUpError
from config.postgres import Account, program_folder

NAME = "crosswatch"  # of the database, and of the role that owns it and its tables
SERVING_ROLE = "crosswatch_site"  # as which the site asks
SET_UP = "2"  # of a database with both roles
PORT = 5432  # no port of the machine: only a part of the socket's file name
SOCKET_PATH_LIMIT_BYTES = 107  # sun_path of Linux's unix(7), less its closing zero
PATIENCE_S = 60.0
SHORT_FOLDERS = Path("/tmp")  # noqa: S108 - the folder in it is checked to be ours, and closed to others


class Cluster:
    """One data folder and the server on it."""

    def __init__(self, checkout: Checkout, folder: Path, account: Account) -> None:
        self.checkout = checkout
        self.folder = folder
        self.account = account
        self.data = folder / "data"
        self.log = folder / "log"

    @classmethod
    def of(cls, checkout: Checkout) -> "Cluster":
        """Give the cluster of a checkout, made or not: inside it, or where its account cannot go, beside.

        Root's database runs under an account that may not pass through /root, for one. Its data then lies in
        that account's home, and `.pg.link` says where.
        """
        inside, link = checkout.root / ".pg", checkout.root / ".pg.link"
        if link.exists() and (beside := followed(link, checkout)):
            return cls(checkout, beside, Account.for_folder(beside))
        account = Account.for_folder(inside)
        if not account.is_other or account.can_enter(checkout.root):
            return cls(checkout, inside, account)
        if inside.exists():
            raise SetUpError(
                f"The database of this folder lies in {inside}, where account {account.entry.pw_name} "
                f"can no longer go: let it pass through the folders above (chmod o+x), or move them back."
            )
        return cls(checkout, Path(account.entry.pw_dir) / f"crosswatch-{checkout.mark}", account)

    @property
    def socket_folder(self) -> Path:
        """Where the socket is: beside the data, or where that path cannot name one, in a short folder.

        A socket's path is bounded, and a comma would part it into two hosts for the client library.
        """
        path = str(self.folder / f".s.PGSQL.{PORT}")
        if len(os.fsencode(path)) <= SOCKET_PATH_LIMIT_BYTES and "," not in path:
            return self.folder
        return SHORT_FOLDERS / f"crosswatch-{self.account.entry.pw_uid}-{self.checkout.mark}"

    @property
    def url(self) -> str:
        """The database's address for its owner."""
        return self._url_of(NAME)

    @property
    def serving_url(self) -> str:
        """The database's address for the site."""
        return self._url_of(SERVING_ROLE)

    @property
    def started_for(self) -> Path:
        """The note of what the server was started for."""
        return self.checkout.run_folder / "database_started_for"

    def purpose(self) -> str:
        """Give what the server was started for: a demo ends what a demo began, a killed one's too."""
        return self.started_for.read_text() if self.started_for.exists() else ""

    def program(self, name: str) -> Path:
        """Give one of PostgreSQL's programs, of the version that the data was made with."""
        version_file = self.data / "PG_VERSION"
        version = version_file.read_text().strip() if version_file.exists() else None
        folder = program_folder(version)
        if folder is None:
            if version is None:
                raise SetUpError(
                    "PostgreSQL with PostGIS is not installed: `python3 manage.py demo` installs it."
                )
            raise SetUpError(
                f"PostgreSQL {version} with PostGIS, which made {self.data}, is not installed: install it, "
                f"or start anew with `python3 manage.py demo --fresh`."
            )
        return folder / name

    def is_ready(self) -> bool:
        """Whether the server answers."""
        if not self.data.is_dir():
            return False
        place = ("-h", self.socket_folder, "-p", str(PORT))
        return self.account.run(self.program("pg_isready"), *place, "-t", "3").returncode == 0

    def start(self, purpose: str) -> bool:
        """Bring the server up whatever state it is in; True if it was not up before.

        Of several starts at once one does the work and the others wait for it.
        """
        try:
            with self.checkout.lock("database"):
                if self.is_ready():
                    self._make_database()
                    return False
                self._make_folders()
                self._make_data()
                if not self._wait_for_living():
                    self._clear_after_dead()
                    self._launch()
                self._make_database()
                self.started_for.write_text(purpose)
                return True
        except PermissionError as error:
            raise SetUpError(
                f"{error.filename or self.folder} belongs to another account: run this as the account that "
                f"made the database of this folder."
            ) from error

    def stop(self) -> bool:
        """Stop the server and wait for its end; False if there was none."""
        with self.checkout.lock("database"):
            return self._stop()

    def remove(self) -> None:
        """Stop the server and delete its data."""
        with self.checkout.lock("database"):
            self._stop()
            processes.end(processes.working_in(self.data), signal.SIGQUIT)
            for folder in {self.folder, self.socket_folder}:
                if folder.exists():
                    shutil.rmtree(folder)
            (self.checkout.root / ".pg.link").unlink(missing_ok=True)

    def server_pid(self) -> int | None:
        """Give the live server's process; the number in a stale postmaster.pid is nobody's or another's."""
        try:
            pid = int((self.data / "postmaster.pid").read_text().split("\n", 1)[0])
        except (FileNotFoundError, ValueError):
            return None
        if processes.PROC.is_dir() and not processes.works_in(pid, self.data):
            return None
        return pid if processes.is_alive(pid) else None

    def _url_of(self, role: str) -> str:
        return f"postgres://{role}@/{NAME}?host={quote(str(self.socket_folder), safe='/')}&port={PORT}"

    def _stop(self) -> bool:
        pid = self.server_pid()
        if pid is None:
            return False
        # SIGINT is PostgreSQL's fast shutdown: sessions are ended, everything is written.
        processes.end([pid], signal.SIGINT, patience_s=PATIENCE_S)
        self.started_for.unlink(missing_ok=True)
        return True

    def _make_folders(self) -> None:
        self.account.own(self.folder)
        if self.folder.parent != self.checkout.root:
            (self.folder / "checkout").write_text(str(self.checkout.root))
            (self.checkout.root / ".pg.link").write_text(str(self.folder))
        if self.socket_folder != self.folder:
            self.account.own(self.socket_folder)

    def _make_data(self) -> None:
        """Make the data folder in one stroke: what was cut off half-way lies under another name."""
        if (self.data / "PG_VERSION").exists() and (self.data / "global" / "pg_control").exists():
            return
        if self.data.exists():
            aside = self.folder / f"data.unusable.{time.time_ns()}"
            self.data.rename(aside)
            sys.stderr.write(f"{self.data} was no database: kept as {aside.name}, and a new one is made.\n")
        draft = self.folder / "data.new"
        processes.end(processes.working_in(draft), signal.SIGQUIT)
        if draft.exists():
            shutil.rmtree(draft)
        (self.folder / "made").unlink(missing_ok=True)
        locale = "C.UTF-8" if sys.platform == "linux" else "C"
        self._must(
            "initdb", "-D", draft.name, "-U", NAME, "--auth=trust", "--encoding=UTF8", f"--locale={locale}"
        )
        draft.rename(self.data)

    def _wait_for_living(self) -> bool:
        """Wait while a live server comes up or goes down; True if it answers in the end."""
        deadline_s = time.monotonic() + PATIENCE_S
        while self.server_pid() is not None:
            if self.is_ready():
                return True
            if time.monotonic() > deadline_s:
                raise SetUpError(f"The database server has not answered for {PATIENCE_S:.0f} s: {self.log}")
            time.sleep(0.1)
        return False

    def _clear_after_dead(self) -> None:
        """Take away what a killed server left: first its last processes, only then its lock files.

        A session that outlives its server still writes to the data: a second server would ruin them.
        """
        if not processes.PROC.is_dir():
            return  # cannot tell who is alive: PostgreSQL's own check decides
        processes.end(processes.working_in(self.data), signal.SIGQUIT)
        for stale in (self.data / "postmaster.pid", self.socket_folder / f".s.PGSQL.{PORT}.lock"):
            stale.unlink(missing_ok=True)

    def _launch(self) -> None:
        sockets = str(self.socket_folder).replace('"', '""')
        settings = {"listen_addresses": "", "unix_socket_directories": f'"{sockets}"', "port": str(PORT)}
        # pg_ctl hands all this to a shell, and of its own paths it quotes little: so they are relative.
        options = " ".join(f"-c {shlex.quote(f'{name}={value}')}" for name, value in settings.items())
        self._must(
            "pg_ctl", "start", "-D", "data", "-l", "log", "-w", "-t", f"{PATIENCE_S:.0f}", "-o", options
        )

    def _make_database(self) -> None:
        made = self.folder / "made"
        if made.exists() and made.read_text() == SET_UP:
            return
        # S608 twice: both names are of this project, no text of a person.
        if not self._query("postgres", f"SELECT 1 FROM pg_database WHERE datname = '{NAME}'"):  # noqa: S608
            self._query("postgres", f"CREATE DATABASE {NAME}")
        self._query(NAME, "CREATE EXTENSION IF NOT EXISTS postgis")
        if not self._query(NAME, f"SELECT 1 FROM pg_roles WHERE rolname = '{SERVING_ROLE}'"):  # noqa: S608
            self._query(NAME, f"CREATE ROLE {SERVING_ROLE} LOGIN")
        made.write_text(SET_UP)

    def _query(self, database: str, sql: str) -> str:
        place = ("-h", self.socket_folder, "-p", str(PORT), "-U", NAME, "-d", database)
        return self._must("psql", "-X", "-A", "-t", "-v", "ON_ERROR_STOP=1", *place, "-c", sql).stdout.strip()

    def _must(self, program: str, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
        done = self.account.run(self.program(program), *arguments, folder=self.folder)
        if done.returncode != 0:
            log = ""
            with contextlib.suppress(FileNotFoundError):
                log = "".join(self.log.read_text(errors="replace").splitlines(keepends=True)[-10:])
            raise SetUpError(f"{program} failed:\n{done.stdout}{done.stderr}{log}")
        return done


def followed(link: Path, checkout: Checkout) -> Path | None:
    """Give the data folder that `.pg.link` names, unless it is another checkout's of which this is a copy."""
    beside = Path(link.read_text().strip())
    try:
        owner = Path((beside / "checkout").read_text().strip())
    except FileNotFoundError:
        return None
    if owner != checkout.root and (owner / ".pg.link").exists():
        return None
    return beside
