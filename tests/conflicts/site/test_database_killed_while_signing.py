"""PostgreSQL killed in the middle of signing: after its recovery all that was acknowledged is there, once.

The machine itself stays up, so this shows that a signature is acknowledged after its transaction is in the
write-ahead log, and that recovery leaves nothing by halves; that the log reaches the disk is ``fsync``.
"""

import json
import subprocess
import sys
import time
from threading import Event

import pytest
from django.conf import settings

from config.cluster import Cluster
from tests.celery_crew import site_environment
from tests.config.questions import ask
from tests.factories import person_in_role
from tests.http_signers import (
    Signer,
    Visitor,
    acknowledged_of,
    papers_of,
    send_all_again,
    signing_on,
    wait_for_more,
)
from tests.private_database import copy_of_test_database, kill_server
from tests.site_of_today import bore_of_today
from tests.web_server import web_server_in

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

KILLS = 2
# A kill that falls between two requests shows little: there are more until one falls into the middle of one.
MOST_KILLS = 15
PEOPLE = 2
TABLES = {
    "walk": "conflicts_dailywalk",
    "watch": "conflicts_crossingwatch",
    "release": "conflicts_release",
}
RECOVERED = "automatic recovery in progress"


def stored(cluster: Cluster) -> dict[str, list[str]]:
    """Ids of all signed records, by kind."""
    sql = "SELECT id FROM {} ORDER BY id"
    return {kind: ask(cluster, sql.format(table)).split() for kind, table in TABLES.items()}


def entered(cluster: Cluster) -> dict[str, list[str]]:
    """Ids that the ledger has, by kind."""
    sql = "SELECT record_id FROM locates_ledgerentry WHERE kind = '{}' ORDER BY record_id"
    return {kind: ask(cluster, sql.format(kind)).split() for kind in TABLES}


def assert_proven(cluster: Cluster) -> None:
    """Have the command itself prove the chain."""
    done = subprocess.run(
        [sys.executable, "-m", "django", "verify_ledger", "--format", "json"],
        cwd=settings.BASE_DIR,
        env=site_environment() | {"DATABASE_URL": cluster.url, "PYTHONPATH": str(settings.BASE_DIR)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    told = json.loads(done.stdout)
    assert told["is_proven"]
    assert told["proven_entries"] == int(ask(cluster, "SELECT count(*) FROM locates_ledgerentry"))


def test_every_acknowledged_signature_outlives_the_database_server(tmp_path):
    bore, is_over = bore_of_today(), Event()
    people = [person_in_role("Foreman").username for _ in range(PEOPLE)]
    with copy_of_test_database() as cluster, web_server_in(tmp_path, DATABASE_URL=cluster.url) as server:
        for setting in ("fsync", "synchronous_commit", "full_page_writes"):
            assert ask(cluster, f"SHOW {setting}") == "on"
        signers = [Signer(Visitor(server.port, one), papers_of(bore), is_over) for one in people]
        with signing_on(signers):
            for number in range(MOST_KILLS):
                if number >= KILLS and any(one.unanswered for one in signers):
                    break
                wait_for_more(signers, 6, server.program.said)
                # At another point of their work each time.
                time.sleep(0.017 * number)
                kill_server(cluster)
                cluster.start("test")
                assert cluster.log.read_text().count(RECOVERED) == number + 1
        there, in_ledger = stored(cluster), entered(cluster)
        assert any(one.unanswered for one in signers), "no kill fell into the middle of a request"
        for kind, keys in there.items():
            assert {str(key) for key in acknowledged_of(signers, kind)} <= set(keys)
            assert in_ledger[kind] == keys
        assert_proven(cluster)
        send_all_again(signers)
        assert (stored(cluster), entered(cluster)) == (there, in_ledger)
