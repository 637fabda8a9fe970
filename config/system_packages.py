"""The programs and libraries that come from the system: which are missing here, and how to get them.

What counts is whether a thing can be used, not which package brought it. Standard library alone.
"""

import ctypes.util
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from config.checkout import SetUpError
from config.postgres import program_folder
from config.progress import Progress

LIST = Path(__file__).with_name("packages.txt")
MISSING_STATUS = 3  # the exit status that says: install these first
PROGRAM_GROUPS = ("geography", "paper")
"""What the program itself needs wherever it runs."""

FONT_FOLDERS = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path.home() / ".local/share/fonts",
    Path.home() / "Library/Fonts",
    Path("/Library/Fonts"),
)
CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
APT_INSTALL = ("apt-get", "install", "-y", "-qq", "--no-install-recommends")
OTHER_SYSTEMS = {
    "Fedora and its kin": "sudo dnf install postgresql-server postgis gdal geos proj pango dejavu-sans-fonts "
    "chromium nodejs redis",
    "Arch": "sudo pacman -S postgresql postgis gdal pango ttf-dejavu chromium nodejs redis",
    "macOS with Homebrew": "brew install postgresql@17 postgis gdal pango node redis; "
    "brew install --cask chromium font-dejavu",
}


def has_geography() -> bool:
    """Whether the libraries are here that Django's geometry fields load."""
    return all(ctypes.util.find_library(name) for name in ("gdal", "geos_c", "proj"))


def has_paper() -> bool:
    """Whether the libraries and the face are here that PDFs are laid out with."""
    libraries = ("pango-1.0", "pangoft2-1.0", "harfbuzz-subset")
    return all(map(ctypes.util.find_library, libraries)) and any(
        True for folder in FONT_FOLDERS for _ in folder.rglob("DejaVuSans.ttf")
    )


def has_chromium() -> bool:
    """Whether a Chromium can be started, by its name or by the path in CHROMIUM."""
    return bool(os.environ.get("CHROMIUM")) or any(map(shutil.which, CHROMIUM_NAMES))


CHECKS: dict[str, Callable[[], object]] = {
    "python": lambda: importlib.util.find_spec("ensurepip"),
    "geography": has_geography,
    "paper": has_paper,
    "database": program_folder,
    "test": lambda: has_chromium() and shutil.which("node") and shutil.which("redis-server"),
}


def missing_groups(groups: Iterable[str]) -> list[str]:
    """Give those groups of packages.txt that cannot be used here as things are."""
    return [group for group in groups if not CHECKS[group]()]


def packages_of(groups: Iterable[str], text: str | None = None) -> list[str]:
    """Give the packages of some groups, from packages.txt."""
    wanted = set(groups)
    lines = (LIST.read_text() if text is None else text).splitlines()
    fields = [line.split("#")[0].split() for line in lines]
    return [name for group, name in filter(None, fields) if group in wanted]


@dataclass(frozen=True)
class Means:
    """What this machine and this account can do about a missing package."""

    has_apt: bool
    has_sudo: bool
    is_root: bool
    at_terminal: bool

    @classmethod
    def here(cls) -> "Means":
        """Look at this machine."""
        return cls(
            has_apt=shutil.which("apt-get") is not None,
            has_sudo=shutil.which("sudo") is not None,
            is_root=os.geteuid() == 0,
            at_terminal=sys.stdin.isatty(),
        )


def provide(groups: list[str], progress: Progress, log: Path, *, ask: bool) -> None:
    """Install what is missing with apt, asking first if told to; without apt or the right to, say how."""
    missing = missing_groups(groups)
    if not missing:
        return
    lines = installing_lines(missing, Means.here())
    if ask:
        sys.stdout.write(f"Missing here: {', '.join(packages_of(missing))}. To install:\n{shown(lines)}\n")
        if input("Run these lines now? [y/N] ").strip().lower() not in {"y", "yes"}:
            raise SetUpError(f"Nothing was installed. Run\n{shown(lines)}\nand start again.", MISSING_STATUS)
    if lines[0][0] == "sudo":
        subprocess.run([*lines[0][: lines[0].index("apt-get")], "-v"], check=False)  # asks the password first
    with progress.step(f"System packages ({', '.join(packages_of(missing))})"), log.open("wb") as output:
        for line in lines:
            done = subprocess.run(
                line, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT, check=False
            )
    if done.returncode != 0:  # of the last line: one package list of many that fails need not matter
        told = log.read_text(errors="replace")[-2000:]
        raise SetUpError(f"{told}\nInstalling failed; run these by hand:\n{shown(lines)}", MISSING_STATUS)
    still = missing_groups(missing)
    if still:
        raise SetUpError(
            f"Installed, and still not usable by {sys.executable}: {', '.join(packages_of(still))}."
            f"{advice(still)}",
            MISSING_STATUS,
        )


def installing_lines(missing: list[str], means: Means) -> list[list[str]]:
    """Give the commands that install the missing groups; where they cannot run, raise with what to do."""
    if not means.has_apt:
        raise SetUpError(other_systems(missing), MISSING_STATUS)
    packages = packages_of(missing)
    sudo: list[str] = []
    if not means.is_root:
        sudo = ["sudo"] if means.at_terminal else ["sudo", "--non-interactive"]
    lines = [
        [*sudo, "apt-get", "update", "-qq"],
        [*sudo, "env", "DEBIAN_FRONTEND=noninteractive", *APT_INSTALL, *packages],
    ]
    if not means.is_root and not means.has_sudo:
        by_root = [line[len(sudo) :] for line in lines]
        raise SetUpError(
            f"Missing here: {', '.join(packages)}. As root, run\n{shown(by_root)}", MISSING_STATUS
        )
    return lines


def shown(lines: list[list[str]]) -> str:
    """Word commands as a person would type them."""
    return "\n".join(f"  {' '.join(line)}" for line in lines)


def advice(groups: list[str]) -> str:
    """Say what else may help, where the package alone does not."""
    words = ""
    if "python" in groups:
        words += f" For this Python it may be python{sys.version_info.major}.{sys.version_info.minor}-venv."
    if "test" in groups:
        words += " Where Chromium is no plain package (Ubuntu), install any and name its program in CHROMIUM."
    return words


def other_systems(missing: list[str]) -> str:
    """Say what to install on a system without apt."""
    wanted = ", ".join(packages_of(missing))
    lines = "\n".join(f"  {system}: {line}" for system, line in OTHER_SYSTEMS.items())
    return (
        f"Missing here, by their Debian names: {wanted}. This system has no apt; by hand:\n{lines}\n"
        f"On others: Python 3.11 or newer with venv, PostgreSQL with PostGIS 3, GDAL; for the tests "
        f"Chromium, Node.js and Redis."
    )
