"""Static files under hashed names: every module is loaded under one name, however deep the imports go."""

import json
import re
from pathlib import Path

import pytest

from tests.config.clean_shell import KEY, NOWHERE, run

# A statement, which may span lines; not a type in a comment, which writes import("...").
IMPORTED = re.compile(r"""(?m)^\s*(?:(?:import|export)\b[^;'"()]*\bfrom\s*|import\s*)['"](\.[^'"]+)['"]""")
DEPTH = 12


def collect(folder: Path, **variables: str) -> Path:
    """Collect the project's static files into a folder."""
    words = ("manage.py", "collectstatic", "--no-input", "--verbosity", "0")
    done = run(*words, SECRET_KEY=KEY, DATABASE_URL=NOWHERE, STATIC_ROOT=str(folder), **variables)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return folder


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project's static files as they are served."""
    return collect(tmp_path_factory.mktemp("static"))


def test_every_import_names_a_hashed_file_that_is_there(collected: Path) -> None:
    hashed = json.loads((collected / "staticfiles.json").read_text())["paths"]
    for plain, name in hashed.items():
        if not plain.startswith(("base/", "conflicts/", "locates/")) or not plain.endswith(".js"):
            continue
        for imported in IMPORTED.findall((collected / name).read_text()):
            target = (collected / name).parent / imported
            assert target.resolve().relative_to(collected.resolve()).as_posix() in hashed.values(), (
                plain,
                imported,
            )


def test_a_chain_of_imports_longer_than_the_projects_is_settled(tmp_path: Path) -> None:
    source = tmp_path / "source"
    source.mkdir()
    for number in range(DEPTH):
        text = f'import {{ a }} from "./m{number + 1:02}.js";\nexport {{ a }};\n'
        (source / f"m{number:02}.js").write_text(text)
    # A type in a comment points back at the first: no import, so no circle.
    (source / f"m{DEPTH:02}.js").write_text('/** @type {import("./m00.js").A} */\nexport const a = 1;\n')
    settings = ("from config.settings import *", f"STATICFILES_DIRS = [{str(source)!r}]")
    (tmp_path / "chain_settings.py").write_text("\n".join(settings))
    folder = collect(tmp_path / "made", DJANGO_SETTINGS_MODULE="chain_settings", PYTHONPATH=str(tmp_path))
    hashed = json.loads((folder / "staticfiles.json").read_text())["paths"]
    for number in range(DEPTH):
        assert hashed[f"m{number + 1:02}.js"] in (folder / hashed[f"m{number:02}.js"]).read_text()
