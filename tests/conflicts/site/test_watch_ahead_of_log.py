"""A pilot that is watched at a line to which no logged rod has come is asked about, and kept if confirmed."""

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.errors import WatchAskedError
from conflicts.models import CrossingWatch
from conflicts.record.read import read_kept_records
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_closing_faults import missing
from tests.conflicts.site.test_lost_stops import see
from tests.conflicts.site.test_watch_oddities import TOKEN
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

SHORT = "By the log the head is "


@pytest.fixture
def bore():
    """A bore over one gas line at 50 m, under a release."""
    stored = bore_of_today()
    stood(stored)
    return stored


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drill(bore, rods, last=None, length_m=3.0):
    for _ in range(rods):
        last = factories.DrilledRodFactory(bore=bore, after=last, length_m=length_m, logged_at=timezone.now())
    return last


def question(bore, person, **watched):
    with pytest.raises(WatchAskedError) as asked:
        see(bore, person, **watched)
    [one] = asked.value.oddities
    return one


def test_a_head_that_is_rods_short_by_the_log_is_asked_about(bore, person):
    drill(bore, 10)
    one = question(bore, person)
    assert one.code == "head_short"
    # 30 m are drilled, and the line lies at 50 m: 20 m are seven rods of 3 m.
    assert one.sentence.startswith(f"{SHORT}7 rods short of this line")
    assert "rod 10, the last that is logged, ended at" in one.sentence
    assert not CrossingWatch.objects.exists()


@pytest.mark.parametrize("rods", [16, 17, 20])
def test_a_line_within_the_rod_that_is_not_logged_yet_is_not_asked_about(bore, person, rods):
    """The 16th ends at 48 m: in the next one the head goes by."""
    drill(bore, rods)
    assert see(bore, person).confirmed is None


def test_a_rod_less_is_asked_about(bore, person):
    """The 15th ends at 45 m, and in the next one neither the head nor its bit comes to 50 m."""
    drill(bore, 15)
    assert f"{SHORT}2 rods short" in question(bore, person).sentence


def test_neither_no_log_nor_a_head_that_was_not_seen_is_asked_about(bore, person):
    assert see(bore, person).confirmed is None
    drill(bore, 10)
    assert see(bore, person, gap_m=None).confirmed is None


def test_rods_that_were_pulled_back_do_not_reach_the_line(bore, person):
    last = drill(bore, 17)
    factories.RodWithdrawalFactory(rod=last.after.after.after.after, withdrawn_at=timezone.now())
    assert f"{SHORT}5 rods short" in question(bore, person).sentence


def test_what_was_confirmed_is_signed_counts_and_is_told(foreman, bore):
    drill(bore, 10)
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    text = sent_as_shown(foreman, address, {"seen": "yes", "gap_m": "2 ft"}, follow=True).content.decode()
    assert SHORT in text
    token = TOKEN.search(text)[1]
    sent_as_shown(foreman, address, {"seen": "yes", "gap_m": "2 ft", "confirmed": token}, follow=True)
    watch = CrossingWatch.objects.get()
    assert [one["code"] for one in watch.confirmed] == ["head_short"]
    assert not any("No watch of the pilot" in words for words in missing(bore))
    table = foreman.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "by the log of then the head was short of this line, and it was kept though asked" in table
    crossing = foreman.get(reverse("conflicts:crossing", args=[bore.pk, 0])).content.decode()
    assert f"<b>Kept though asked:</b> {SHORT}7 rods short" in crossing
    [kept] = read_kept_records(bore.pk).signed.by_crossing[0].watches
    assert kept.confirmed[0].startswith(SHORT)


def test_a_rod_that_was_logged_meanwhile_is_another_question(bore, person):
    last = drill(bore, 10)
    token = question(bore, person).token
    drill(bore, 1, last)
    assert question(bore, person).token != token
