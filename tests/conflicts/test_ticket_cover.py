"""What tickets cover of a bore, ticket by ticket, and the draft of a ticket for the rest."""

from datetime import timedelta

import pytest
import shapely
from django.contrib.gis.geos import MultiPolygon
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import compute_bores, store_assessment
from conflicts.coverage_sheet import coverage_sheet
from conflicts.desk.draft_ticket import CORRIDOR_M, draft_ticket, gap_name, to_draft
from conflicts.drawing.cover_bar import cover_bar
from locates.models import Ticket
from tests.factories import (
    EXPIRES_AT,
    LEGAL_START_AT,
    PLACE,
    PLANNED_FINISH_AT,
    PLANNED_START_AT,
    BoreFactory,
    PitFactory,
    TicketFactory,
    box,
    person_in_role,
)
from tests.page_forms import form_of

AT = PLANNED_START_AT
MILLIMETRE = 1.5e-3  # eight decimals of a degree, and the gap that is taken for none

pytestmark = pytest.mark.django_db


def ticket(bore, west_m, east_m, **values):
    return TicketFactory(job=bore.job, area=MultiPolygon(box(west_m, -10, east_m, 10)), **values)


def sheet_of(bore, at=AT):
    return coverage_sheet(compute_bores([bore.pk])[bore.pk].at(at).cover)


@pytest.fixture
def bore():
    """A bore of 100 m: 40 m under a ticket that lasts, the next 20 m under one that does not."""
    bore = BoreFactory()
    ticket(bore, -10, 40, number="LASTS")
    ticket(bore, 40, 60, number="ENDS", expires_at=PLANNED_FINISH_AT - timedelta(minutes=1))
    return bore


def test_now_and_until_the_finish_are_told_apart(bore):
    sheet = sheet_of(bore)
    assert sheet.gaps_now_m == [pytest.approx((60.0, 100.0), abs=MILLIMETRE)]
    assert sheet.gaps_to_finish_m == [pytest.approx((40.0, 100.0), abs=MILLIMETRE)]
    ending, lasting = sorted(sheet.spans, key=lambda span: span.number)
    assert (lasting.number, lasting.lapse) == ("LASTS", "")
    assert lasting.covered_m == [pytest.approx((0.0, 40.0), abs=MILLIMETRE)]
    assert ending.covered_m == [pytest.approx((40.0, 60.0), abs=MILLIMETRE)]
    assert ending.is_in_force_now
    assert "renew it" in ending.lapse
    assert not sheet.is_whole


@pytest.mark.parametrize("unknown", ["legal_start_at", "expires_at"])
def test_a_ticket_with_an_unknown_date_covers_nothing_and_says_what_is_missing(unknown):
    bore = BoreFactory()
    ticket(bore, -10, 110, **{unknown: None})
    sheet = sheet_of(bore)
    assert sheet.gaps_now_m == sheet.gaps_to_finish_m == [pytest.approx((0.0, 100.0), abs=MILLIMETRE)]
    assert not sheet.spans[0].is_in_force_now
    assert "enter it" in sheet.spans[0].lapse


def test_with_a_finish_that_is_unknown_or_past_the_cover_is_never_whole():
    bore = BoreFactory()
    ticket(bore, -10, 110, legal_start_at=LEGAL_START_AT, expires_at=EXPIRES_AT)
    assert sheet_of(bore).is_whole
    bore.planned_finish_at = None
    bore.save()
    assert sheet_of(bore).gaps_to_finish_m == []
    assert not sheet_of(bore).is_whole


def test_a_pit_outside_of_every_ticket_is_told(bore):
    PitFactory(bore=bore, end="exit", area=box(100, -2, 104, 2))
    sheet = sheet_of(bore)
    assert sheet.bare_pits == ["exit"]
    assert to_draft(sheet, []).pit_ends == ["exit"]


def test_a_draft_covers_what_was_not_covered_and_then_nothing_is_left(bore):
    PitFactory(bore=bore, end="exit", area=box(100, -2, 104, 2))
    scene = compute_bores([bore.pk])[bore.pk].scene
    draft = draft_ticket(bore, scene, to_draft(sheet_of(bore), []))
    assert draft.boring_declared is None
    # The bottom of the hole: 2 m to its centre and 0.1 m of radius.
    assert draft.stated_depth_m == pytest.approx(2.1, abs=1e-6)
    draft.number, draft.called_at = "DRAFT", LEGAL_START_AT - timedelta(days=4)
    draft.legal_start_at, draft.expires_at = LEGAL_START_AT, EXPIRES_AT
    draft.full_clean()
    draft.save()
    assert sheet_of(bore).is_whole


