"""Which system packages are missing, and what is told or run to get them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from config.checkout import SetUpError
from config.postgres import program_folder
from config.system_packages import (
    CHECKS,
    MISSING_STATUS,
    PROGRAM_GROUPS,
    Means,
    advice,
    installing_lines,
    missing_groups,
    packages_of,
)
from tests.config.clean_shell import PROJECT

EMPTY_PATH_CODE = """
import sys
from pathlib import Path
from config.checkout import SetUpError
from config.progress import Progress
from config.system_packages import missing_groups, provide
print(missing_groups(["test"]))
try:
    provide(["test"], Progress(), Path("apt.log"), ask=False)
except SetUpError as error:
    print(error)
    sys.exit(error.status)
"""


def test_every_group_of_the_list_has_its_check() -> None:
    lines = (PROJECT / "config" / "packages.txt").read_text().splitlines()
    groups = {line.split()[0] for line in lines if line and not line.startswith("#")}
    assert groups == set(CHECKS)


def test_a_comment_is_no_package() -> None:
    assert packages_of(["a"], "# a none\na one # for this\nb two\n\na three\n") == ["one", "three"]


def test_what_these_tests_run_on_is_not_missing() -> None:
    assert missing_groups([*PROGRAM_GROUPS, "database", "test"]) == []


def test_a_folder_without_a_postgresql_has_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    (tmp_path / "15" / "bin").mkdir(parents=True)
    assert program_folder(versions=tmp_path) is None


def test_a_version_that_is_not_there_is_not_taken_from_another() -> None:
    found = program_folder()
    assert found is not None
    assert program_folder("9") is None


def test_without_apt_the_lines_for_other_systems_are_shown_and_the_status_says_missing(
    tmp_path: Path,
) -> None:
    environment = {name: value for name, value in os.environ.items() if name != "CHROMIUM"}
    done = subprocess.run(
        [sys.executable, "-c", EMPTY_PATH_CODE],
        cwd=tmp_path,
        env={**environment, "PATH": str(tmp_path), "PYTHONPATH": str(PROJECT)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == MISSING_STATUS, done.stderr
    assert done.stdout.startswith("['test']\n")
    assert "sudo dnf install" in done.stdout
    assert "brew install" in done.stdout
    assert "chromium, nodejs, redis-server" in done.stdout


def test_root_installs_without_sudo() -> None:
    lines = installing_lines(
        ["database"], Means(has_apt=True, has_sudo=True, is_root=True, at_terminal=False)
    )
    assert lines[0] == ["apt-get", "update", "-qq"]
    assert lines[1][-2:] == ["postgresql", "postgresql-postgis"]
    assert "sudo" not in lines[1]


@pytest.mark.parametrize(("at_terminal", "sudo"), [(True, ["sudo"]), (False, ["sudo", "--non-interactive"])])
def test_a_user_installs_with_sudo_which_may_ask_only_at_a_terminal(
    at_terminal: bool, sudo: list[str]
) -> None:
    means = Means(has_apt=True, has_sudo=True, is_root=False, at_terminal=at_terminal)
    for line in installing_lines(["geography"], means):
        assert line[: len(sudo) + 1] in ([*sudo, "apt-get"], [*sudo, "env"])


def test_a_user_without_sudo_is_shown_the_lines_for_root() -> None:
    means = Means(has_apt=True, has_sudo=False, is_root=False, at_terminal=True)
    with pytest.raises(SetUpError, match="As root, run\n  apt-get update -qq\n  env DEBIAN") as shown:
        installing_lines(["python"], means)
    assert shown.value.status == MISSING_STATUS
    assert "python3-venv" in str(shown.value)


def test_a_python_that_is_not_the_systems_is_told_its_own_package() -> None:
    assert f"python{sys.version_info.major}.{sys.version_info.minor}-venv" in advice(["python"])
