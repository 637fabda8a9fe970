"""The embedded set-up: packages, environment and private database of one checkout, made ready when needed.

Standard library alone.
"""

import subprocess
import sys
from collections.abc import Mapping, MutableMapping
from pathlib import Path

from config import virtual_environment
from config.checkout import Checkout, SetUpError
from config.cluster import Cluster
from config.progress import Progress
from config.system_packages import provide

RUNTIME, TESTS = "requirements.txt", "tests/requirements.txt"


def names_own_database(environment: Mapping[str, str]) -> bool:
    """Whether somebody has named a database, so that the private one is not wanted."""
    return bool(environment.get("DATABASE_URL", "").strip())


def use_private_parts(checkout: Checkout, environment: MutableMapping[str, str]) -> None:
    """Name the private database and the key of this checkout to whatever is started with this environment."""
    cluster = Cluster.of(checkout)
    environment["DATABASE_URL"], environment["OWNER_DATABASE_URL"] = cluster.serving_url, cluster.url
    use_own_key(checkout, environment)


def use_private_parts_as_owner(checkout: Checkout, environment: MutableMapping[str, str]) -> None:
    """Do the same for who makes and drops databases of their own."""
    use_private_parts(checkout, environment)
    environment["DATABASE_URL"] = environment.pop("OWNER_DATABASE_URL")


def use_own_key(checkout: Checkout, environment: MutableMapping[str, str]) -> None:
    """Name the key of this checkout, unless another is named."""
    if not environment.get("SECRET_KEY", "").strip():
        environment["SECRET_KEY"] = checkout.secret_key()


def make_packages_ready(
    checkout: Checkout, groups: list[str], requirements: str, progress: Progress, *, ask: bool
) -> None:
    """Install the missing system packages and Python packages; the requirements' file names the latter."""
    wanted = groups if virtual_environment.works(checkout) else ["python", *groups]
    provide(wanted, progress, checkout.make_run_folder() / "apt.log", ask=ask)
    pins = checkout.root / requirements
    with checkout.lock("environment"):
        if not virtual_environment.is_current(checkout, pins):
            with progress.step("Python packages into .venv"):
                virtual_environment.bring_up_to_date(checkout, pins)


def make_database_ready(checkout: Checkout, purpose: str, progress: Progress) -> None:
    """Start the private database of this checkout, made first where there is none."""
    cluster = Cluster.of(checkout)
    if not cluster.is_ready():
        with progress.step("Private PostGIS database"):
            cluster.start(purpose)


def run_quietly(command: list[str | Path], root: Path, environment: Mapping[str, str]) -> str:
    """Run a program to its end and give what it printed; a failure carries its words."""
    done = subprocess.run(
        command,
        cwd=root,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    if done.returncode != 0:
        raise SetUpError(f"{' '.join(map(str, command))} failed:\n{done.stdout}")
    return done.stdout


def may_ask(*, yes: bool = False) -> bool:
    """Whether there is somebody at a terminal to ask, who has not said yes beforehand."""
    return sys.stdin.isatty() and not yes
