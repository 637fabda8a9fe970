"""A pass that leaves the hole wider than planned ends the release; any other leaves it in force."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.desk.log_pass import log_pass, withdraw_pass
from conflicts.errors import PassAskedError, PassError
from conflicts.models import HolePass, HolePassWithdrawal, Reassessment, Release
from conflicts.release import ReleaseState, sign_release, standing_of
from tests import factories
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def release(bore):
    now = timezone.now()
    until = now + timedelta(hours=4)
    return sign_release(
        Release(bore=bore, crew="Crew 2", rig="Rig 7", shift_from=now, shift_until=until),
        by=factories.PersonFactory(),
    )


def log(bore, diameter_m, kind="reaming", conduits=()):
    one = HolePass(bore=bore, kind=kind, diameter_m=diameter_m, conduits=list(conduits))
    by = factories.PersonFactory()
    try:
        return log_pass(one, by=by)
    except PassAskedError as asked:
        return log_pass(one, by=by, confirmed=[question.token for question in asked.oddities])


def test_passes_as_planned_leave_it_in_force(bore, release):
    log(bore, 0.15)
    log(bore, 0.2)
    log(bore, 0.13, "pullback", [[1, 0.13]])
    assert standing_of(release).is_in_force


def test_a_wider_reamer_ends_it_for_good_with_its_reason(bore, release):
    wide = log(bore, 0.25)
    standing = standing_of(release)
    assert standing.state is ReleaseState.LAPSED
    assert any("A pass that left the hole wider than planned was logged" in one for one in standing.reasons)
    withdraw_pass(HolePassWithdrawal(hole_pass=wide, reason="It was 8 in."), by=factories.PersonFactory())
    assert standing_of(release).state is ReleaseState.LAPSED


def test_the_bore_is_queued_to_be_computed_anew(bore, release, django_capture_on_commit_callbacks):
    Reassessment.objects.all().delete()
    with django_capture_on_commit_callbacks(execute=False):
        log(bore, 0.25)
    assert Reassessment.objects.filter(bore=bore).exists()


def test_a_pass_is_withdrawn_once(bore):
    one, by = log(bore, 0.2), factories.PersonFactory()
    withdraw_pass(HolePassWithdrawal(hole_pass=one, reason="Other bore."), by=by)
    with pytest.raises(PassError, match="withdrawn already"):
        withdraw_pass(HolePassWithdrawal(hole_pass=one, reason="Other bore."), by=by)


def test_a_pass_that_is_still_to_come_is_refused(bore):
    one = HolePass(bore=bore, kind="reaming", diameter_m=0.2)
    with pytest.raises(PassError, match="still to come"):
        log_pass(one, by=factories.PersonFactory(), made_at=timezone.now() + timedelta(minutes=5))
    assert not HolePass.objects.exists()
