"""What is sent after the records changed is about what was shown, and waits for no worker."""

import pytest
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.models import CameraInspection, Variance
from tests import factories
from tests.page_forms import form_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ASKED = {"reason": "Watched all day by two people.", "evidence": "By the drawing of the day."}


@pytest.fixture
def bore(client):
    client.force_login(factories.person_in_role("Foreman"))
    return bore_of_today()


def add_line_before(bore):
    """A line nearer to the entry, of which no worker knows yet."""
    operator = bore.job.operators.get()
    factories.MarkFactory(job=bore.job, operator=operator, geometry=factories.line((20, -15), (20, 15)))


def test_a_variance_asked_for_a_crossing_is_not_taken_for_the_one_at_its_place_now(client, bore):
    shown = bore.job.marks.get()
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    filled = form_of(client, address)
    add_line_before(bore)
    text = client.post(address, {**filled, **ASKED, "what": "watch:0:pilot"}).content.decode()
    assert "choose again which one you mean" in text
    assert all(words in text for words in ASKED.values())
    assert not Variance.objects.exists()
    store_assessment(bore.pk)
    client.post(address, {**form_of(client, address), **ASKED, "what": "watch:1:reaming"})
    asked = Variance.objects.get()
    assert (asked.mark, asked.pass_made) == (shown, "reaming")


def test_a_variance_for_a_check_waits_for_no_worker(client, bore):
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    filled = form_of(client, address)
    add_line_before(bore)
    client.post(address, {**filled, **ASKED, "what": "check:watch_holes"})
    assert Variance.objects.get().check_code == "watch_holes"


def test_a_camera_inspection_waits_for_no_worker(client, bore):
    address = reverse("conflicts:camera", args=[bore.pk])
    filled = form_of(client, address)
    mark = bore.job.marks.get()
    add_line_before(bore)
    seen = {
        "mark": mark.pk,
        "stage": "before",
        "inspected_at": "2026-01-02 10:00",
        "inspected_by": "Lowmoor Pipe",
        "result": "no_damage",
    }
    client.post(address, {**filled, **seen})
    assert CameraInspection.objects.get().mark == mark
