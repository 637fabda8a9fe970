"""What is asked before the figures of a watch are kept, and what is not."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import compute, store_assessment
from conflicts.gather import gather
from conflicts.models import CrossingWatch
from conflicts.record.read import read_kept_records
from conflicts.watch_oddities import BESIDES_M, WIDEST_GAP_M, watch_oddities
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry, Photo, TestHole
from tests import factories
from tests.factories import person_in_role
from tests.page_forms import sent_as_shown
from tests.photo_files import photo_upload

pytestmark = pytest.mark.django_db

FT, IN = 0.3048, 0.0254
TOKEN = re.compile('name="confirmed" value="([^"]+)"')


@pytest.fixture
def bore():
    """A bore of today that crosses one gas line 0.9 m below it."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(legal_start_at=now - timedelta(days=5), expires_at=now + timedelta(days=20))
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    store_assessment(job.bores.get().pk)
    return job.bores.get()


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def computed_of(bore):
    return compute(gather([bore.pk])[bore.pk])


def asked(bore, gap_m=None, head_depth_m=None):
    found = computed_of(bore)
    [crossing] = found.crossings
    return [one.sentence for one in watch_oddities(found.scene, crossing, gap_m, head_depth_m)]


def enter(client, bore, **values):
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    return sent_as_shown(client, address, {"seen": "yes", "gap_m": "2 ft", **values}, follow=True)


def test_a_gap_is_asked_about_from_what_the_records_allow_on(bore):
    [crossing] = computed_of(bore).crossings
    clearance = crossing.clearance
    allowed_m = clearance.nearest.centre_distance_m + clearance.worst.loss_m + BESIDES_M
    assert clearance.separation_m < allowed_m < WIDEST_GAP_M
    assert asked(bore, allowed_m - 1e-6) == []
    assert len(asked(bore, allowed_m + 1e-6)) == 1
    assert asked(bore, 0.0) == []


def test_feet_for_inches_are_asked_about_with_both_figures(bore):
    [sentence] = asked(bore, 14 * FT)
    assert sentence.startswith("The gap, 14 ft 0 in, 4.27 m, is more than the ")
    assert sentence.endswith("that the records allow between the two centre lines. Is it 14 in?")


@pytest.mark.parametrize(
    ("gap_m", "meant"),
    [
        (36.0, "Is it 36 cm?"),
        (14 * FT, "Is it 14 in?"),
        (22.5 * FT, "Is it 22.5 in?"),
        (7.123456, "Measure it again."),
    ],
)
def test_the_same_number_of_another_unit_is_offered_where_it_would_fit(bore, gap_m, meant):
    [sentence] = asked(bore, gap_m)
    assert sentence.endswith(meant)


def test_a_gap_at_a_line_of_unknown_depth_is_asked_about_over_3_m(bore):
    TestHole.objects.update(found=False, depth_to_top_m=None, dug_depth_m=1.5)
    assert computed_of(bore).crossings[0].clearance.nearest is None
    assert asked(bore, WIDEST_GAP_M) == []
    [sentence] = asked(bore, WIDEST_GAP_M + 0.01)
    assert "that a test hole is taken to show" in sentence


def test_a_deep_crossing_never_allows_more_than_3_m(bore):
    found = computed_of(bore)
    [crossing] = found.crossings
    lies = crossing.clearance
    deep = replace(crossing, clearance=replace(lies, nearest=replace(lies.nearest, centre_distance_m=9.0)))
    assert len(watch_oddities(found.scene, deep, WIDEST_GAP_M + 0.01, None)) == 1


def test_a_depth_of_the_head_is_asked_about_both_ways(bore):
    found = computed_of(bore)
    [crossing] = found.crossings
    lies = crossing.clearance
    planned_m = float(found.scene.ground.at(lies.station_m)) - lies.meeting.bore_elevation_m
    allowed_m = lies.worst.bore_vertical_m + BESIDES_M
    for side in (-1, 1):
        assert asked(bore, None, planned_m + side * (allowed_m - 1e-6)) == []
        assert len(asked(bore, None, planned_m + side * (allowed_m + 1e-6))) == 1
    # Inches for feet: a depth so small would hide that the head is below the bottom of the hole.
    [sentence] = asked(bore, None, 7 * IN)
    assert sentence.startswith("The depth read, 7 in, 0.18 m, is far from the ")
    assert sentence.endswith("Is it 7 ft?")


def test_nothing_is_signed_until_it_is_confirmed_and_then_the_question_stands_in_the_record(foreman, bore):
    response = enter(foreman, bore, gap_m="14 ft", remarks="By the red flag.")
    text = response.content.decode()
    assert "Nothing is signed yet." in text
    assert "Is it 14 in?" in text
    assert "By the red flag." in text
    assert not CrossingWatch.objects.exists()
    [sentence] = asked(bore, 14 * FT)
    enter(foreman, bore, gap_m="14 ft", confirmed=TOKEN.search(text)[1])
    watch = CrossingWatch.objects.get()
    assert watch.confirmed == [{"code": "gap_wide", "sentence": sentence}]
    assert sentence in LedgerEntry.objects.get(record_id=watch.pk).content
    assert prove_ledger().is_proven
    [kept] = read_kept_records(bore.pk).signed.by_crossing[0].watches
    assert kept.confirmed == (sentence,)


def test_what_was_confirmed_of_another_figure_confirms_nothing(foreman, bore):
    token = TOKEN.search(enter(foreman, bore, gap_m="14 ft").content.decode())[1]
    assert "Is it 15 in?" in enter(foreman, bore, gap_m="15 ft", confirmed=token).content.decode()
    assert not CrossingWatch.objects.exists()
    enter(foreman, bore, gap_m="14 in")
    watch = CrossingWatch.objects.get()
    assert watch.confirmed is None
    assert "confirmed" not in watch.ledger_content()


def test_who_is_asked_is_told_that_photos_have_to_be_chosen_again(foreman, bore):
    text = enter(foreman, bore, gap_m="14 ft", photos=[photo_upload()]).content.decode()
    assert "Choose the files again" in text
    assert '<details class="folded-form" open>' in text
    assert not Photo.objects.exists()
