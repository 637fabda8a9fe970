"""The web server killed in the middle of signing: what it acknowledged is there once, nothing by halves."""

import time
from threading import Event

import pytest

from conflicts.models import CrossingWatch, DailyWalk, Release
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry
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
from tests.site_of_today import bore_of_today
from tests.web_server import web_server_in

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

KILLS = 3
# A kill that falls between two requests shows little: there are more until one falls into the middle of one.
MOST_KILLS = 15
PEOPLE = 2
MODELS = {"walk": DailyWalk, "watch": CrossingWatch, "release": Release}


def stored() -> dict[str, set]:
    """Ids of all signed records, by kind."""
    return {kind: set(model.objects.values_list("pk", flat=True)) for kind, model in MODELS.items()}


def entered() -> dict[str, list]:
    """Ids that the ledger has, by kind, in order."""
    return {
        kind: sorted(LedgerEntry.objects.filter(kind=kind).values_list("record_id", flat=True))
        for kind in MODELS
    }


def test_every_signature_that_the_site_acknowledged_outlives_its_web_server(tmp_path):
    bore, is_over = bore_of_today(), Event()
    people = [person_in_role("Foreman").username for _ in range(PEOPLE)]
    with web_server_in(tmp_path) as server:
        signers = [Signer(Visitor(server.port, one), papers_of(bore), is_over) for one in people]
        with signing_on(signers):
            for number in range(MOST_KILLS):
                if number >= KILLS and any(one.unanswered for one in signers):
                    break
                wait_for_more(signers, 6, server.program.said)
                # At another point of their work each time.
                time.sleep(0.017 * number)
                server.kill()
                assert prove_ledger().fault is None
                server.start()
        assert any(one.unanswered for one in signers), "no kill fell into the middle of a request"
        there, in_ledger = stored(), entered()
        for kind, keys in there.items():
            assert acknowledged_of(signers, kind) <= keys
            assert in_ledger[kind] == sorted(keys)
        assert prove_ledger().fault is None
        send_all_again(signers)
        assert (stored(), entered()) == (there, in_ledger)
