"""Django's commands in a fresh copy: the private database comes up when it is needed, and not else."""

import subprocess

import pytest

from config.cluster import Cluster
from tests.config.clean_shell import KEY
from tests.config.conftest import Copy

STARTED = "The private database was not running: started it"


def test_a_command_that_needs_the_database_starts_it_and_says_so_on_standard_error(
    project_copy: Copy,
) -> None:
    first = project_copy.manage("showmigrations", "locates")
    assert first.returncode == 0, first.stderr
    assert STARTED in first.stderr
    assert STARTED not in first.stdout
    second = project_copy.manage("showmigrations", "locates")
    assert (second.returncode, second.stderr) == (0, "")
    assert Cluster.of(project_copy.checkout).is_ready()


@pytest.mark.parametrize("words", [["check"], ["help"], ["migrate", "--help"], ["--version"], []])
def test_a_command_that_asks_no_database_starts_none(project_copy: Copy, words: list[str]) -> None:
    done = project_copy.manage(*words)
    assert done.returncode == 0, done.stderr
    assert not Cluster.of(project_copy.checkout).is_ready()


def test_the_database_is_started_and_stopped_by_hand(project_copy: Copy) -> None:
    told = [
        project_copy.manage("database", action).stdout.strip()
        for action in ("status", "start", "start", "status", "stop", "stop", "status")
    ]
    assert told == [
        "not running",
        "started",
        "running already",
        "running",
        "stopped",
        "not running",
        "not running",
    ]


def test_the_database_is_found_by_its_url(project_copy: Copy) -> None:
    project_copy.manage("database", "start")
    url = project_copy.manage("database", "url").stdout.strip()
    asked = subprocess.run(
        ["psql", "-At", "-c", "SELECT 1", url], capture_output=True, text=True, check=False
    )
    assert asked.stdout == "1\n"


def test_a_database_of_somebodys_own_leaves_everything_alone(project_copy: Copy) -> None:
    done = project_copy.manage(
        "showmigrations", DATABASE_URL="postgres://nobody@/x?host=/nowhere", SECRET_KEY=KEY
    )
    assert done.returncode != 0
    assert "/nowhere" in done.stderr
    assert not (project_copy.checkout.root / ".pg").exists()


def test_a_database_of_somebodys_own_needs_a_key_of_their_own(project_copy: Copy) -> None:
    done = project_copy.manage("check", DATABASE_URL="postgres://nobody@/x?host=/nowhere")
    assert done.returncode != 0
    assert "SECRET_KEY is not set" in done.stderr


def test_without_a_debug_flag_the_fresh_copy_is_safe_to_deploy(project_copy: Copy) -> None:
    done = project_copy.manage("check", "--deploy", "--fail-level", "DEBUG")
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""


def test_an_option_that_is_not_known_is_refused_before_anything_is_made(project_copy: Copy) -> None:
    for words in (["demo", "--nonsense"], ["demo", "--port", "0"], ["database", "nonsense"]):
        done = project_copy.manage(*words)
        assert (done.returncode, done.stdout) == (2, "")
    assert not (project_copy.checkout.root / ".run").exists()
