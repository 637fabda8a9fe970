"""Pages with a form at the hole and after compute their figures themselves: no form waits for a worker."""

import pytest
from django.urls import reverse

from conflicts.models import Assessment, CrossingWatch
from tests import factories
from tests.page_forms import form_of, sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Each page, and what only its form or table has.
PAGES = {
    "watches": ([], "Watch the pilot pass"),
    "watch": ([0, "pilot"], 'name="gap_m"'),
    "camera": ([], 'name="inspected_at"'),
    "close-out": ([], "What is missing"),
    "variance-ask": ([], 'value="watch:0:pilot"'),
}


@pytest.fixture
def bore(client):
    """A bore that no worker has come to."""
    client.force_login(factories.person_in_role("Foreman"))
    bore = bore_of_today()
    Assessment.objects.all().delete()
    return bore


@pytest.mark.parametrize("name", PAGES)
def test_a_page_with_a_form_shows_it_though_nothing_is_stored(
    client, bore, name, django_assert_max_num_queries
):
    parts, words = PAGES[name]
    address = reverse(f"conflicts:{name}", args=[bore.pk, *parts])
    with django_assert_max_num_queries(60):
        text = client.get(address).content.decode()
    assert words in text
    assert "being recalculated" not in text


def test_a_watch_is_opened_entered_and_signed_without_any_worker(client, bore):
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    assert form_of(client, address)["crossing"]
    sent_as_shown(client, address, {"seen": "yes", "gap_m": "2 ft"})
    assert CrossingWatch.objects.get().gap_m == pytest.approx(0.6096)
    assert not Assessment.objects.exists()
