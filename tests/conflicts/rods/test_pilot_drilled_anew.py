"""Past a line where rods were pulled back and the hole was drilled anew, every pass is watched again."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.models import DrilledRod
from conflicts.pull_backs import RodOfHole, least_station_m, pull_backs
from conflicts.short_of_exit import ALL_BACK
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.passes.test_passes_made_anew import excuse
from tests.conflicts.site.test_closing_faults import PASSES, close, missing
from tests.conflicts.site.test_lost_stops import see, see_though_asked
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ANEW = "Rods were pulled back after the last watch of the "
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


@pytest.fixture
def bore():
    """A walked bore over one gas line at 50 m under a release, drilled by rods of 20 m and watched."""
    stored = bore_of_today()
    stood(stored)
    drill(stored, None, 5)
    for pass_made in PASSES:
        see(stored, factories.PersonFactory(), pass_made)
    return stored


def drill(bore, last, rods, **read):
    for _ in range(rods):
        last = factories.DrilledRodFactory(
            bore=bore, after=last, length_m=20.0, logged_at=timezone.now(), **read
        )


def take_out(bore, number, kind="pull_back"):
    rod = DrilledRod.objects.filter(bore=bore, number=number).latest("logged_at")
    return factories.RodWithdrawalFactory(rod=rod, kind=kind, withdrawn_at=timezone.now())


def test_a_pilot_pulled_back_from_before_the_line_is_watched_there_again(bore):
    person = factories.PersonFactory()
    assert missing(bore) == []
    take_out(bore, 2)
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4, depth_m=2.0)
    told = missing(bore)
    # A reamer or conduit that was seen before went through another hole.
    assert [
        one.startswith(f"{ANEW}{name}, so the hole was drilled anew")
        for one, name in zip(told, PASSES, strict=True)
    ] == [True] * 3
    assert all("(from rod 2 on " in one for one in told)
    see(bore, person, "pilot")
    assert "The reaming was last seen before" in missing(bore)[0]
    see(bore, person, "reaming")
    see(bore, person, "pullback")
    assert close(bore, person).pk


def test_rods_pulled_back_beyond_the_line_or_entered_wrongly_ask_for_no_watch(bore):
    """All that is missing is the rest of the hole."""
    take_out(bore, 4)
    [told] = missing(bore)
    assert told.startswith("The last rod logged, 3, ends ")
    take_out(bore, 1, kind="undo")
    assert missing(bore) == [ALL_BACK]


@pytest.mark.parametrize("watched", PASSES)
def test_a_watch_before_a_rod_is_logged_in_place_of_those_pulled_back_does_not_count(client, bore, watched):
    person = factories.PersonFactory()
    take_out(bore, 2)
    for pass_made in PASSES[: PASSES.index(watched) + 1]:
        see_though_asked(bore, person, pass_made)
    between = f"The {watched} was last watched after rods were pulled back and before one was logged in"
    assert between in " ".join(missing(bore))
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    form = reverse("conflicts:watch", args=[bore.pk, 0, watched])
    assert "No rod is logged in place of those pulled back: log it first" in client.get(form).content.decode()
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4, depth_m=2.0)
    assert between in " ".join(missing(bore))
    shown = client.get(form).content.decode()
    assert "no rod was logged in their place before the last watch: it is to be watched again" in shown
    assert "log it first" not in shown
    for pass_made in PASSES:
        see(bore, person, pass_made)
    assert missing(bore) == []


def test_a_variance_for_a_watch_between_tells_its_signer_of_it(bore):
    take_out(bore, 2)
    see_though_asked(bore, factories.PersonFactory(), "pilot")
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4, depth_m=2.0)
    told = excuse(bore, "pilot").variance.bound_words()
    assert "; no rod was logged in their place before it was watched." in told


def test_rods_pulled_back_further_are_drilled_anew_by_the_same_rod(bore):
    take_out(bore, 3)
    take_out(bore, 2)
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4, depth_m=2.0)
    for pass_made in PASSES:
        see(bore, factories.PersonFactory(), pass_made)
    assert missing(bore) == []


def test_a_rod_entered_wrongly_was_not_joined_in_place_of_those_pulled_back():
    def rod(number, after, minute, pulled_back_at=None, *, is_undone=False):
        name = f"{number} of {minute}"
        at = NOON + timedelta(minutes=minute)
        return RodOfHole(name, after, number, 3.0, 0.0, None, pulled_back_at, at, is_undone)

    back_at = NOON + timedelta(minutes=5)
    first, second = rod(1, None, 0), rod(2, "1 of 0", 1, back_at)
    before = [first, second, rod(3, "2 of 1", 2)]
    wrongly = rod(2, "1 of 0", 6, is_undone=True)
    # The clock of the machine that logged it was behind: it was joined after the pull-back all the same.
    early = rod(2, "1 of 0", 4)

    def anew_from(*since):
        [pulled] = pull_backs([*since, *before])
        return pulled.anew_from

    assert anew_from() is None
    assert anew_from(wrongly) is None
    assert anew_from(wrongly, rod(2, "1 of 0", 7)) == NOON + timedelta(minutes=7)
    assert anew_from(early) == back_at


def test_a_rod_that_began_just_beyond_the_line_counts_as_before_it():
    bore = bore_of_today()
    stood(bore)
    first = factories.DrilledRodFactory(bore=bore, length_m=50.5, logged_at=timezone.now())
    drill(bore, first, 3)
    for pass_made in PASSES:
        see(bore, factories.PersonFactory(), pass_made)
    take_out(bore, 2)
    assert ANEW in missing(bore)[0]


def test_a_variance_excuses_the_pull_back_that_its_signer_was_told_of_for_its_pass_and_no_later_one(bore):
    take_out(bore, 2)
    drill(bore, DrilledRod.objects.get(bore=bore, number=1), 4)
    for place, name in enumerate(PASSES, 1):
        signature = excuse(bore, name)
        words = signature.variance.bound_words()
        assert "After it was watched rod 2 and those after it were pulled back" in words
        # Whoever excused the pilot: the reamer that was seen went through another hole.
        left = [f"{ANEW}{one}" for one in PASSES[place:]]
        assert [one.split(", so ")[0] for one in missing(bore)] == left
    take_out(bore, 3)
    assert "it was not signed for this: After it was watched rod 3" in " ".join(missing(bore))


def test_who_watches_is_told_that_the_pilot_was_drilled_anew(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    pilot = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    assert "pulled back" not in client.get(pilot).content.decode()
    take_out(bore, 2)
    table = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "Watch the pilot pass" in table
    for page in (table, client.get(pilot).content.decode()):
        assert "Rods from rod 2 on were pulled back" in page
        assert "after the last watch: it is to be watched again." in page


def test_the_station_of_a_rod_is_told_at_most_as_far_as_it_reaches():
    def reached(*rods):
        return least_station_m(RodOfHole("", None, 1, *rod, None, NOON) for rod in rods)

    level = (3.0, 0.0, None)
    assert reached() == 0.0
    assert reached(level, level) == 6.0
    # 3 m along at a pitch of 3 in 4 reach 2.4 m; the rod after it bends out of that pitch.
    assert reached((3.0, -0.75, None), level) == pytest.approx(4.8)
    assert reached(level, (3.0, 0.0, 5.5), level) == 8.5
    assert reached((3.0, 0.0, 4.0)) == 3.0


def test_a_variance_for_a_pilot_that_nobody_watched_does_not_excuse_drilling_it_anew():
    stored = bore_of_today()
    stood(stored)
    drill(stored, None, 5)
    excuse(stored, "pilot")
    for pass_made in PASSES[1:]:
        see(stored, factories.PersonFactory(), pass_made)
    assert missing(stored) == []
    take_out(stored, 2)
    drill(stored, DrilledRod.objects.get(bore=stored, number=1), 4, depth_m=2.0)
    told = " ".join(missing(stored))
    assert "No watch of the pilot at: " in told
    assert "it was not signed for this: Rod 2 and those after it were pulled back, " in told
    assert f"{ANEW}pilot" not in told
    excuse(stored, "pilot")
    assert "No watch of the pilot" not in " ".join(missing(stored))


def test_who_is_to_watch_a_pilot_for_the_first_time_is_not_told_of_a_last_watch(client):
    stored = bore_of_today()
    stood(stored)
    drill(stored, None, 5)
    take_out(stored, 2)
    client.force_login(person_in_role("Foreman", stored.job.organisation))
    table = client.get(reverse("conflicts:watches", args=[stored.pk])).content.decode()
    assert "Watch the pilot pass" in table
    pilot = client.get(reverse("conflicts:watch", args=[stored.pk, 0, "pilot"])).content.decode()
    for page in (table, pilot):
        assert "after the last watch" not in page
        assert "No rod is logged in place of those pulled back: log it first" in page
