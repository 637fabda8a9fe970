"""Many sign at once, each over a connection of its own: one chain without gaps comes of it."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event
from uuid import uuid4

import pytest
from django.db import connection, transaction

from conflicts.desk.sign_walk import sign_walk
from conflicts.models import Bore, DailyWalk
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry
from tests.factories import BoreFactory, DailyWalkFactory, PersonFactory
from tests.signing import signing

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

SIGNERS = 20
WALKS_EACH = 5


def sign(bore, person, *, undo=False):
    with signing(person), transaction.atomic():
        walk = DailyWalkFactory(bore=bore, walked_by=person)
        entry = enter(walk, by=person)
        transaction.set_rollback(undo)
    return entry.sequence


def test_twenty_signers_make_one_chain_and_the_undone_leave_no_gap():
    """Every fifth signing of each is undone after its entry was made."""
    bore, person = BoreFactory(), PersonFactory()
    start = Barrier(SIGNERS)

    def sign_some(number):
        try:
            start.wait(timeout=30)
            for turn in range(WALKS_EACH):
                sign(bore, person, undo=(turn + number) % WALKS_EACH == 0)
        finally:
            connection.close()

    with ThreadPoolExecutor(SIGNERS) as signers:
        list(signers.map(sign_some, range(SIGNERS)))
    kept = SIGNERS * (WALKS_EACH - 1)
    assert list(LedgerEntry.objects.values_list("sequence", flat=True)) == list(range(1, kept + 1))
    assert DailyWalk.objects.count() == kept
    proof = prove_ledger()
    assert (proof.fault, proof.count) == (None, kept)


def test_a_signer_waits_for_the_one_before_and_follows_what_came_of_it():
    """The second signs while the first has not ended: it takes the first's place once that is undone."""
    bore, person = BoreFactory(), PersonFactory()
    has_entered, may_end = Event(), Event()

    def sign_and_undo():
        try:
            with signing(person), transaction.atomic():
                enter(DailyWalkFactory(bore=bore, walked_by=person), by=person)
                has_entered.set()
                assert may_end.wait(timeout=30)
                transaction.set_rollback(True)
        finally:
            connection.close()

    def sign_after():
        try:
            return sign(bore, person)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as signers:
        first = signers.submit(sign_and_undo)
        assert has_entered.wait(timeout=30)
        second = signers.submit(sign_after)
        wait_until_somebody_waits_for_the_chain()
        assert not second.done()
        may_end.set()
        first.result(timeout=30)
        assert second.result(timeout=30) == 1
    assert prove_ledger().is_proven


def wait_until_somebody_waits_for_the_chain():
    for _ in range(3000):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*), pg_sleep(0.01) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted"
            )
            [waiting, _] = cursor.fetchone()
        if waiting:
            return
    pytest.fail("Nobody came to wait for the chain.")


def test_one_walk_sent_many_times_at_once_is_signed_once():
    bore, person, walk_id = BoreFactory(), PersonFactory(), uuid4()
    start = Barrier(SIGNERS)

    def send(_):
        try:
            walk = DailyWalk(pk=walk_id, bore=bore, marks_intact=True, device_checked=False, holes_open=True)
            start.wait(timeout=30)
            with signing(person):
                return sign_walk(walk, by=person).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(SIGNERS) as signers:
        assert set(signers.map(send, range(SIGNERS))) == {walk_id}
    assert DailyWalk.objects.count() == 1
    assert (prove_ledger().is_proven, prove_ledger().count) == (True, 1)


def test_a_proof_made_while_others_sign_finds_nothing():
    bore, person = BoreFactory(), PersonFactory()

    def sign_many():
        try:
            for _ in range(60):
                sign(bore, person)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as signers:
        signer = signers.submit(sign_many)
        proofs = [prove_ledger()]
        while not signer.done():
            proofs.append(prove_ledger())
        signer.result()
    assert {proof.fault for proof in proofs} == {None}
    assert len({proof.count for proof in proofs}) > 1
    assert Bore.objects.count() == 1
