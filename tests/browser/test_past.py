"""The past and the record of changes in Chromium: a person goes from a change to how the job stood then."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from locates.acting import acting
from locates.models import Job, Mark
from tests.factories import PersonFactory, person_in_role, small_job
from tests.screens import DESK, PHONE, hear_complaints

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def address(live_server) -> str:
    """The site with a job whose mark somebody has named anew."""
    job = small_job(name="Alder Street")
    with acting("page /marks/", PersonFactory(first_name="Wren", last_name="Aldous")):
        Mark.objects.filter(job=job).update(ref="NAMED-ANEW")
    return live_server.url


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def page(request, browser: Browser, address, client) -> Iterator[Page]:
    client.force_login(person_in_role("Safety manager"))
    # The policy forbids the script that axe is.
    context = browser.new_context(viewport=request.param, bypass_csp=True)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": address}])
    opened, complaints = context.new_page(), []
    hear_complaints(opened, complaints)
    yield opened
    # The map asks for its data by itself: answered before the tables are emptied.
    opened.wait_for_load_state("networkidle")
    context.close()
    assert complaints == []


def looks_right(page: Page) -> None:
    """Nothing overflows, and axe finds nothing."""
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    found = Axe().run(
        page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]}
    )
    assert found.violations_count == 0, found.generate_report()


def test_from_a_change_to_the_job_and_the_bore_as_they_stood_before_it(page, address):
    job = Job.objects.get()
    page.goto(address + reverse("conflicts:job", args=[job.pk]))
    page.get_by_role("link", name="Every change").click()
    expect(page.get_by_role("heading", name="Mark NAMED-ANEW: changed")).to_be_visible()
    expect(page.get_by_text("by Wren Aldous; page /marks/")).to_be_visible()
    looks_right(page)
    heading = page.get_by_role("heading", name="Mark NAMED-ANEW: changed")
    change = page.get_by_role("listitem").filter(has=heading)
    change.get_by_role("link", name="The job just then").click()
    past = page.get_by_role("region", name="The past")
    expect(past).to_be_visible()
    expect(
        page.get_by_role("cell", name="NAMED-ANEW").or_(page.get_by_text("NAMED-ANEW")).first
    ).to_be_visible()
    past.get_by_text("What changed when").click()
    looks_right(page)
    past.locator(".past-moments a:not([aria-current])").last.click()
    expect(page.get_by_role("heading", name="Map, as of then")).to_be_visible()
    expect(page.locator(".map-status")).to_be_hidden()
    assert page.get_by_text("NAMED-ANEW").count() == 0


def test_the_bore_of_then_is_drawn_with_its_map_and_checks(page, address):
    bore = Job.objects.get().bores.get()
    page.goto(address + reverse("conflicts:bore", args=[bore.pk]))
    page.get_by_role("link", name="As it stood at a moment").click()
    expect(page.get_by_role("heading", name="What held then")).to_be_visible()
    expect(page.get_by_role("region", name="Profile, drawn")).to_be_visible()
    expect(page.locator(".map-status")).to_be_hidden()
    looks_right(page)


def test_a_moment_that_cannot_be_is_told_where_it_was_typed(browser, address, client):
    client.force_login(person_in_role("Foreman"))
    context = browser.new_context(viewport=PHONE, bypass_csp=True, java_script_enabled=True)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": address}])
    page = context.new_page()
    page.goto(address + reverse("conflicts:job-as-of", args=[Job.objects.get().pk]))
    field = page.get_by_label("Another moment")
    field.fill("next week")
    page.get_by_role("button", name="Show that moment").click()
    expect(page.get_by_role("alert")).to_contain_text("next week")
    expect(field).to_have_value("next week")
    assert page.get_by_role("button", name="Show that moment").bounding_box()["height"] >= 44
    looks_right(page)
    context.close()
