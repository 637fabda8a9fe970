"""A bore of this very day on which nothing is missing, whatever the hour at which the tests run."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import Bore
from locates.desk.ledger import enter
from tests import factories
from tests.signing import signing


def zone_at_noon() -> str:
    """A zone in which it is about noon: no test of a day's walk then meets the end of that day."""
    # The names count westward: Etc/GMT+5 is five hours behind UTC.
    return f"Etc/GMT{timezone.now().hour - 12:+d}"


def bore_of_today() -> Bore:
    """A walked and assessed bore that may be released, in a job of its own."""
    now = timezone.now()
    job = factories.small_job(time_zone=zone_at_noon())
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    person = factories.PersonFactory()
    with signing(person), transaction.atomic():
        walk = factories.DailyWalkFactory(bore=job.bores.get(), walked_at=now, walked_by=person)
        enter(walk, by=person)
    store_assessment(walk.bore_id)
    return job.bores.get()
