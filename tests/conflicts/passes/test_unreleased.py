"""What was drilled, reamed or pulled in while no release stood is told with why, and holds nothing."""

from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.bore_states import computed_states
from conflicts.closing_faults import NO_PULLBACK, NO_RELEASE, close_out_faults
from conflicts.desk.log_pass import log_pass
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Bore, HolePass, ReleaseWithdrawal
from conflicts.unreleased import unreleased_passes, unreleased_words
from conflicts.watch_table import watch_table
from locates.local_time import format_moment
from locates.models import Mark
from tests import factories
from tests.conflicts.audit import signed_stories as stories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_under_a_stop import release
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def bore():
    """A walked bore, not released, in a zone in which it is about noon."""
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def shown(client, bore, tail):
    answer = client.get(f"/bores/{bore.pk}/{tail}")
    assert answer.status_code == 200
    return " ".join(unescape(strip_tags(answer.content.decode())).split())


def made(bore, **values):
    now = timezone.now()
    return factories.HolePassFactory(bore=bore, **{"made_at": now, "logged_at": now, **values})


def state_of(bore):
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [found] = computed_states([stored], timezone.now())
    return stored, found.assessed


def told(bore):
    stored, assessed = state_of(bore)
    return unreleased_words(stored, assessed.site)


def faults(bore):
    stored, assessed = state_of(bore)
    return close_out_faults(watch_table(assessed, stored.pilot_diameter_m), assessed)


def local(bore, moment):
    return format_moment(moment, bore.job.time_zone)


def test_a_reamer_after_the_shift_is_told_with_its_size_and_when_that_ended(foreman, bore):
    signed = stood(bore, at=timezone.now() - 11 * HOUR)
    before = faults(bore)
    made(bore, made_at=timezone.now() - 2 * HOUR)
    assert told(bore) == []
    assert "No release stood" not in shown(foreman, bore, "passes/")
    late = made(bore)
    because = (
        f"The last release before was signed {local(bore, signed.signed_at)}. "
        f"Its shift ended {local(bore, signed.shift_until)}."
    )
    words = f"No release stood for the reaming of 7 7/8 in, begun {local(bore, late.made_at)}. {because}"
    assert told(bore) == [words]
    assert words in shown(foreman, bore, "close-out/")
    assert shown(foreman, bore, "passes/").count(f"No release stood: {because}") == 1
    assert set(faults(bore)) - set(before) == {NO_PULLBACK}


def test_one_that_was_taken_back_is_told_with_who_did_and_why(bore):
    signed = release(bore)
    made(bore)
    assert told(bore) == []
    withdrawal = ReleaseWithdrawal(release=signed, reason="The crew went home.")
    withdraw_release(withdrawal, by=factories.PersonFactory())
    factories.PullbackFactory(bore=bore, made_at=timezone.now(), logged_at=timezone.now())
    [words] = told(bore)
    assert words.startswith("No release stood for the pullback of 4 3/4 in, begun ")
    assert words.endswith("The crew went home.")


def test_a_change_of_the_grounds_ends_it_for_what_goes_after_alone(bore):
    release(bore)
    under = log_pass(HolePass(bore=bore, kind="reaming", diameter_m=0.2), by=factories.PersonFactory())
    Mark.objects.filter(job=bore.job).update(is_intact=False)
    assert told(bore) == []
    after = made(bore)
    [words] = told(bore)
    assert local(bore, after.made_at) in words
    assert f"Mark {Mark.objects.get(job=bore.job).ref} was changed" in words
    Mark.objects.filter(job=bore.job).update(is_intact=True)
    assert release(bore).pk
    made(bore)
    assert told(bore) == [words]
    assert under.made_at < after.made_at


def test_a_wider_reamer_went_under_the_release_that_it_ended(bore):
    release(bore)
    made(bore, diameter_m=0.25)
    assert told(bore) == []
    made(bore)
    [words] = told(bore)
    assert words.startswith("No release stood for the reaming of 7 7/8 in, begun ")
    assert "A pass that left the hole wider than planned was logged" in words


def test_what_went_before_any_was_signed_is_told(bore):
    signed = stood(bore, at=timezone.now() - HOUR)
    early = made(bore, made_at=signed.signed_at - HOUR)
    [words] = told(bore)
    assert words == (
        f"No release stood for the reaming of 7 7/8 in, begun {local(bore, early.made_at)}. "
        "None was signed before."
    )


def test_a_shift_that_had_not_begun_is_told(bore):
    now = timezone.now()
    signed = stories.release(bore, [], at=now - 2 * HOUR, shift_from=now - HOUR)
    made(bore, made_at=now - 1.5 * HOUR)
    [words] = told(bore)
    assert words.endswith(f"Its shift began {local(bore, signed.shift_from)}.")


def test_rods_that_were_logged_after_it_ended_are_told_together_and_those_under_it_are_not(bore):
    signed = stood(bore, at=timezone.now() - 11 * HOUR)
    moments = [signed.signed_at + HOUR, *(timezone.now() for _ in range(3))]
    rods = []
    for moment in moments:
        after = rods[-1] if rods else None
        rods.append(factories.DrilledRodFactory(bore=bore, after=after, logged_at=moment))
    [words] = told(bore)
    since, until = (local(bore, one.logged_at) for one in (rods[1], rods[3]))
    late = f"rods 2 to 4, logged {since} to {until}"
    assert words.startswith(f"No release stood for {late}. The last release before was signed ")
    # Rods that are pulled back were drilled all the same; their numbers come again.
    factories.RodWithdrawalFactory(rod=rods[1], withdrawn_at=timezone.now())
    assert told(bore) == [words]
    again = factories.DrilledRodFactory(bore=bore, after=rods[0], logged_at=timezone.now())
    [words] = told(bore)
    assert words.startswith(
        f"No release stood for {late}; rod 2, logged {local(bore, again.logged_at)}. The last release before "
    )


def test_where_none_ever_stood_the_log_alone_tells_it_for_that_holds_the_close_out(foreman, bore):
    made(bore)
    assert told(bore) == []
    assert "No release stood: None was signed before." in shown(foreman, bore, "passes/")
    assert NO_RELEASE in " ".join(faults(bore))
    assert "No release stood for" not in shown(foreman, bore, "close-out/")


def test_one_that_was_entered_wrongly_is_not_told(bore):
    stood(bore, at=timezone.now() - 11 * HOUR)
    factories.HolePassWithdrawalFactory(hole_pass=made(bore))
    assert told(bore) == []


def test_it_costs_two_queries_however_many_releases_and_passes_there_are(bore, django_assert_num_queries):
    for hours in (11, 10.5):
        stood(bore, at=timezone.now() - hours * HOUR)
    for _ in range(5):
        made(bore)
    stored, assessed = state_of(bore)
    with django_assert_num_queries(2):
        assert len(unreleased_passes(stored, assessed.site.passes)) == 5
