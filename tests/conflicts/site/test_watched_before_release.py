"""A watch from before anybody might drill proves nothing of what was drilled under the release."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.errors import ReleaseHeldError
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_closing_faults import PASSES, close, excuse_pass, missing
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import database_clock_off, machine_clock_off

pytestmark = pytest.mark.django_db

BEFORE = "was last seen before anybody might drill"


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """A bore over one gas line at 50 m that was watched by all passes; then its first release was signed."""
    stored = bore_of_today()
    for pass_made in PASSES:
        see(stored, person, pass_made)
    stood(stored, at=timezone.now())
    return stored


def test_every_pass_that_was_watched_before_the_first_release_holds_until_it_is_seen_again(bore, person):
    told = missing(bore)
    assert [f"The {name} {BEFORE}" in words for name, words in zip(PASSES, told, strict=True)] == [True] * 3
    with pytest.raises(ReleaseHeldError, match=BEFORE):
        close(bore, person)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    assert close(bore, person).pk


def test_a_variance_for_the_pass_excuses_it(bore):
    for pass_made in PASSES[1:]:
        excuse_pass(bore, pass_made)
    [words] = missing(bore)
    assert f"The pilot {BEFORE}" in words
    signature = excuse_pass(bore, "pilot")
    assert "before anybody might drill" in signature.variance.bound_words()
    assert missing(bore) == []


def test_a_variance_from_before_the_release_was_signed_for_something_else(person):
    bore = bore_of_today()
    see(bore, person, "pilot")
    excuse_pass(bore, "pilot")
    stood(bore, at=timezone.now())
    assert [words for words in missing(bore) if BEFORE in words] != []


def test_a_watch_between_two_releases_counts(person):
    bore = bore_of_today()
    stood(bore)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    stood(bore, at=timezone.now())
    assert missing(bore) == []


@pytest.mark.parametrize("clock_off", [machine_clock_off, database_clock_off])
def test_a_watch_by_a_clock_that_is_behind_still_comes_after_the_release(person, clock_off):
    bore = bore_of_today()
    stood(bore, at=timezone.now())
    with clock_off(timedelta(minutes=-10)):
        for pass_made in PASSES:
            see(bore, person, pass_made)
    assert missing(bore) == []


def test_the_pages_of_the_watch_say_so(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    table = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert table.count("before any release: watch it again") == 3
    page = client.get(reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])).content.decode()
    assert "before anybody might drill: the first release stood from" in page
