"""A reamer or conduit that went by after the last watch of its kind is watched again before a close-out."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.closing_faults import NO_PULLBACK
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.models import CameraInspection, CrossingWatch, HolePass, Variance, VarianceSignature
from locates.local_time import write_local
from locates.models import Mark
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.site.test_closing_faults import PASSES, close, missing
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ANEW = "made after the last watch of one: "


@pytest.fixture
def bore():
    """A walked bore over one gas line at 50 m under a release, watched by all three passes."""
    stored = bore_of_today()
    stood(stored)
    for pass_made in PASSES:
        see(stored, factories.PersonFactory(), pass_made)
    assert missing(stored) == []
    return stored


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def log(bore, made_at=None, **what):
    at = timezone.now() if made_at is None else made_at
    return factories.HolePassFactory(bore=bore, made_at=at, logged_at=timezone.now(), **what)


def pull(bore, made_at=None):
    return log(bore, made_at, kind="pullback", diameter_m=0.12, conduits=[[2, 0.06]])


def before_the_watches():
    return timezone.now() - timedelta(minutes=5)


def watch_page(bore, pass_made):
    return reverse("conflicts:watch", args=[bore.pk, 0, pass_made])


def excuse(bore, pass_made):
    asked = Variance(
        bore=bore, reason="Two people looked.", subject="watch", pass_made=pass_made, mark=Mark.objects.get(),
        kind="crossing", station_m=50.0,
    )  # fmt: skip
    request_variance(asked, by=factories.PersonFactory())
    until = timezone.now() + timedelta(days=2)
    return sign_variance(VarianceSignature(variance=asked, valid_until=until), by=factories.PersonFactory())


def test_passes_logged_after_they_were_watched_close_the_bore_where_they_began_before(bore):
    log(bore, before_the_watches())
    pull(bore, before_the_watches() + timedelta(minutes=1))
    assert missing(bore) == []
    assert close(bore, factories.PersonFactory()).pk


def test_a_second_reamer_that_nobody_watched_holds_until_it_is_seen_to_pass(bore):
    person = factories.PersonFactory()
    log(bore, before_the_watches(), diameter_m=0.15)
    log(bore)
    pull(bore)
    told = missing(bore)
    assert [ANEW in one for one in told] == [True, True]
    assert told[0].startswith("A reaming is logged")
    assert told[1].startswith("A pullback is logged")
    assert "7 7/8 in" in told[0]
    see(bore, person, "reaming")
    see(bore, person, "pullback")
    assert missing(bore) == []


def test_a_reamer_that_stayed_away_from_the_line_asks_for_no_watch_of_it(bore):
    log(bore, from_station_m=0.0, to_station_m=20.0)
    assert missing(bore) == [NO_PULLBACK]
    log(bore, from_station_m=20.0, to_station_m=60.0)
    assert ANEW in missing(bore)[0]


def test_a_pass_that_is_withdrawn_asks_for_no_watch(bore):
    factories.HolePassWithdrawalFactory(hole_pass=log(bore))
    assert missing(bore) == []


def test_a_reaming_after_the_last_pullback_wants_a_pullback_whenever_either_was_logged(bore):
    early = before_the_watches()
    pull(bore, early + timedelta(minutes=1))
    log(bore, early)
    assert missing(bore) == []
    log(bore, early + timedelta(minutes=2))
    assert missing(bore) == [NO_PULLBACK]
    pull(bore, early + timedelta(minutes=3))
    assert missing(bore) == []


def test_a_variance_excuses_the_pass_that_its_signer_was_told_of_and_no_later_one(bore):
    log(bore, diameter_m=0.15)
    pull(bore, timezone.now())
    see(bore, factories.PersonFactory(), "pullback")
    signature = excuse(bore, "reaming")
    assert "a reaming of 5 7/8 in was made" in signature.variance.bound_words()
    assert missing(bore) == []
    log(bore)
    pull(bore)
    see(bore, factories.PersonFactory(), "pullback")
    assert "it was not signed for this: After it was watched a reaming of 7 7/8 in" in " ".join(missing(bore))


def test_who_watches_is_told_that_the_pass_was_made_anew(foreman, bore):
    table = reverse("conflicts:watches", args=[bore.pk])
    assert "Every pass was watched at every crossing." in foreman.get(table).content.decode()
    assert "is to be watched again" not in foreman.get(watch_page(bore, "reaming")).content.decode()
    log(bore)
    shown = foreman.get(table).content.decode()
    assert "reaming made again" in shown
    assert "Watch the reaming pass" in shown
    for page in (shown, foreman.get(watch_page(bore, "reaming")).content.decode()):
        assert "after the last watch: it is to be watched again." in page


def test_logging_asks_whether_a_pass_is_the_one_that_was_watched(foreman, bore):
    address = reverse("conflicts:passes", args=[bore.pk])
    written = {"new_id": str(uuid4()), "reamer": "7.87", "size_unit": "in"}
    answer = foreman.post(address, written)
    assert answer.status_code == 200
    [asked] = answer.context["asked"].oddities
    assert "A reaming was watched before this one" in asked.sentence
    assert "write when it began" in answer.content.decode()
    assert not HolePass.objects.exists()
    # It is the one that was watched: it began before.
    began = write_local(before_the_watches(), bore.job.time_zone)
    assert foreman.post(address, {**written, "made_at": began}).status_code == 302
    assert missing(bore) == [NO_PULLBACK]
    # It is another one, which nobody watched.
    again = {**written, "new_id": str(uuid4()), "confirmed": asked.token}
    assert foreman.post(address, again).status_code == 302
    assert ANEW in missing(bore)[0]
    # That one is not asked about anew with each that follows.
    assert foreman.post(address, {**written, "new_id": str(uuid4())}).status_code == 302


def looked(bore, at):
    return CameraInspection.objects.create(
        bore=bore, mark=Mark.objects.get(), stage="after", inspected_by="Lowmoor Pipe", inspected_at=at,
        recorded_by=factories.PersonFactory(), recorded_by_name="R. Pell", result="no_damage",
    )  # fmt: skip


@pytest.mark.parametrize("kind", ["pullback", "reaming"])
def test_a_camera_looks_into_a_sewer_after_the_last_logged_pass_of_either_kind(bore, kind):
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(bore.pk)
    looked(bore, timezone.now())
    assert missing(bore) == []
    made_at = timezone.now()
    if kind == "pullback":
        pull(bore, made_at)
    else:
        log(bore, made_at)
    see(bore, factories.PersonFactory(), "reaming")
    see(bore, factories.PersonFactory(), "pullback")
    too_early = "The camera looked in before the pullback, look again"
    assert too_early in " ".join(missing(bore))
    looked(bore, timezone.now())
    assert too_early not in " ".join(missing(bore))


def test_a_camera_that_looked_while_the_pullback_still_went_on_looked_before_it(bore):
    """The conduit goes on past every line until it is through, whichever line was watched last."""
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(bore.pk)
    began, too_early = timezone.now(), "The camera looked in before the pullback, look again"
    see(bore, factories.PersonFactory(), "pullback")
    looked(bore, timezone.now())
    through = timezone.now()
    log(bore, began - timedelta(hours=1), kind="pullback", conduits=[[2, 0.06]], ended_at=through)
    assert too_early in " ".join(missing(bore))
    looked(bore, timezone.now())
    assert too_early not in " ".join(missing(bore))


def test_a_pullback_that_is_logged_long_after_it_was_through_leaves_the_look_before_that_its_worth(bore):
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(bore.pk)
    at, too_early = timezone.now(), "The camera looked in before the pullback, look again"
    looked(bore, at)
    last = max(one.watched_at for one in CrossingWatch.objects.all())
    log(bore, before_the_watches(), kind="pullback", conduits=[[2, 0.06]], ended_at=last)
    assert too_early not in " ".join(missing(bore))


def test_whoever_logs_a_pass_says_when_it_was_through(foreman, bore):
    address = reverse("conflicts:passes-pullback", args=[bore.pk])
    written = {"count_1": "1", "size_1": "2 in", "size_unit": "in"}
    zone = bore.job.time_zone
    began, through = (write_local(timezone.now() - timedelta(hours=ago), zone) for ago in (3, 2))

    def sent(**moments):
        first = foreman.post(address, {**written, "new_id": str(uuid4()), **moments})
        if first.status_code == 302 or not first.context["asked"]:
            return first
        tokens = " ".join(one.token for one in first.context["asked"].oddities)
        return foreman.post(address, {**written, "new_id": str(uuid4()), "confirmed": tokens, **moments})

    turned = sent(made_at=through, ended_at=began).content.decode()
    assert "It was through before it began: correct one of the two moments." in turned
    half = sent(ended_at=through).content.decode()
    assert "It was through before it began. Say when it began too: left empty, that is now." in half
    assert not HolePass.objects.exists()
    assert sent(made_at=began, ended_at=through).status_code == 302
    kept = HolePass.objects.get()
    assert (write_local(kept.made_at, zone), write_local(kept.ended_at, zone)) == (began, through)
    assert "<small>through " in foreman.get(reverse("conflicts:passes", args=[bore.pk])).content.decode()
    assert sent().status_code == 302
    last = HolePass.objects.latest("logged_at")
    assert last.ended_at == last.logged_at


def test_a_variance_for_a_pass_that_nobody_watched_excuses_no_later_one():
    stored = bore_of_today()
    stood(stored)
    see(stored, factories.PersonFactory(), "pilot")
    log(stored, diameter_m=0.15)
    signature = excuse(stored, "reaming")
    assert "A reaming of 5 7/8 in was made, " in signature.variance.bound_words()
    pull(stored)
    see(stored, factories.PersonFactory(), "pullback")
    assert missing(stored) == []
    log(stored)
    told = " ".join(missing(stored))
    assert "No watch of the reaming at: " in told
    assert "it was not signed for this: A reaming of 7 7/8 in was made, " in told
    # Nobody watched one, so none is told of as made after a watch.
    assert ANEW not in told
    excuse(stored, "reaming")
    assert "reaming at" not in " ".join(missing(stored))
