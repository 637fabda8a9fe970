"""A coordinator logs answers in Chromium by the keyboard alone, with and without script, each key counted."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from locates.models import Ticket
from tests.factories import FacilityOperatorFactory, MarkFactory, ResponseFactory, TicketFactory
from tests.screens import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

MOST_KEYS = 9  # the brief of the desk: an answer in under ten
LEAST_TARGET_PX = 44


@pytest.fixture
def ticket() -> Ticket:
    """A ticket whose three operators are awaited past the deadline."""
    now = timezone.now()
    ticket = TicketFactory(
        called_at=now - timedelta(days=3),
        response_due_at=now - timedelta(hours=1),
        legal_start_at=now + timedelta(hours=1),
        expires_at=now + timedelta(days=20),
    )
    for name in ("Brindle Gas", "Brindle Water", "Tallow Power"):
        operator = FacilityOperatorFactory(job=ticket.job, name=name)
        ResponseFactory(ticket=ticket, operator=operator, response="awaiting", responded_at=None)
    MarkFactory(job=ticket.job, operator=ticket.job.operators.get(name="Brindle Gas"))
    return ticket


class Keys:
    """Presses keys, and counts every one; a chord such as Alt+R is two."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.count += 1 + key.count("+")

    def enter(self) -> None:
        with self.page.expect_navigation():
            self.press("Enter")


def answers(ticket: Ticket) -> list[tuple[str, str]]:
    given = ticket.responses.exclude(response="awaiting").order_by("sequence")
    return list(given.values_list("operator__name", "response"))


def letter(page: Page):
    return page.get_by_label("Letter of the answer")


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_one_answer_after_the_other_is_a_letter_and_enter(opened, ticket, script):
    page = opened(
        "Coordinator", reverse("locates:response-add", args=[ticket.pk]), java_script_enabled=script
    )
    keys = Keys(page)
    for name, key in (("Brindle Gas", "m"), ("Brindle Water", "n"), ("Tallow Power", "e")):
        expect(page.get_by_label("First letters of the operator")).to_have_value(name)
        expect(letter(page)).to_be_focused()
        keys.press(key)
        keys.enter()
    assert keys.count == 6
    assert answers(ticket) == [
        ("Brindle Gas", "marked"),
        ("Brindle Water", "no_facilities"),
        ("Tallow Power", "extension_asked"),
    ]


def test_another_operator_is_named_by_its_first_letters_and_a_slip_is_mended(opened, ticket):
    page = opened("Coordinator", reverse("locates:response-add", args=[ticket.pk]))
    expect(letter(page)).to_be_focused()
    keys = Keys(page)
    keys.press("Shift+Tab", *"ta", "Tab", "m")
    keys.enter()
    assert keys.count <= MOST_KEYS
    assert answers(ticket) == [("Tallow Power", "marked")]
    slip = Keys(page)
    slip.press("Shift+Tab", "b", "Tab", "m")
    slip.enter()
    expect(page.get_by_text("Brindle Gas and Brindle Water begin so")).to_be_visible()
    expect(page.get_by_label("First letters of the operator")).to_be_focused()
    expect(letter(page)).to_have_value("m")
    assert len(answers(ticket)) == 1


def test_from_the_ticket_s_page_a_key_leads_to_the_letter(opened, ticket):
    page = opened("Coordinator", reverse("locates:ticket", args=[ticket.pk]))
    expect(letter(page)).not_to_be_focused()
    keys = Keys(page)
    keys.press("a")
    expect(letter(page)).to_be_focused()
    expect(letter(page)).to_have_value("")
    keys.press("m")
    keys.enter()
    assert keys.count == 3
    # Back on the ticket's page, with the cursor where the next answer goes.
    assert page.url.endswith("?answering=1")
    expect(letter(page)).to_be_focused()
    keys.press("n")
    keys.enter()
    assert keys.count == 5
    assert answers(ticket) == [("Brindle Gas", "marked"), ("Brindle Water", "no_facilities")]


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_the_pages_fit_their_screen_with_targets_for_a_thumb_and_axe_finds_nothing(
    opened, live_server, ticket, viewport
):
    first = ticket.responses.first()
    # The policy forbids the script that axe is; it is lifted here alone.
    page = opened(
        "Coordinator", reverse("locates:ticket", args=[ticket.pk]), viewport=viewport, bypass_csp=True
    )
    for name, record in (("ticket", ticket), ("response-add", ticket), ("response-papers", first)):
        page.goto(live_server.url + reverse(f"locates:{name}", args=[record.pk]))
        assert page.evaluate("() => document.documentElement.scrollWidth") <= viewport["width"], name
        controls = page.locator(".answers, .record-form").locator(".button, .more, input:not([type=hidden])")
        small = [
            control.evaluate("element => element.outerHTML")
            for control in controls.all()
            if control.is_visible() and control.bounding_box()["height"] < LEAST_TARGET_PX
        ]
        assert small == [], name
        found = Axe().run(page)
        assert found.response["violations"] == [], f"{name}: {found.generate_report()}"
