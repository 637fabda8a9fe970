"""A coordinator begins a job by keyboard alone; the same forms fit a phone, and axe finds nothing."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from locates.models import Job
from tests.factories import TicketFactory, person_in_role
from tests.screens import DESK, PHONE, hear_complaints, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
CORNERS = "38.0001, -78.5001\n38.0001, -78.4980\n37.9999, -78.4980\n37.9999, -78.5001"


@pytest.fixture
def session(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client.cookies["sessionid"].value


@pytest.fixture
def opened(browser, live_server, session):
    """Pages of the coordinator; what any of them complains of fails the test."""
    contexts, complaints = [], []

    def open_page(**options):
        context = browser.new_context(**options)
        context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        contexts.append(context)
        page = context.new_page()
        hear_complaints(page, complaints)
        return page

    yield open_page
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()
    assert complaints == []


def press(page, role, name):
    """Go to a link or button and press Enter on it."""
    tab_to(page, page.get_by_role(role, name=name).first)
    page.keyboard.press("Enter")


def write(page, label, keys):
    """Go to a field and type: a select takes the letters of its choice, a moment its parts in turn."""
    tab_to(page, page.get_by_label(label).first)
    first, *others = keys.split("|")
    page.keyboard.type(first)
    for keys_of_a_part in others:
        page.keyboard.press("ArrowRight")
        page.keyboard.type(keys_of_a_part)


def test_a_job_a_ticket_and_its_answers_are_entered_by_keyboard_alone(opened, live_server):
    page = opened(viewport=DESK)
    page.goto(live_server.url)
    press(page, "link", "Create a job")
    page.wait_for_url("**/jobs/add/")
    write(page, "Name", "Fern Lane")
    write(page, "Jurisdiction", "VA")
    write(page, "Time zone", "America/New_York")
    first_row = page.get_by_role("group", name="Operator 1")
    tab_to(page, first_row.get_by_label("Name"))
    page.keyboard.type("Tallow Gas")
    page.keyboard.press("Enter")
    expect(page.locator(".messages")).to_contain_text("Saved: Job Fern Lane")
    job = Job.objects.get()
    assert (job.jurisdiction.code, job.time_zone) == ("VA", "America/New_York")

    press(page, "link", "Add a ticket")
    page.wait_for_url("**/tickets/add/")
    write(page, "Number", "T-100")
    write(page, "Kind", "routine")
    write(page, "Called in at", "11022026|0800AM")
    write(page, "Boring declared", "yes")
    press(page, "button", "Work out the dates")
    page.wait_for_url("**/ticket-dates/#dates")
    # The rule is sure of the legal start alone; the centre said when the ticket ends.
    expect(page.get_by_text("Fri Nov 6, 2026, 7:00 am EST is taken if this is empty.")).to_be_visible()
    write(page, "Expires", "11242026|0700AM")
    write(page, "Corners of the work area", CORNERS)
    press(page, "button", "Save")
    expect(page.locator(".messages")).to_contain_text("Saved: Ticket T-100")
    # The page opens at the tickets, far below its head.
    assert page.url.endswith("#tickets")
    expect(page.locator(".messages")).to_be_in_viewport(ratio=1)

    press(page, "link", "Record responses")
    page.wait_for_url("**/responses/add/")
    # Who is awaited already is named in the quick entry, so the cursor waits at the answer.
    for response, cursor in (
        ("awaiting", "First letters of the operator"),
        ("marked", "Letter of the answer"),
    ):
        expect(page.get_by_label(cursor)).to_be_focused()
        page.get_by_label("Operator", exact=True).focus()
        page.keyboard.type("Tallow")
        page.keyboard.press("Tab")
        page.keyboard.type(response)
        press(page, "button", "Add the response")
        expect(page.locator(".messages")).to_contain_text(f"Tallow Gas: {response}")
    ticket = job.tickets.get()
    assert [answer.response for answer in ticket.responses.all()] == ["awaiting", "marked"]
    assert ticket.legal_start_at.isoformat() == "2026-11-06T12:00:00+00:00"
    assert ticket.expires_at.isoformat() == "2026-11-24T12:00:00+00:00"
    assert ticket.boring_declared is True


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_every_form_fits_its_screen_with_targets_for_a_thumb_and_axe_finds_nothing(
    opened, live_server, viewport
):
    ticket = TicketFactory()
    # The policy forbids the script that axe is; it is lifted here alone.
    page = opened(viewport=viewport, bypass_csp=True)
    for name, args in (
        ("job-add", []),
        ("job-edit", [ticket.job_id]),
        ("ticket-edit", [ticket.pk]),
        ("response-add", [ticket.pk]),
        ("ticket-retire", [ticket.pk]),
        ("retired-jobs", []),
    ):
        page.goto(live_server.url + reverse(f"locates:{name}", args=args))
        assert page.evaluate("() => document.documentElement.scrollWidth") <= viewport["width"], name
        controls = page.locator("main").locator(
            "button:not([tabindex]), .button, .more, input:not([type=hidden]), select, textarea, summary"
        )
        small = [
            control.evaluate("element => element.outerHTML")
            for control in controls.all()
            if control.is_visible() and control.bounding_box()["height"] < LEAST_TARGET_PX
        ]
        assert small == [], name
        found = Axe().run(page)
        assert found.response["violations"] == [], f"{name}: {found.generate_report()}"


def test_a_refused_form_leads_from_the_summary_to_the_field(opened, live_server):
    page = opened(viewport=PHONE, bypass_csp=True)
    page.goto(live_server.url + reverse("locates:job-add"))
    page.get_by_label("Name", exact=True).first.fill("Fern Lane")
    page.get_by_label("Jurisdiction").select_option(index=1)
    page.get_by_label("Time zone").select_option("America/Chicago")
    page.get_by_label("Tolerance zone").fill("2")
    page.get_by_role("button", name="Create the job").click()
    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    summary.get_by_role("link", name="Tolerance zone").click()
    field = page.get_by_label("Tolerance zone")
    expect(field).to_be_focused()
    expect(field).to_have_value("2")
    assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]
    assert Axe().run(page).response["violations"] == []
