"""The private environment of Python packages: made once, brought up to date when the pins change.

Standard library alone.
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

from config.checkout import Checkout, SetUpError

OLDEST_PYTHON = (3, 11)


def is_current(checkout: Checkout, requirements: Path) -> bool:
    """Whether the environment works and holds exactly what the requirements' text asks for."""
    stamp = stamp_file(checkout, requirements)
    return stamp.exists() and stamp.read_text() == fingerprint(requirements) and works(checkout)


def bring_up_to_date(checkout: Checkout, requirements: Path) -> None:
    """Make the environment where there is none that works, and install the requirements into it."""
    if not works(checkout):
        # Links to the interpreter: a copy would miss its library, and an updated system keeps working.
        venv.EnvBuilder(clear=True, symlinks=True, with_pip=True).create(checkout.virtual_environment)
    stamp = stamp_file(checkout, requirements)
    stamp.unlink(missing_ok=True)
    pip = [str(checkout.python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    done = subprocess.run(
        [*pip, "-r", str(requirements)], capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
    )
    if done.returncode != 0:
        raise SetUpError(f"pip could not install {requirements.name}:\n{done.stdout}{done.stderr}")
    stamp.write_text(fingerprint(requirements))


def works(checkout: Checkout) -> bool:
    """Whether its interpreter starts, is new enough and has pip; one cut off half-way does not."""
    if not checkout.python.exists():
        return False
    question = f"import sys, pip; sys.exit(sys.version_info < {OLDEST_PYTHON})"
    asked = subprocess.run([checkout.python, "-c", question], capture_output=True, check=False)
    return asked.returncode == 0


def is_inside(checkout: Checkout) -> bool:
    """Whether this process runs in the environment."""
    return Path(sys.prefix).resolve() == checkout.virtual_environment.resolve()


def enter(checkout: Checkout, argv: list[str]) -> None:
    """Go on in the environment's interpreter, in the same process; comes back only if it is there already."""
    if not is_inside(checkout):
        sys.stdout.flush()
        sys.stderr.flush()
        os.execv(checkout.python, [str(checkout.python), str(checkout.root / "manage.py"), *argv[1:]])  # noqa: S606


def stamp_file(checkout: Checkout, requirements: Path) -> Path:
    """Give the note of what was installed last."""
    name = "-".join(requirements.relative_to(checkout.root).with_suffix("").parts)
    return checkout.virtual_environment / f".installed-{name}"


def fingerprint(requirements: Path) -> str:
    """Give a digest of the requirements, with those of the files that they include."""
    digest = hashlib.sha256()
    for line in requirements.read_text().splitlines():
        digest.update(line.encode())
        if line.startswith("-r "):
            digest.update((requirements.parent / line.removeprefix("-r ").strip()).read_bytes())
    return digest.hexdigest()
