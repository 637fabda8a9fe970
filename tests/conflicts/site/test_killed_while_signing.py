"""A process killed while it signs loses nothing that it acknowledged, and leaves nothing by halves."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from conflicts.models import DailyWalk
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry
from tests import factories
from tests.celery_crew import site_environment
from tests.polling import wait_until

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

ROOT = Path(__file__).resolve().parents[3]
CHILD = Path(__file__).with_name("signing_child.py")
KILLS = 4


def test_every_acknowledged_signature_outlives_a_kill(tmp_path):
    bore = factories.small_job().bores.get()
    person = factories.person_in_role("Foreman")
    acknowledged: set[str] = set()
    for number in range(KILLS):
        told = tmp_path / f"{number}.txt"
        with told.open("wb") as out:
            child = subprocess.Popen(
                [sys.executable, CHILD, str(bore.pk), str(person.pk)],
                cwd=ROOT,
                env=site_environment() | {"PYTHONPATH": str(ROOT)},
                stdout=out,
            )
            try:
                wait_until(
                    lambda told=told: len(told.read_text().splitlines()) >= 3, "three signatures", 60.0
                )
                # At another point of its work each time.
                time.sleep(0.013 * number)
            finally:
                os.kill(child.pid, signal.SIGKILL)
                child.wait()
        acknowledged |= {line for line in told.read_text().splitlines() if len(line) == 36}
        stored = {str(key) for key in DailyWalk.objects.values_list("pk", flat=True)}
        entered = {str(key) for key in LedgerEntry.objects.values_list("record_id", flat=True)}
        assert len(acknowledged) >= 3 * (number + 1)
        assert acknowledged <= stored
        assert stored == entered
        assert prove_ledger().fault is None
