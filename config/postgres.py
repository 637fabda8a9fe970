"""The PostgreSQL that is installed here: where its programs are, and the account that they may run under.

Standard library alone.
"""

import contextlib
import os
import pwd
import shutil
import stat
import subprocess
from dataclasses import dataclass
from pathlib import Path

from config.checkout import SetUpError

DEBIAN_VERSIONS = Path("/usr/lib/postgresql")
DEBIAN_SHARED = Path("/usr/share/postgresql")


def program_folder(version: str | None = None, versions: Path = DEBIAN_VERSIONS) -> Path | None:
    """Give the folder of the PostgreSQL programs that have PostGIS: of one major version, else the newest.

    Debian and Ubuntu keep each major version apart; elsewhere `pg_config` tells.
    """
    if versions.is_dir():
        numbers = sorted((entry.name for entry in versions.iterdir() if entry.name.isdigit()), key=int)
        for number in reversed(numbers):
            folder = versions / number / "bin"
            control = DEBIAN_SHARED / number / "extension" / "postgis.control"
            if version in {None, number} and (folder / "initdb").exists() and control.exists():
                return folder
    pg_config = shutil.which("pg_config")
    if pg_config is None:
        return None
    told = subprocess.run(
        [pg_config, "--bindir", "--sharedir", "--version"], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    folder, shared, number = Path(told[0]), Path(told[1]), told[2].split()[1].partition(".")[0]
    has_all = (folder / "initdb").exists() and (shared / "extension" / "postgis.control").exists()
    return folder if has_all and version in {None, number} else None


@dataclass(frozen=True)
class Account:
    """The account that the database server runs under: our own, or for root, whom it refuses, another."""

    entry: pwd.struct_passwd

    @classmethod
    def for_folder(cls, folder: Path) -> "Account":
        """Give the account for a data folder: its owner where root finds one there, else `postgres`."""
        if os.geteuid() != 0:
            return cls(pwd.getpwuid(os.geteuid()))
        owner = folder.stat().st_uid if folder.exists() else 0
        try:
            return cls(pwd.getpwuid(owner) if owner else pwd.getpwnam("postgres"))
        except KeyError as error:
            raise SetUpError(
                "PostgreSQL does not run as root, and there is no account to run it under: "
                "install the PostgreSQL package of this system, which makes the account `postgres`."
            ) from error

    @property
    def is_other(self) -> bool:
        """Whether it is not the account that this process runs under."""
        return self.entry.pw_uid != os.geteuid()

    def run(
        self, *command: str | os.PathLike[str], folder: str | Path = "/"
    ) -> subprocess.CompletedProcess[str]:
        """Run a program under the account, in a folder that it may read."""
        # The caller's PGHOST, PGOPTIONS and so on must not lead the programs to another server.
        environment = {name: value for name, value in os.environ.items() if not name.startswith("PG")}
        environment |= {"HOME": self.entry.pw_dir, "LC_ALL": "C"}
        switch = {"user": self.entry.pw_uid, "group": self.entry.pw_gid, "extra_groups": []}
        return subprocess.run(  # type: ignore[call-overload, no-any-return]
            command,
            cwd=folder,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            umask=0o077,
            start_new_session=True,  # Ctrl-C in the terminal is for us to handle
            check=False,
            **(switch if self.is_other else {}),
        )

    def can_enter(self, folder: Path) -> bool:
        """Whether the account may pass through a folder and all those above it."""
        return self.run("test", "-x", folder).returncode == 0

    def own(self, folder: Path) -> None:
        """Make a folder for the account alone, or check that it is one."""
        with contextlib.suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        found = folder.lstat()
        # Somebody else's folder under our name, a link or a file would hand them the database.
        if not stat.S_ISDIR(found.st_mode) or found.st_uid not in {os.geteuid(), self.entry.pw_uid}:
            raise SetUpError(
                f"{folder} is not a folder of account {self.entry.pw_name}: run this as the account that "
                f"made it, or remove it."
            )
        folder.chmod(0o700)
        if self.is_other:
            os.chown(folder, self.entry.pw_uid, self.entry.pw_gid)
