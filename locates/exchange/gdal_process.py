"""Starts GDAL in a process of its own, in a folder of its own, with the one driver that is needed."""

import json
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from locates.exchange.vector_errors import VectorFileError

PROGRAM = Path(__file__).with_name("gdal_child.py")
LONGEST_WAIT_S = 25  # a web server gives a request 30 s

_REQUEST_FILE, _ANSWER_FILE = "request.json", "answer.json"
_ENVIRONMENT = {
    "OPENBLAS_NUM_THREADS": "1",  # each thread maps memory of its own
    "GDAL_NUM_THREADS": "1",
    "CPL_VSIL_CURL_ALLOWED_FILENAME": "none",  # no address is this one
    "OGR_CURRENT_DATE": "2000-01-01T00:00:00.000Z",  # the same records give the same bytes
    "GPX_ELE_AS_25D": "YES",
    "DXF_WRITE_HATCH": "NO",
    "LC_ALL": "C.UTF-8",
}


def ask_gdal(task: str, request: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Let GDAL read or write a file of a private folder; a file that breaks it is refused."""
    environment = {**_ENVIRONMENT, "GDAL_SKIP": ",".join(_drivers() - {request["driver"]})}
    if task == "write":
        environment["LIBKML_NAME_FIELD"] = "ref"
    (folder / _REQUEST_FILE).write_text(json.dumps(request))
    answer = _run(task, folder, environment)
    if "refusal" in answer:
        raise VectorFileError(answer["refusal"], "a file of plain layers")
    return answer


def files_by_gdal(request: dict[str, Any]) -> dict[str, bytes]:
    """Files that GDAL writes, by name."""
    with tempfile.TemporaryDirectory(prefix="vector-") as folder:
        files = ask_gdal("write", request, Path(folder))["files"]
        return {name: (Path(folder) / name).read_bytes() for name in files}


@cache
def _drivers() -> frozenset[str]:
    """Every driver that this GDAL has."""
    finished = subprocess.run(
        [sys.executable, "-I", "-c", "import json, pyogrio; print(json.dumps(list(pyogrio.list_drivers())))"],
        capture_output=True,
        check=True,
        env=_ENVIRONMENT,
        timeout=LONGEST_WAIT_S,
    )
    return frozenset(json.loads(finished.stdout))


def _run(task: str, folder: Path, environment: dict[str, str]) -> dict[str, Any]:
    accepted = "a whole, sound file of this format"
    try:
        finished = subprocess.run(  # noqa: S603 - the program and the task are this project's own words
            [sys.executable, "-I", PROGRAM, task],
            cwd=folder,
            env=environment,
            capture_output=True,
            check=False,
            timeout=LONGEST_WAIT_S,
        )
    except subprocess.TimeoutExpired as error:
        raise VectorFileError("a file that takes too long to read", accepted) from error
    if finished.returncode != 0:
        complaint = finished.stderr.decode(errors="replace").strip().splitlines()
        told = complaint[-1].rpartition(": ")[2][:200] if complaint else f"status {finished.returncode}"
        raise VectorFileError(f"what cannot be read ({told})", accepted)
    answer: dict[str, Any] = json.loads((folder / _ANSWER_FILE).read_text())
    return answer
