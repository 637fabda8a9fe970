"""Where this copy of the project keeps what it makes: hidden folders, private files, the lock of each.

Standard library alone: it runs before any package is installed.
"""

import contextlib
import fcntl
import hashlib
import os
import secrets
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path


class SetUpError(RuntimeError):
    """The set-up cannot go on; the words say what to do. `status` is the exit status that tells it apart."""

    def __init__(self, words: str, status: int = 1) -> None:
        super().__init__(words)
        self.status = status


class LockedError(SetUpError):
    """Another process holds a lock that is not worth waiting for."""


@dataclass(frozen=True)
class Checkout:
    """One copy of the project on this machine."""

    root: Path

    @property
    def run_folder(self) -> Path:
        """The hidden folder of keys, logins, logs, locks and the file broker."""
        return self.root / ".run"

    @property
    def virtual_environment(self) -> Path:
        """The private environment of Python packages."""
        return self.root / ".venv"

    @property
    def python(self) -> Path:
        """The interpreter of that environment."""
        return self.virtual_environment / "bin" / "python"

    @property
    def mark(self) -> str:
        """A short name made of the path, for what has to lie outside of it."""
        return hashlib.sha256(os.fsencode(self.root)).hexdigest()[:12]

    def make_run_folder(self) -> Path:
        """Make the hidden folder, closed to everybody else."""
        self.run_folder.mkdir(mode=0o700, exist_ok=True)
        return self.run_folder

    def secret_key(self) -> str:
        """Give the key of this copy, made at the first call and kept."""
        return kept_text(self.make_run_folder() / "secret_key", lambda: secrets.token_urlsafe(50))

    @contextlib.contextmanager
    def lock(self, name: str, *, wait: bool = True) -> Iterator[None]:
        """Hold a lock of this copy; it goes by itself when the process dies, however it dies.

        Python closes the file in child processes, so no server that outlives this one keeps the lock.
        """
        with (self.make_run_folder() / f"{name}.lock").open("a") as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
            except BlockingIOError as error:
                raise LockedError(f"Another process holds {file.name}.") from error
            yield


def kept_text(path: Path, make: Callable[[], str]) -> str:
    """Read a private file, or make it in one stroke: of two makers at once, both give the first's text."""
    if not path.exists():
        handle, draft = tempfile.mkstemp(dir=path.parent, prefix=f"{path.name}.")  # for its owner alone
        with os.fdopen(handle, "w") as file:
            file.write(make())
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(FileExistsError):  # another process was first: its text is the one to keep
            os.link(draft, path)
        Path(draft).unlink()
    return path.read_text()
