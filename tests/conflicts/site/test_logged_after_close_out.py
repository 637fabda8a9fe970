"""What is logged of a bore after its close-out is told beside it: whoever signed knew nothing of it."""

import pytest
from django.urls import reverse

from conflicts.desk.log_rod import withdraw_rods
from conflicts.models import DrilledRod, RodWithdrawal
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_made_anew import log
from tests.conflicts.rods.test_pilot_drilled_anew import drill
from tests.conflicts.site.test_closing_faults import PASSES, close
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

SINCE = "Logged since, and no part of what was signed: "
PAGES = ("bore", "watches", "close-out", "rods", "passes", "passes-pullback", "release-sign")


@pytest.fixture
def bore(client):
    """A bore over one gas line, drilled by rods of 20 m, watched and closed out."""
    stored, person = bore_of_today(), factories.PersonFactory()
    stood(stored)
    drill(stored, None, 5, depth_m=2.0)
    for pass_made in PASSES:
        see(stored, person, pass_made)
    close(stored, person)
    client.force_login(person_in_role("Foreman", stored.job.organisation))
    return stored


def page(client, bore, name):
    return client.get(reverse(f"conflicts:{name}", args=[bore.pk])).content.decode()


def test_a_close_out_that_nothing_was_logged_after_stands_alone(client, bore):
    for name in PAGES:
        assert "Drilled and closed out" in page(client, bore, name)
        assert SINCE not in page(client, bore, name)


def test_a_pass_and_a_pull_back_after_the_close_out_are_told_on_its_pages(client, bore):
    log(bore, diameter_m=0.3)
    rod = DrilledRod.objects.get(bore=bore, number=2)
    pulled = RodWithdrawal(rod=rod, kind="pull_back", reason="Off line.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    for name in PAGES:
        told = page(client, bore, name).partition(SINCE)[2].partition("</p>")[0]
        assert told.startswith("a reaming of 11 3/4 in, made "), name
        assert "; rods pulled back from rod 2 on, " in told
