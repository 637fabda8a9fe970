"""Of two open releases of a bore the one that is in force answers for it, wherever that is told."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.answering_release import answering_releases
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Release, ReleaseWithdrawal
from conflicts.release import ReleaseState, sign_release
from tests import factories
from tests.conflicts.site.test_lost_stops import release, see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


def sign_ahead(bore):
    """A release for a later shift of another crew."""
    now = timezone.now()
    shift = {"shift_from": now + timedelta(minutes=20), "shift_until": now + timedelta(hours=3)}
    ahead = Release(bore=bore, crew="Crew 9", rig="Rig 9", **shift)
    return sign_release(ahead, by=factories.PersonFactory())


def answer(bore):
    told, standing = answering_releases([bore.pk])[bore.pk]
    return told.pk, standing.state


def test_one_signed_ahead_does_not_answer_while_another_is_in_force(client, bore):
    first = release(bore, factories.PersonFactory())
    ahead = sign_ahead(bore)
    assert answer(bore) == (first.pk, ReleaseState.IN_FORCE)
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert first.crew in page
    assert "Do not drill" not in page
    for one, is_in_force in ((first, True), (ahead, False)):
        standing = client.get(reverse("conflicts:release-standing", args=[one.pk])).json()
        assert standing["in_force"] is is_in_force
        shown = client.get(reverse("conflicts:release", args=[one.pk])).content.decode()
        assert ("Its shift begins" in shown) is not is_in_force


def test_one_that_a_stop_holds_answers_before_one_signed_ahead(bore):
    first = release(bore, factories.PersonFactory())
    sign_ahead(bore)
    see(bore, factories.PersonFactory(), "pilot", gap_m=0.05)
    assert answer(bore) == (first.pk, ReleaseState.STOPPED)


def test_the_last_signed_answers_where_none_is_underway(bore):
    sign_ahead(bore)
    last = sign_ahead(bore)
    assert answer(bore) == (last.pk, ReleaseState.NOT_YET)


def test_one_that_is_taken_back_ends_the_other(bore):
    release(bore, factories.PersonFactory())
    ahead = sign_ahead(bore)
    withdraw_release(ReleaseWithdrawal(release=ahead, reason="Leak."), by=factories.PersonFactory())
    assert answer(bore) == (ahead.pk, ReleaseState.WITHDRAWN)
