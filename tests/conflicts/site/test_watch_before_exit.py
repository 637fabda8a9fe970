"""A pass after the pilot that was seen before the hole was through, by the log of rods, is seen again."""

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.errors import ReleaseHeldError
from conflicts.models import CrossingWatch, DrilledRod
from conflicts.watched_before_log import before_log_words
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.rods.test_pilot_drilled_anew import take_out
from tests.conflicts.site.test_closing_faults import PASSES, close, excuse_pass, missing
from tests.conflicts.site.test_lost_stops import assessed_of, see, see_though_asked, table_of
from tests.conflicts.site.test_watch_ahead_of_log import question
from tests.conflicts.site.test_watch_oddities import TOKEN
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

LATER = PASSES[1:]
EARLY = " was last seen before the hole was through by the log of rods: "


@pytest.fixture
def bore():
    """A bore of 100 m over one gas line at 50 m, under a release, with three rods of 20 m in the ground."""
    stored = bore_of_today()
    stood(stored)
    drill(stored, 3)
    return stored


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drill(bore, rods, after=0, length_m=20.0):
    last = DrilledRod.objects.filter(bore=bore, number=after).first()
    for _ in range(rods):
        last = factories.DrilledRodFactory(
            bore=bore, after=last, length_m=length_m, depth_m=2.0, logged_at=timezone.now()
        )


def early(bore):
    return [words.partition(EARLY)[0] for words in missing(bore) if EARLY in words]


@pytest.mark.parametrize("pass_made", LATER)
def test_a_later_pass_is_asked_about_while_the_log_is_short_of_the_exit(bore, person, pass_made):
    asked = question(bore, person, pass_made=pass_made)
    assert asked.code == "hole_short"
    # 60 m of 100 are drilled at a pitch of next to nothing: about 40 m, 131 ft, are left.
    assert "rod 3, the last that is logged, ends 131 ft" in asked.sentence
    assert " short of the exit. Is it the " in asked.sentence
    assert f"Is it the {pass_made} that passed here, and not the pilot?" in asked.sentence
    assert not CrossingWatch.objects.exists()


def test_neither_the_pilot_nor_what_was_not_seen_nor_a_hole_a_rod_short_is_asked_about(bore, person):
    assert see(bore, person).confirmed is None
    assert see(bore, person, "reaming", gap_m=None).confirmed is None
    drill(bore, 1, after=3)
    drill(bore, 1, after=4, length_m=17.0)
    # About 3 m are left, a rod of the rig's 10 ft, and the one that drills them is logged at its end.
    assert see(bore, person, "reaming").confirmed is None


@pytest.mark.parametrize("pass_made", LATER)
def test_a_pass_that_was_kept_though_asked_is_seen_again_once_the_rods_are_logged(bore, person, pass_made):
    see(bore, person)
    for one in PASSES[1:]:
        if one == pass_made:
            see_though_asked(bore, person, one)
    drill(bore, 2, after=3)
    assert early(bore) == [f"The {pass_made}"]
    assert before_log_words(table_of(bore), assessed_of(bore)) == []
    with pytest.raises(ReleaseHeldError, match="See it pass again once they are logged to the exit"):
        close(bore, person)
    for one in LATER:
        see(bore, person, one)
    assert close(bore, person).pk


def test_a_log_that_was_written_up_after_the_passes_holds_nothing_and_is_told(client, person):
    stored = bore_of_today()
    stood(stored)
    for one in PASSES:
        see(stored, person, one)
    drill(stored, 5)
    assert missing(stored) == []
    client.force_login(person_in_role("Foreman", stored.job.organisation))
    text = client.get(reverse("conflicts:close-out", args=[stored.pk])).content.decode()
    assert "By the log of then no rod was in the ground when these were seen: " in text
    assert "(pilot, reaming, pullback). The log was written up later, and says nothing of them." in text


def test_a_pilot_that_was_kept_ahead_of_the_log_is_told_beside_the_close_out(foreman, bore, person):
    take_out(bore, 2)
    see_though_asked(bore, person)
    text = foreman.get(reverse("conflicts:close-out", args=[bore.pk])).content.decode()
    assert "By the log of then the head was short of the line when it was seen there" in text
    assert "no rod was in the ground when these" not in text


def test_while_the_rods_are_short_it_is_told_already(bore, person):
    see(bore, person)
    see_though_asked(bore, person, "reaming")
    assert early(bore) == ["The reaming"]


def test_rods_past_the_one_that_came_to_the_exit_make_no_watch_early(bore, person):
    drill(bore, 1, after=3)
    drill(bore, 1, after=4, length_m=17.0)
    for one in PASSES:
        see(bore, person, one)
    drill(bore, 1, after=5, length_m=3.0)
    assert early(bore) == []


