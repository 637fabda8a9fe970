"""A bore that was released to be reamed is watched while it is reamed, whatever its plan says since."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Bore, Release, ReleaseWithdrawal
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_unwatched import unwatched
from conflicts.release import sign_release
from tests import factories
from tests.conflicts.site.test_closing_faults import close, missing
from tests.conflicts.site.test_lost_stops import release, see
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A walked bore over one gas line, planned 0.2 m across from a pilot of 0.1 m."""
    return bore_of_today()


@pytest.fixture
def person():
    return factories.PersonFactory()


def plan_without_reaming(bore, final_m=None):
    bore.final_diameter_m = bore.final_diameter_m if final_m is None else final_m
    bore.pilot_diameter_m = bore.final_diameter_m
    bore.save()


def watched_but_for_the_reaming(bore, person):
    for pass_made in ("pilot", "pullback"):
        see(bore, person, pass_made)
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    told = [words for words in missing(stored) if "reaming" in words]
    audited = [one.missing_passes for one in unwatched(AuditFilters(bore.job.organisation_id), None, 10)]
    return told, audited


@pytest.mark.parametrize("final_m", [None, 0.1])
def test_a_plan_without_reaming_made_after_the_release_does_away_with_no_watch(bore, person, final_m):
    release(bore, person)
    plan_without_reaming(bore, final_m)
    told, audited = watched_but_for_the_reaming(bore, person)
    assert len(told) == 1
    assert told[0].startswith("No watch of the reaming at: ")
    assert audited == [["reaming"]]
    for pass_made in ("reaming", "pullback"):
        see(bore, person, pass_made)
    assert close(bore, person).pk


def test_a_bore_that_was_never_released_to_be_reamed_has_no_such_watch(bore, person):
    plan_without_reaming(bore)
    release(bore, person)
    # A change of anything else leaves it so.
    bore.product = "two conduits"
    bore.save()
    assert watched_but_for_the_reaming(bore, person) == ([], [])


def test_a_release_that_was_withdrawn_before_its_shift_asks_for_no_reaming(bore, person):
    now = timezone.now()
    shift = {"shift_from": now + timedelta(hours=1), "shift_until": now + timedelta(hours=4)}
    early = sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person)
    withdraw_release(ReleaseWithdrawal(release=early, reason="Rain."), by=person)
    plan_without_reaming(bore)
    release(bore, person)
    assert watched_but_for_the_reaming(bore, person) == ([], [])
