"""Notices and the calendar in Chromium: by keyboard, at a desk, on a phone, without script, axe content."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from locates.models import Follow, Notice, Ticket
from tests.factories import NoticeFactory, OutgoingMailFactory, TicketFactory
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
PAGES = ("notices", "notice-settings", "mails", "calendar", "calendar-address")


@pytest.fixture
def ticket() -> Ticket:
    """A ticket whose dates lie about today."""
    now = timezone.now()
    return TicketFactory(
        number="HB-26-0914",
        job__name="Alder Street",
        called_at=now - timedelta(days=3),
        response_due_at=now - timedelta(hours=1),
        legal_start_at=now,
        latest_start_at=now + timedelta(hours=2),
        renew_by=now + timedelta(hours=3),
        expires_at=now + timedelta(hours=4),
    )


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    # A checkbox's label is the target.
    targets = page.locator("main").locator("a, button, select, summary, label:has(input), input[type=text]")
    for target in targets.all():
        if target.is_visible():
            box = target.bounding_box()
            assert box["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response["violations"]
    assert found == [], found


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_every_page_fits_and_axe_is_content(opened, live_server, ticket, size, colours):
    # The policy forbids the script that axe is.
    page = opened("Coordinator", "/notices/", viewport=size, color_scheme=colours, bypass_csp=True)
    follow = Follow.objects.create(ticket=ticket, person=page_person())
    NoticeFactory(person=follow.person, ticket=ticket)
    OutgoingMailFactory(person=follow.person)
    for name in PAGES:
        page.goto(live_server.url + reverse(f"locates:{name}"))
        looks_right(page)
    page.goto(f"{live_server.url}{reverse('locates:calendar')}?view=agenda")
    looks_right(page)
    page = opened("Safety manager", "/notices/", viewport=size, color_scheme=colours, bypass_csp=True)
    page.get_by_role("link", name="Who was told what").click()
    expect(page.get_by_role("rowheader")).to_have_count(1)
    looks_right(page)
    page.get_by_text("Filter", exact=True).click()
    looks_right(page)


def page_person():
    """Whoever logged in last."""
    return Follow._meta.get_field("person").related_model.objects.latest("pk")


def test_a_job_is_followed_and_a_notice_read_by_the_keyboard_alone(opened, live_server, ticket):
    page = opened("Coordinator", reverse("conflicts:job", args=[ticket.job_id]), viewport=DESK)
    tab_to(page, page.get_by_role("button", name="Follow this job"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Leave off following this job")).to_be_visible()
    NoticeFactory(person=page_person(), ticket=ticket, subject="Ticket HB-26-0914: expired")
    page.goto(live_server.url + reverse("locates:notices"))
    expect(page.get_by_role("link", name="Notices (1 unread")).to_be_visible()
    tab_to(page, page.get_by_role("button", name="Ticket HB-26-0914: expired"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="0 unread")).to_be_visible()
    assert Notice.objects.get().read_at is not None


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_calendar_needs_no_script_and_leads_to_the_ticket(opened, live_server, ticket, size):
    page = opened("Foreman", reverse("locates:calendar"), viewport=size, java_script_enabled=False)
    page.get_by_role("link", name="As a list").click()
    page.goto(f"{live_server.url}{reverse('locates:calendar')}?view=agenda")
    for title in ("Legal start", "Latest start", "Renew by", "Expires"):
        expect(page.get_by_role("link", name=f"{title} HB-26-0914 Alder Street")).to_be_visible()
    page.get_by_role("link", name="Expires HB-26-0914").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("HB-26-0914")


def test_the_address_is_shown_once_and_works(opened, live_server, ticket):
    page = opened("Coordinator", reverse("locates:calendar-address"), viewport=PHONE)
    page.get_by_role("button", name="Make the address").click()
    address = page.get_by_label("Private address").input_value()
    assert address.startswith(f"{live_server.url}/calendar/")
    answer = page.request.get(address)
    assert answer.status == 200
    assert answer.text().count("BEGIN:VEVENT") == 5
    page.goto(live_server.url + reverse("locates:calendar-address"))
    expect(page.get_by_label("Private address")).to_have_count(0)
