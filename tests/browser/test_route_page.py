"""The route of a job on its page: read by everybody, by keyboard, and drawn for a phone's width."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from conflicts.models import Pit
from locates.models import Job
from tests.conflicts.route.test_route_on_job_page import bore_of
from tests.factories import PitFactory, box, small_job
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def job() -> Job:
    """Two bores that one pit joins."""
    job = small_job()
    first = job.bores.get()
    after = bore_of(job, "After it", (102, 0), (162, 20))
    Pit.objects.filter(bore=first, end="exit").update(area=box(99.5, -1, 102.5, 1))
    PitFactory(bore=after, end="entry", area=box(99.5, -1, 102.5, 1))
    return job


@pytest.mark.parametrize("viewport", [PHONE, DESK])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_read_it(opened, job, viewport, scheme):
    path = reverse("conflicts:route", args=[job.pk])
    page = opened("Foreman", path, viewport=viewport, color_scheme=scheme, bypass_csp=True)
    drawn = page.locator(".route-drawing:visible")
    expect(drawn).to_have_count(1)
    assert ("is-narrow" in drawn.get_attribute("class").split()) is (viewport == PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_by_keyboard_one_gets_to_the_route_and_to_a_bore_of_it(opened, job):
    page = opened("Foreman", reverse("conflicts:job", args=[job.pk]), viewport=DESK)
    tab_to(page, page.get_by_role("link", name="The route from end to end"))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=f"Route of {job.name}").wait_for()
    tab_to(page, page.get_by_role("link", name="After it", exact=True))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="After it", level=1).wait_for()


def test_by_keyboard_one_gets_the_route_as_a_file(opened, job):
    page = opened("Foreman", reverse("conflicts:route", args=[job.pk]), viewport=DESK)
    tab_to(page, page.get_by_role("link", name="CSV with chainage"))
    with page.expect_download() as sent:
        page.keyboard.press("Enter")
    assert sent.value.suggested_filename == "conduit_route.csv"
