"""A coordinator logs a ticket with a date set by hand, finds it in full, renews it and ends its work."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from locates.models import JurisdictionRule, Ticket
from tests.factories import (
    FacilityOperatorFactory,
    JobFactory,
    ResponseFactory,
    TicketFactory,
    seeded_rule,
    small_job,
)
from tests.screens import DESK, PHONE, pages_by_role

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
CORNERS = "38.0001, -78.5001\n38.0001, -78.4980\n37.9999, -78.4980\n37.9999, -78.5001"


@pytest.fixture
def open_page(browser, live_server, client):
    with pages_by_role(browser, live_server.url, client) as opened:
        yield opened


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_ticket_is_logged_with_its_dates_looked_over_renewed_and_ended(open_page, script):
    job = small_job()
    operator = job.operators.get()
    add = reverse("locates:ticket-add", args=[job.pk])
    page = open_page("Coordinator", add, viewport=DESK, java_script_enabled=script)
    page.get_by_label("Number").fill("A-1")
    page.get_by_label("Kind").select_option("routine")
    page.get_by_label("Called in at").fill("2026-11-02T08:00")
    page.get_by_label(operator.name).check()
    page.get_by_label("Corners of the work area").fill(CORNERS)
    page.get_by_role("button", name="Work out the dates").click()
    expect(page.get_by_text("Fri Nov 6, 2026, 7:00 am EST is taken if this is empty.")).to_be_visible()
    expect(page.get_by_label(operator.name)).to_be_checked()

    page.get_by_label("Legal start").fill("2026-11-09T07:00")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_role("alert")).to_contain_text("Legal start differs from what was worked out")
    page.get_by_label("Why the dates were set by hand").fill("Moved by phone.")
    page.get_by_role("button", name="Save").last.click()
    expect(page.locator(".messages")).to_contain_text("Saved: Ticket A-1")

    page.get_by_role("link", name="A-1", exact=True).click()
    row = page.get_by_role("row", name="Legal start")
    expect(row).to_contain_text("Mon Nov 9, 2026, 7:00 am EST")
    expect(row).to_contain_text("Fri Nov 6, 2026, 7:00 am EST")
    expect(page.get_by_text("Moved by phone.")).to_be_visible()

    page.get_by_role("link", name="Draft a renewal").click()
    expect(page.get_by_label("Renews or re-marks")).to_have_value("A-1")
    expect(page.get_by_label(operator.name)).to_be_checked()
    page.go_back()
    page.get_by_role("button", name="Say that its work is over").click()
    expect(page.locator(".messages")).to_contain_text("no renewal is wanted")
    assert Ticket.objects.get(number="A-1").work_finished_at is not None


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_the_pages_of_a_ticket_fit_their_screen_and_axe_finds_nothing(open_page, live_server, viewport):
    rule = seeded_rule()
    ticket = ResponseFactory(
        ticket=TicketFactory(job=JobFactory(), expires_at=None, dates_rule=rule, override_reason="By phone.")
    ).ticket
    for place in range(4):
        # As wide as two columns of boxes leave no room for on a phone.
        FacilityOperatorFactory(job=ticket.job, name=f"Harrow Bend Public Waterworks {place}")
    JurisdictionRule.objects.create(code=rule.code, version=2, checked_on="2026-11-20", clock=rule.clock)
    # The policy forbids the script that axe is; it is lifted here alone.
    page = open_page("Coordinator", reverse("conflicts:home"), viewport=viewport, bypass_csp=True)
    for name, args in (
        ("ticket", [ticket.pk]),
        ("ticket-renew", [ticket.pk]),
        ("ticket-add", [ticket.job_id]),
        ("tickets-to-review", []),
    ):
        page.goto(live_server.url + reverse(f"locates:{name}", args=args))
        page.wait_for_load_state("networkidle")
        assert page.evaluate("() => document.documentElement.scrollWidth") <= viewport["width"], name
        assert Axe().run(page).response["violations"] == [], name
        for control in page.locator("main :is(button:not([tabindex]), .more, .button):visible").all():
            box = control.bounding_box()
            assert box["height"] >= LEAST_TARGET_PX, (name, control.inner_text())