@pytest.mark.parametrize("kind", ["undo", "pull_back"])
def test_rods_that_are_taken_out_and_logged_anew_make_no_watch_early(bore, person, kind):
    """Beyond the line the hole was through before: who mends a reading has nothing watched again."""
    drill(bore, 2, after=3)
    for one in PASSES:
        see(bore, person, one)
    take_out(bore, 4, kind)
    drill(bore, 2, after=3)
    assert missing(bore) == []


def test_rods_that_were_logged_after_a_later_pass_are_told_beside_the_close_out(foreman, bore, person):
    drill(bore, 2, after=3)
    for one in PASSES:
        see(bore, person, one)
    address = reverse("conflicts:close-out", args=[bore.pk])
    assert "Rods were logged after these were seen" not in foreman.get(address).content.decode()
    take_out(bore, 5, "undo")
    drill(bore, 1, after=4)
    text = foreman.get(address).content.decode()
    assert "Rods were logged after these were seen, the last at " in text
    assert "(rod 5): " in text
    assert "(reaming, pullback). Entries were made anew, or the hole went on." in text


def test_a_log_whose_rods_were_all_pulled_back_was_not_begun_later(foreman, bore, person):
    take_out(bore, 1)
    see_though_asked(bore, person)
    drill(bore, 5)
    text = foreman.get(reverse("conflicts:close-out", args=[bore.pk])).content.decode()
    assert "The log was written up later" not in text


@pytest.mark.parametrize("kind", ["undo", "pull_back"])
def test_what_becomes_of_the_rods_changes_nothing_of_what_was_signed(bore, person, kind):
    see(bore, person)
    for one in LATER:
        see_though_asked(bore, person, one)
    take_out(bore, 1, kind)
    assert early(bore) == ["The reaming", "The pullback"]
    for number in range(5):
        drill(bore, 1, after=number)
    assert early(bore) == ["The reaming", "The pullback"]


def test_a_log_that_was_emptied_before_the_passes_is_told_as_begun_later(foreman, bore, person):
    take_out(bore, 1, "undo")
    for one in PASSES:
        see(bore, person, one)
    drill(bore, 5)
    assert missing(bore) == []
    text = foreman.get(reverse("conflicts:close-out", args=[bore.pk])).content.decode()
    assert "(pilot, reaming, pullback). The log was written up later" in text


def test_a_watch_that_was_signed_early_settles_no_stop(bore, person):
    see(bore, person)
    short = see_though_asked(bore, person, "reaming", gap_m=0.1)
    assert short.confirmed
    see_though_asked(bore, person, "reaming")
    assert [one.passed.stopping[0].watch_id for one in table_of(bore).stopped] == [str(short.pk)]
    drill(bore, 2, after=3)
    see(bore, person, "reaming")
    assert table_of(bore).stopped == []


def test_readings_that_give_no_path_are_asked_about_too(bore, person):
    last = DrilledRod.objects.get(bore=bore, number=3)
    for heading_rad in (0.0, np.pi):
        last = factories.DrilledRodFactory(
            bore=bore, after=last, heading_rad=heading_rad, logged_at=timezone.now()
        )
    asked = question(bore, person, pass_made=LATER[0])
    assert asked.sentence.startswith("What was logged gives no path, so nobody knows")


def test_a_variance_tells_its_signer_and_outlives_the_rods_that_are_logged_after_it(bore, person):
    see(bore, person)
    see_though_asked(bore, person, "reaming")
    told = excuse_pass(bore, "reaming").variance.bound_words()
    assert "before the hole was through by the log of rods." in told
    drill(bore, 2, after=3)
    see(bore, person, "pullback")
    assert missing(bore) == []


def test_who_watches_is_asked_and_told_to_watch_again(foreman, bore):
    see(bore, factories.PersonFactory())
    address = reverse("conflicts:watch", args=[bore.pk, 0, "reaming"])
    text = sent_as_shown(foreman, address, {"seen": "yes", "gap_m": "2 ft"}, follow=True).content.decode()
    assert "By the log the hole is not through" in text
    token = TOKEN.search(text)[1]
    sent_as_shown(foreman, address, {"seen": "yes", "gap_m": "2 ft", "confirmed": token}, follow=True)
    [kept] = CrossingWatch.objects.latest("entered_at").confirmed
    assert kept["code"] == "hole_short"
    drill(bore, 2, after=3)
    table = foreman.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "before the hole was through: watch it again" in table
    shown = foreman.get(address).content.decode()
    assert "before the hole was through by the log of rods: once they are logged to the exit" in shown
