"""A chain of signed walks for the tests of the ledger."""

from django.db import transaction

from conflicts.models import DailyWalk
from locates.desk.ledger import enter
from locates.models import LedgerEntry
from tests.factories import BoreFactory, DailyWalkFactory, PersonFactory
from tests.signing import signing


def sign_walks(count: int) -> list[tuple[DailyWalk, LedgerEntry]]:
    """So many walks of one bore by one person, each with its entry."""
    bore, person = BoreFactory(), PersonFactory()
    with signing(person), transaction.atomic():
        walks = [DailyWalkFactory(bore=bore, walked_by=person, remarks=f"walk {n + 1}") for n in range(count)]
        return [(walk, enter(walk, by=person)) for walk in walks]
