"""Scratch copies of the project, each with its own hidden folders, removed with all that runs in them."""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from config import processes
from config.checkout import Checkout
from config.cluster import Cluster
from config.supervisor import MARK_VARIABLE
from tests.config.clean_shell import PROJECT

COPIED = ("config", "conflicts", "locates", "static", "templates", "manage.py", "requirements.txt")
OUTSIDE = (
    "DATABASE_URL",
    "OWNER_DATABASE_URL",
    "SECRET_KEY",
    "BROKER_URL",
    "PLAIN_HTTP",
    "LOG_LEVEL",
    "DJANGO_SETTINGS_MODULE",
    "DJANGO_ALLOW_ASYNC_UNSAFE",
)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A new folder that every account can enter: pytest's own are closed to the database's."""
    folder = Path(tempfile.mkdtemp(dir="/var/tmp", prefix="crosswatch-")).resolve()
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@pytest.fixture
def checkout(open_folder: Path) -> Iterator[Checkout]:
    """A checkout of nothing but its folder."""
    checkout = Checkout(open_folder)
    yield checkout
    Cluster.of(checkout).remove()


@dataclass(frozen=True)
class Copy:
    """A copy of the project that runs in the packages of these tests."""

    checkout: Checkout

    def environment(self, **more: str) -> dict[str, str]:
        """Give what a person's shell would: nothing of the tests' own settings."""
        return {name: value for name, value in os.environ.items() if name not in OUTSIDE} | more

    def command(self, *words: str) -> list[str | Path]:
        """Give a call of manage.py, by an interpreter outside of the copy's environment."""
        base = Path(sys.base_prefix) / "bin" / f"python{sys.version_info.major}.{sys.version_info.minor}"
        return [base, self.checkout.root / "manage.py", *words]

    def manage(self, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
        """Run manage.py to its end."""
        return subprocess.run(
            self.command(*words),
            cwd="/",
            env=self.environment(**more),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
        )


@pytest.fixture
def project_copy(checkout: Checkout) -> Iterator[Copy]:
    """The project's files in a folder of their own; its environment is a link to the one of these tests."""
    for name in COPIED:
        source, target = PROJECT / name, checkout.root / name
        if source.is_dir():
            # With the compiled kernels: compiling them anew for each copy would take most of the tests' time.
            shutil.copytree(source, target)
        else:
            shutil.copy(source, target)
    checkout.virtual_environment.symlink_to(sys.prefix)
    yield Copy(checkout)
    processes.end(processes.carrying(MARK_VARIABLE, str(checkout.root)))
