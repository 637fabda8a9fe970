"""A record of the same inputs is the same file, to the byte, in another process too."""

import hashlib
import json
import os
import subprocess
import sys

import pytest
from django.conf import settings

from conflicts.record.render import render_record
from tests import factories
from tests.celery_crew import site_environment
from tests.clearance_records import read_clearance_record

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PROGRAM = """
import hashlib, json, sys
from datetime import datetime
import django
django.setup()
from tests.clearance_records import read_clearance_record
from conflicts.record.render import render_record
record = read_clearance_record(sys.argv[1], datetime.fromisoformat(sys.argv[2]))
content = render_record(record).content
print(json.dumps([record.inputs_digest(), hashlib.sha256(content).hexdigest()]))
"""


def made_elsewhere(bore, seed: str) -> list[str]:
    """Digest of the record and of its file, by a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(bore.pk), factories.PLANNED_START_AT.isoformat()],
        cwd=settings.BASE_DIR,
        env=site_environment()
        | {"PYTHONHASHSEED": seed, "PYTHONPATH": str(settings.BASE_DIR), "TZ": "Asia/Tokyo"},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_processes_with_other_hash_seeds_make_the_same_file():
    bore = factories.small_job().bores.get()
    record = read_clearance_record(bore.pk, factories.PLANNED_START_AT)
    here = [record.inputs_digest(), hashlib.sha256(render_record(record).content).hexdigest()]
    assert os.environ.get("PYTHONHASHSEED", "random") not in ("1", "2")
    assert made_elsewhere(bore, "1") == here
    assert made_elsewhere(bore, "2") == here


def test_another_moment_is_another_file():
    bore = factories.small_job().bores.get()
    files = {
        hashlib.sha256(render_record(read_clearance_record(bore.pk, at)).content).hexdigest()
        for at in (factories.PLANNED_START_AT, factories.PLANNED_FINISH_AT)
    }
    assert len(files) == 2
