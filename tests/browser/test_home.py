"""The first page and the search in Chromium: they fit, axe is content, and the keyboard is enough."""

from collections.abc import Iterator
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from conflicts.assess import store_assessment
from locates.models import Response, TestHole
from tests.factories import person_in_role, small_job

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

DESK = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}


@pytest.fixture
def address(live_server) -> str:
    """The site with a bore of these days that much is missing for."""
    now = timezone.now()
    job = small_job(name="Alder Street")
    job.tickets.update(
        number="HB-26-0914",
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now + timedelta(days=2), planned_finish_at=now + timedelta(days=3))
    Response.objects.update(response="awaiting")
    TestHole.objects.all().delete()
    store_assessment(job.bores.get().pk)
    return live_server.url


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def page(request, browser: Browser, address, client) -> Iterator[Page]:
    client.force_login(person_in_role("Coordinator"))
    # The policy forbids the script that axe is.
    context = browser.new_context(viewport=request.param, bypass_csp=True)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": address}])
    opened = context.new_page()
    yield opened
    # The map asks for its data by itself: answered before the tables are emptied.
    opened.wait_for_load_state("networkidle")
    context.close()


def test_the_day_begins_with_what_is_missing_and_any_record_is_a_key_away(page, address):
    page.goto(f"{address}/")
    expect(page.get_by_role("heading", name="What needs a person")).to_be_visible()
    looks_right(page)
    step = page.get_by_role("link", name="Record the answer")
    assert step.bounding_box()["height"] >= 44

    box = page.get_by_role("searchbox")
    page.keyboard.press("/")
    expect(box).to_be_focused()
    # In the box the key is a letter like any other.
    page.keyboard.type("HB-26/")
    expect(box).to_have_value("HB-26/")
    page.keyboard.press("Backspace")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Tickets")).to_be_visible()
    looks_right(page)
    assert page.get_by_role("searchbox").bounding_box()["height"] >= 44

    page.get_by_role("link", name="HB-26-0914").press("Enter")
    expect(page.get_by_role("heading", name="Alder Street", level=1)).to_be_visible()


def test_the_key_can_be_switched_off_and_on_for_good(page, address):
    page.goto(address + reverse("conflicts:search"))
    choice = page.get_by_label("The key / goes to the search box")
    expect(choice).to_be_checked()
    choice.press("Space")
    page.goto(f"{address}/")
    page.keyboard.press("/")
    # On a phone the box stays folded away in the menu.
    expect(page.locator("#search-box")).not_to_be_focused()
    page.goto(address + reverse("conflicts:search"))
    expect(choice).not_to_be_checked()
    choice.press("Space")
    page.reload()
    page.keyboard.press("/")
    expect(page.get_by_role("searchbox")).to_be_focused()


def looks_right(page: Page) -> None:
    """Nothing lies beside the screen, and axe finds nothing."""
    wider_by = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
    assert wider_by <= 0
    found = Axe().run(page)
    assert found.response["passes"]
    assert found.response["violations"] == [], found.generate_report()
