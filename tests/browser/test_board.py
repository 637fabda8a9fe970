"""The coordinator's morning at the board in Chromium: matters settled by the keyboard; it fits everywhere."""

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from locates.changes import job_changed
from locates.models import Job, TicketMatter
from tests.factories import JobFactory, MarkFactory, ResponseFactory, TicketFactory, person_in_role
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

MATTERS = {
    ("HB-26-0901", "answer_overdue"),
    ("HB-26-0902", "expired"),
    ("HB-26-0903", "call_renewal"),
    ("HB-26-0904", "re_mark_asked"),
}


@pytest.fixture
def address(live_server) -> str:
    """A site with a ticket for each of four matters."""
    now, day = timezone.now(), timedelta(days=1)
    job = JobFactory(name="Alder Street")

    def ticket(number: str, **values):
        moments = {
            "called_at": now - 20 * day,
            "legal_start_at": now - 17 * day,
            "expires_at": now + 12 * day,
        }
        return TicketFactory(job=job, number=number, **{**moments, **values})

    late = ticket("HB-26-0901", response_due_at=now - 18 * day)
    ResponseFactory(ticket=late, operator__name="Tallow Power", response="awaiting")
    ResponseFactory(ticket=ticket("HB-26-0902", expires_at=now - day))
    ResponseFactory(ticket=ticket("HB-26-0903", renew_by=now + day))
    faded = ticket("HB-26-0904")
    ResponseFactory(ticket=faded)
    MarkFactory(job=job, ref="G-7", ticket=faded, is_intact=False)
    job_changed(job.pk)
    return live_server.url


@pytest.fixture
def page_on(request, browser: Browser, address, client) -> Iterator:
    client.force_login(person_in_role("Coordinator"))
    contexts = []

    def opened(**options) -> Page:
        # The policy forbids the script that axe is.
        context = browser.new_context(bypass_csp=True, **options)
        session = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": address}])
        contexts.append(context)
        return context.new_page()

    yield opened
    for context in contexts:
        for page in context.pages:
            page.wait_for_load_state("networkidle")
        context.close()


def soon() -> datetime:
    """Far enough off for a ticket that asks for no renewal yet."""
    return timezone.now() + timedelta(days=12)


def left() -> set[tuple[str, str]]:
    return set(TicketMatter.objects.values_list("ticket__number", "matter"))


def test_a_morning_at_the_board_settles_what_is_due_without_a_mouse(page_on, address):
    nobody_named = TicketFactory(job=Job.objects.get(), number="HB-26-0905", expires_at=soon())
    job_changed(nobody_named.job_id)
    page = page_on(viewport=DESK)
    assert left() == MATTERS | {("HB-26-0905", "name_operators")}
    page.goto(f"{address}/tickets/")
    expect(page.locator("tbody tr")).to_have_count(5)

    tab_to(page, page.get_by_role("link", name="Name the operators of HB-26-0905"))
    page.keyboard.press("Enter")
    page.get_by_label("First letters of the operator").focus()
    page.keyboard.type("tal")
    page.keyboard.press("Tab")
    page.keyboard.type("n")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert left() == MATTERS

    page.goto(f"{address}/tickets/")
    expect(page.locator("tbody tr")).to_have_count(4)
    tab_to(page, page.get_by_role("link", name="Log the answer on HB-26-0901"))
    page.keyboard.press("Enter")
    letter = page.get_by_label("Letter of the answer")
    letter.focus()
    page.keyboard.type("m")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert left() == MATTERS - {("HB-26-0901", "answer_overdue")}

    page.goto(f"{address}/tickets/")
    expect(page.locator("tbody tr")).to_have_count(3)
    tab_to(page, page.get_by_role("button", name="Work is over on HB-26-0902"))
    page.keyboard.press("Enter")
    expect(page.get_by_text("The work of ticket HB-26-0902 is over")).to_be_visible()

    page.goto(f"{address}/tickets/")
    expect(page.locator("tbody tr")).to_have_count(2)
    tab_to(page, page.get_by_role("link", name="Draft the renewal of HB-26-0903"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Renew ticket HB-26-0903")).to_be_visible()
    # A draft is no ticket yet: the board keeps asking.
    assert left() == {("HB-26-0903", "call_renewal"), ("HB-26-0904", "re_mark_asked")}


def test_a_choice_is_made_kept_and_opened_again_by_keyboard(page_on, address):
    page = page_on(viewport=DESK)
    page.goto(f"{address}/tickets/")
    page.get_by_text("Filter, search and order").press("Enter")
    page.get_by_label("To do", exact=True).select_option("re_mark_asked")
    page.get_by_label("Job", exact=True).press_sequentially("alder")
    page.keyboard.press("Enter")
    expect(page.locator("tbody tr")).to_have_count(1)
    page.get_by_label("Name of the view").press_sequentially("Paint that is gone")
    page.keyboard.press("Enter")
    expect(page.get_by_text("The view Paint that is gone is kept.")).to_be_visible()
    page.goto(f"{address}/tickets/")
    page.get_by_role("link", name="Paint that is gone").press("Enter")
    expect(page.locator("tbody tr")).to_have_count(1)
    expect(page.get_by_text("G-7 reported gone")).to_be_visible()


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
@pytest.mark.parametrize("where", ["/tickets/", "/tickets/?matter=expired&days=x", "/tickets/all/"])
def test_the_lists_fit_the_screen_and_axe_is_content(page_on, address, viewport, where):
    page = page_on(viewport=viewport)
    page.goto(address + where)
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    found = Axe().run(page)
    assert found.response["passes"]
    assert found.response["violations"] == [], found.generate_report()
    for target in page.locator("main .button:visible, main summary:visible").all():
        assert target.bounding_box()["height"] >= 44


def test_the_board_works_without_script(page_on, address):
    page = page_on(viewport=PHONE, java_script_enabled=False)
    page.goto(f"{address}/tickets/?q=0904")
    expect(page.get_by_role("link", name="Draft the re-mark of HB-26-0904")).to_be_visible()
