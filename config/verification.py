"""`python3 manage.py test`: every check of the project, pytest last so that its summary closes the output.

Standard library alone.
"""

import os
import subprocess
from pathlib import Path

from config.checkout import Checkout, SetUpError
from config.cluster import Cluster
from config.embedded import (
    TESTS,
    make_database_ready,
    make_packages_ready,
    may_ask,
    names_own_database,
    run_quietly,
    use_own_key,
    use_private_parts_as_owner,
)
from config.progress import Progress
from config.system_packages import PROGRAM_GROUPS

PURPOSE = "tests"


def run_tests(checkout: Checkout, words: list[str]) -> int:
    """Make all ready and run every check; with words, pytest alone with these as its arguments."""
    progress = Progress()
    environment = dict(os.environ)
    own_database = names_own_database(environment)
    groups = [*PROGRAM_GROUPS, "test"] if own_database else [*PROGRAM_GROUPS, "database", "test"]
    make_packages_ready(checkout, groups, TESTS, progress, ask=may_ask())
    if own_database:
        use_own_key(checkout, environment)
    else:
        use_private_parts_as_owner(checkout, environment)
    try:
        if not own_database:
            make_database_ready(checkout, PURPOSE, progress)
        failed = [] if words else run_checks(checkout, environment, progress)
        status = subprocess.run(
            [checkout.python, "-m", "pytest", *words], cwd=checkout.root, env=environment, check=False
        ).returncode
    finally:
        cluster = None if own_database else Cluster.of(checkout)
        if cluster and cluster.purpose() == PURPOSE:
            cluster.stop()
    return status or int(bool(failed))


# djlint hands pathspec to its workers, which takes RE2 where it is installed; RE2's sets cannot be handed on.
DJLINT = "import runpy, sys; sys.modules['re2'] = None; runpy.run_module('djlint', run_name='__main__')"


def run_checks(checkout: Checkout, environment: dict[str, str], progress: Progress) -> list[str]:
    """Run every check but pytest, each whatever the others say, and give the titles of those that failed."""
    failed = []
    for title, command in checks(checkout):
        try:
            with progress.step(title):
                run_quietly(command, checkout.root, environment)
        except SetUpError as error:
            progress.say(str(error))
            failed.append(title)
    told = f"FAILED: {', '.join(failed)}" if failed else "all passed"
    progress.say(f"Checks before the tests: {told}\n")
    return failed


def checks(checkout: Checkout) -> list[tuple[str, list[str | Path]]]:
    """Give every check but pytest: a title, and a command that fails when the check does."""
    python, manage = checkout.python, checkout.root / "manage.py"
    found: list[tuple[str, list[str | Path]]] = [
        ("ruff check", [python, "-m", "ruff", "check", "."]),
        ("ruff format", [python, "-m", "ruff", "format", "--check", "."]),
        ("mypy", [python, "-m", "mypy"]),
        ("templates (djlint)", [python, "-c", DJLINT, "--lint", "--quiet", "templates"]),
        ("migrations complete", [python, manage, "makemigrations", "--check", "--dry-run"]),
        ("safe to deploy", [python, manage, "check", "--deploy", "--fail-level", "WARNING"]),
    ]
    scripts = sorted((checkout.root / "tests" / "js").rglob("*.test.*js"))
    if scripts:
        found.append(("scripts (node --test)", ["node", "--test", *scripts]))
    return found
