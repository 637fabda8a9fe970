"""People at screens: pages of a browser by role, the keyboard alone, and the worker whose turn it is."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Locator, Page, Response

from conflicts.models import Reassessment
from conflicts.reassess import run
from tests.factories import person_in_role

DESK = {"width": 1440, "height": 900}
PHONE = {"width": 390, "height": 844}
MOST_TABS = 80


def hear_complaints(page: Page, complaints: list[str]) -> None:
    """Collect what a page warns of and what fails in it.

    A note for information is no complaint: Chromium writes one when somebody, or a test, turns to a field
    before the page has put the focus there by itself. Nor is it one that a page lacks what was still on its
    way when somebody left it, so a page is left by its address only once it has loaded.
    """

    def hear(message: ConsoleMessage) -> None:
        if message.type in ("warning", "error"):
            complaints.append(message.text)

    page.on("console", hear)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    go_now = page.goto

    def go_once_loaded(address: str, **options) -> Response | None:
        page.wait_for_load_state("load")
        return go_now(address, **options)

    page.goto = go_once_loaded


@contextmanager
def pages_by_role(browser: Browser, site_url: str, client: Client) -> Iterator[Callable[..., Page]]:
    """Give what opens a page as somebody in a role; what a page complains about fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def open_page(role: str, address: str, **options) -> Page:
        client.force_login(person_in_role(role))
        context = browser.new_context(**options)
        session = client.cookies["sessionid"].value
        context.add_cookies([{"name": "sessionid", "value": session, "url": site_url}])
        contexts.append(context)
        page = context.new_page()
        hear_complaints(page, complaints)
        page.goto(site_url + address)
        return page

    try:
        yield open_page
    finally:
        for context in contexts:
            for page in context.pages:
                # The map asks for its data by itself: answered before the tables are emptied.
                page.wait_for_load_state("networkidle")
            context.close()
    assert complaints == [], complaints


def tab_to(page: Page, wanted: Locator) -> None:
    """Press Tab until a control has the focus, as somebody without a mouse does."""
    wanted.wait_for()
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        if wanted.evaluate("element => element === document.activeElement"):
            return
    pytest.fail(f"Tab does not reach {wanted}.")


def compute_what_waits() -> None:
    """What a worker does with the rows that a change has queued."""
    waiting = list(Reassessment.objects.filter(state="queued").values_list("pk", flat=True))
    assert waiting
    for key in waiting:
        run(key)