def test_a_draft_reaches_the_corridor_to_each_side_and_past_the_stretch(bore):
    scene = compute_bores([bore.pk])[bore.pk].scene
    draft = draft_ticket(bore, scene, to_draft(sheet_of(bore), []))
    corners = PLACE.to_ground(*zip(*draft.area[0].shell.coords, strict=True))
    assert corners.min(axis=0) == pytest.approx([40 - CORRIDOR_M, -CORRIDOR_M], abs=0.01)
    assert corners.max(axis=0) == pytest.approx([100 + CORRIDOR_M, CORRIDOR_M], abs=0.01)


def test_of_two_gaps_one_can_be_drafted_alone():
    bore = BoreFactory()
    ticket(bore, 30, 70)
    sheet = sheet_of(bore)
    first, second = sheet.gaps_to_finish_m
    assert to_draft(sheet, []).stretches_m == [first, second]
    assert to_draft(sheet, [gap_name(second)]).stretches_m == [second]
    assert not to_draft(sheet, ["1.000-2.000"])


def test_the_bar_fills_what_is_covered_and_leaves_the_rest_hollow():
    svg = cover_bar(50.0, [(0.0, 25.0)], [(25.0, 50.0)])
    assert '<rect x="0" y="0" width="500" height="20" class="covered"/>' in svg
    assert '<rect x="500" y="2" width="500" height="16" class="gap"/>' in svg


def test_the_map_draws_each_stretch_that_no_ticket_covers_until_the_finish(bore, client):
    client.force_login(person_in_role("Foreman"))
    Ticket.objects.filter(number="LASTS").update(expires_at=timezone.now() + timedelta(days=400))
    bore.planned_finish_at = timezone.now() + timedelta(days=1)
    bore.save()
    document = client.get(reverse("conflicts:map-data", args=[bore.pk])).json()
    ((of_bore, words, steps),) = document["uncovered"]["rows"]
    assert of_bore == 0
    assert "station 1+31.2 to station 3+28.1" in words
    assert "no ticket in force covers it until the planned finish" in words
    origin = document["origin"]
    longitude, latitude = ((origin[k] + sum(steps[k::2])) * 1e-8 for k in range(2))
    (end,) = PLACE.to_ground([longitude], [latitude])
    assert shapely.distance(shapely.Point(end), shapely.Point(100, 0)) < 0.01


@pytest.fixture
def coming(bore):
    """The same bore, to be drilled tomorrow."""
    now = timezone.now()
    Ticket.objects.filter(number="LASTS").update(
        called_at=now - timedelta(days=5),
        legal_start_at=now - timedelta(days=2),
        expires_at=now + timedelta(days=9),
    )
    bore.planned_start_at, bore.planned_finish_at = now + timedelta(days=1), now + timedelta(days=1, hours=8)
    bore.save()
    store_assessment(bore.pk)
    return bore


def words_of(response):
    return " ".join(response.content.decode().split())


def test_the_list_of_cover_names_the_gap_and_offers_the_draft(coming, client):
    client.force_login(person_in_role("Coordinator"))
    page = words_of(client.get(reverse("conflicts:coverage")))
    assert "Until the planned finish" in page
    assert "1+31.2 to 3+28.1 ft" in page
    assert reverse("conflicts:ticket-draft", args=[coming.pk]) in page


def test_a_draft_fills_the_form_and_says_what_to_tell_the_centre(coming, client):
    client.force_login(person_in_role("Coordinator"))
    address = reverse("conflicts:ticket-draft", args=[coming.pk])
    page = words_of(client.get(address))
    assert "What to tell the one-call centre" in page
    assert "station 1+31.2 to 3+28.1 ft" in page
    assert "Nothing is called in or saved yet" in page
    assert form_of(client, address)["area"]
    assert not Ticket.objects.filter(number="").exists()


def test_a_draft_of_nothing_leads_back_to_the_bore_with_a_word(coming, client):
    client.force_login(person_in_role("Coordinator"))
    response = client.get(
        reverse("conflicts:ticket-draft", args=[coming.pk]), {"gap": "1.000-2.000"}, follow=True
    )
    assert "Nothing to draft there" in words_of(response)


def test_who_may_log_no_ticket_is_offered_no_draft(coming, client):
    client.force_login(person_in_role("Safety manager"))
    assert reverse("conflicts:ticket-draft", args=[coming.pk]) not in words_of(
        client.get(reverse("conflicts:coverage"))
    )
    assert client.get(reverse("conflicts:ticket-draft", args=[coming.pk])).status_code == 403


def test_the_list_asks_the_same_number_of_queries_for_more_bores(coming, client):
    client.force_login(person_in_role("Coordinator"))
    address = reverse("conflicts:coverage")

    def queries():
        with CaptureQueriesContext(connection) as captured:
            client.get(address)
        return len(captured)

    few = queries()
    for _ in range(3):
        other = BoreFactory(
            job=coming.job,
            planned_start_at=coming.planned_start_at,
            planned_finish_at=coming.planned_finish_at,
        )
        store_assessment(other.pk)
    assert queries() == few
