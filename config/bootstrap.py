"""What `python3 manage.py` does before Django: its own commands, and what Django's need to be ready.

Standard library alone, since it starts on a machine with nothing but Python.
"""

import argparse
import importlib.util
import os
import sys
from pathlib import Path

from config import virtual_environment
from config.checkout import Checkout, SetUpError
from config.cluster import Cluster
from config.demo import run_demo
from config.embedded import RUNTIME, make_packages_ready, may_ask, names_own_database, use_private_parts
from config.owner import ask_as_owner
from config.progress import Progress
from config.system_packages import PROGRAM_GROUPS
from config.verification import run_tests

# Django's commands that never ask the database.
WITHOUT_DATABASE = {
    "check",
    "collectstatic",
    "compilemessages",
    "diffsettings",
    "findstatic",
    "help",
    "makemessages",
    "startapp",
    "startproject",
    "version",
}


def prepare(argv: list[str]) -> None:
    """Do a command of the set-up and exit with its status, or make ready what Django's command needs."""
    checkout = Checkout(Path(__file__).resolve().parent.parent)
    try:
        command = argv[1] if len(argv) > 1 else "help"
        if command in OWN_COMMANDS:
            sys.exit(OWN_COMMANDS[command](checkout, argv[2:]))
        make_ready(checkout, argv, command)
        ask_as_owner(command, os.environ)
    except SetUpError as error:
        sys.stderr.write(f"{error}\n")
        sys.exit(error.status)
    except PermissionError as error:
        sys.stderr.write(f"{error.strerror}: {error.filename}. Run this as the account that made it.\n")
        sys.exit(1)
    except KeyboardInterrupt:
        sys.stderr.write("\nStopped.\n")
        sys.exit(130)


def make_ready(checkout: Checkout, argv: list[str], command: str) -> None:
    """Enter the environment of packages, and start the private database if the command needs it."""
    own_database = names_own_database(os.environ)
    # Someone who names a database and has the packages runs a set-up of their own: it is left alone.
    if own_database and importlib.util.find_spec("django") is not None:
        return
    progress = Progress(sys.stderr)
    asks_database = not own_database and needs_database(argv, command)
    if not virtual_environment.is_inside(checkout):
        groups = [*PROGRAM_GROUPS, "database"] if asks_database else [*PROGRAM_GROUPS]
        make_packages_ready(checkout, groups, RUNTIME, progress, ask=may_ask())
        virtual_environment.enter(checkout, argv)
    if not own_database:
        use_private_parts(checkout, os.environ)
    if asks_database and Cluster.of(checkout).start(f"manage.py {command}"):
        progress.say("The private database was not running: started it (`manage.py database stop` ends it).")


def needs_database(argv: list[str], command: str) -> bool:
    """Whether a command of Django's may ask the database."""
    if command.startswith("-") or not {"-h", "--help", "--version"}.isdisjoint(argv[2:]):
        return False
    return command not in WITHOUT_DATABASE or "--database" in argv


def run_database(checkout: Checkout, words: list[str]) -> int:
    """Start or stop the private database by hand, or tell of it."""
    parser = argparse.ArgumentParser(
        prog="manage.py database", description="The private database of this folder."
    )
    parser.add_argument("action", choices=["start", "stop", "status", "url"])
    action = parser.parse_args(words).action
    cluster = Cluster.of(checkout)
    if action == "url":
        told = cluster.url
    elif action == "start":
        told = "started" if cluster.start("manage.py database start") else "running already"
    elif action == "stop":
        told = "stopped" if cluster.stop() else "not running"
    else:
        told = "running" if cluster.is_ready() else "not running"
    sys.stdout.write(f"{told}\n")
    return 0


OWN_COMMANDS = {"demo": run_demo, "test": run_tests, "database": run_database}
