"""Every page in Chromium, at a desk and on a phone: it fits, keeps the content policy, and axe is content."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from conflicts.assess import store_assessment
from tests.factories import (
    PASSWORD,
    BoreFactory,
    FacilityOperatorFactory,
    MarkFactory,
    ResponseFactory,
    TicketFactory,
    line,
    person_in_role,
    small_job,
)
from tests.screens import hear_complaints

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

DESK = {"width": 1440, "height": 900}
SMALL_DESK = {"width": 1100, "height": 800}
PHONE = {"width": 390, "height": 844}
# WCAG 2.2, 1.4.10 Reflow: a page that scrolls only downwards is still one at 320 CSS pixels.
NARROWEST = {"width": 320, "height": 640}
LEAST_TARGET_PX = 44

PAGES = (
    "home",
    "search",
    "found",
    "jobs",
    "job",
    "bore",
    "crossing",
    "unexposed",
    "recalculating",
    "rules",
    "rule",
    "login",
    "missing",
)


@dataclass
class Site:
    """The running site with one job in it, and a person who is logged in."""

    url: str
    paths: dict[str, str]
    session: str
    bore_id: str
    recalculating_id: str
    username: str


@pytest.fixture
def site(live_server, client) -> Site:
    job = small_job()
    # So that the first page has something that needs a person.
    now = timezone.now()
    job.bores.update(planned_start_at=now + timedelta(days=2), planned_finish_at=now + timedelta(days=3))
    operator = FacilityOperatorFactory(
        job=job, name="Hollow Creek Telephone and Data Cooperative", emergency_phone=""
    )
    for _ in range(2):  # the first is replaced, and folded away
        ResponseFactory(ticket=job.tickets.get(), operator=operator, response="awaiting", responded_at=None)
    TicketFactory(job=job, legal_start_at=None, expires_at=None)
    MarkFactory(
        job=job,
        ref="Fiber under the north curb, second of two",
        operator=operator,
        facility_type="communication",
        geometry=line((30, -15), (32, 15)),
    )
    bore = job.bores.get()
    store_assessment(bore.id)
    recalculating = BoreFactory(job=job)
    person = person_in_role("Foreman")
    client.force_login(person)
    paths = {
        "home": reverse("conflicts:home"),
        "search": reverse("conflicts:search"),
        "found": reverse("conflicts:search", query={"q": "Hollow"}),
        "jobs": reverse("conflicts:jobs"),
        "job": reverse("conflicts:job", args=[job.id]),
        "bore": reverse("conflicts:bore", args=[bore.id]),
        "crossing": reverse("conflicts:crossing", args=[bore.id, 1]),
        "unexposed": reverse("conflicts:crossing", args=[bore.id, 0]),
        "recalculating": reverse("conflicts:bore", args=[recalculating.id]),
        "rules": reverse("locates:rules"),
        "rule": reverse("locates:rule", args=[job.jurisdiction_id]),
        "login": reverse("login"),
        "missing": "/nothing-here/",
    }
    session = client.cookies["sessionid"].value
    return Site(live_server.url, paths, session, bore.id, recalculating.id, person.username)


@dataclass
class Visit:
    """A page in a browser context of its own, with all that it complained about."""

    page: Page
    complaints: list[str] = field(default_factory=list)

    def open(self, site: Site, name: str) -> None:
        self.page.goto(site.url + site.paths[name])


@pytest.fixture
def visit(browser: Browser, site: Site) -> Iterator[Callable[..., Visit]]:
    contexts: list[BrowserContext] = []

    def start(**options) -> Visit:
        context = browser.new_context(**options)
        context.add_cookies([{"name": "sessionid", "value": site.session, "url": site.url}])
        contexts.append(context)
        started = Visit(context.new_page())
        hear_complaints(started.page, started.complaints)
        return started

    yield start
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()


@pytest.mark.parametrize(
    "viewport", [DESK, SMALL_DESK, PHONE, NARROWEST], ids=["desk", "small desk", "phone", "narrowest"]
)
def test_every_page_fits_its_screen_and_keeps_the_content_policy(site, visit, viewport):
    opened = visit(viewport=viewport)
    for name in PAGES:
        opened.open(site, name)
        assert opened.page.evaluate("() => document.documentElement.scrollWidth") <= viewport["width"], name
        expect(opened.page.locator("h1")).to_have_count(1)
        # Chromium writes a line for the status 404 itself, which is right on that page.
        found = [words for words in opened.complaints if not ("404" in words and name == "missing")]
        assert found == [], name


@pytest.mark.parametrize(
    "options",
    [
        {"viewport": DESK},
        {"viewport": PHONE},
        {"viewport": DESK, "color_scheme": "dark"},
        {"viewport": PHONE, "contrast": "more"},
        {"viewport": PHONE, "contrast": "more", "color_scheme": "dark"},
    ],
    ids=["desk", "phone", "dark", "high contrast", "dark and high contrast"],
)
def test_axe_finds_nothing_on_any_page(site, visit, options):
    # The policy forbids the script that axe is; it is lifted here alone.
    opened = visit(bypass_csp=True, **options)
    for name in PAGES:
        opened.open(site, name)
        found = Axe().run(opened.page)
        assert found.response["passes"], name
        assert found.response["violations"] == [], f"{name}: {found.generate_report()}"


FOCUSABLE = """() => [...document.querySelectorAll("a[href], button, input, summary, [tabindex='0']")]
    .filter(element => element.checkVisibility() && element.type !== "hidden").length"""
FOCUSED = """() => {
    const element = document.activeElement;
    if (element === document.body || element === document.documentElement) return null;
    window.reached ??= new Set();
    window.reached.add(element);
    const {outlineStyle, outlineWidth} = getComputedStyle(element);
    return {count: window.reached.size, ring: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2};
}"""


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_the_keyboard_reaches_every_control_and_shows_where_it_is(site, visit, viewport):
    opened = visit(viewport=viewport)
    for name in PAGES:
        opened.open(site, name)
        controls = opened.page.evaluate(FOCUSABLE)
        reached = 0
        for _ in range(controls):
            opened.page.keyboard.press("Tab")
            focused = opened.page.evaluate(FOCUSED)
            assert focused["ring"], (
                f"{name}: no ring on {opened.page.evaluate('() => document.activeElement.outerHTML')}"
            )
            reached = focused["count"]
        assert reached == controls, name


def test_the_skip_link_comes_first_and_leads_to_the_content(site, visit):
    opened = visit(viewport=PHONE)
    opened.open(site, "bore")
    opened.page.keyboard.press("Tab")
    expect(opened.page.get_by_role("link", name="Skip to the content")).to_be_focused()
    opened.page.keyboard.press("Enter")
    expect(opened.page.locator("main")).to_be_focused()


def test_controls_on_a_phone_are_large_enough_for_a_thumb(site, visit):
    opened = visit(viewport=PHONE)
    for name in PAGES:
        opened.open(site, name)
        controls = opened.page.locator(
            "button, .button, nav a, summary, .more, input:not([type=hidden], [type=checkbox]), "
            "label:has([type=checkbox])"
        )
        if (menu := opened.page.get_by_role("button", name="Menu")).is_visible():
            menu.click()
        controls = controls.filter(visible=True).all()
        heights = {control.inner_text() or name: control.bounding_box()["height"] for control in controls}
        assert heights
        assert {words: height for words, height in heights.items() if height < LEAST_TARGET_PX} == {}, name


def test_the_head_of_a_phone_is_one_line_and_its_menu_opens_above_the_page(site, visit):
    opened = visit(viewport=PHONE)
    page = opened.page
    opened.open(site, "bore")
    head = page.get_by_role("banner")
    assert head.bounding_box()["height"] <= 56
    expect(page.get_by_role("link", name="Jobs").first).to_be_in_viewport()
    # What holds stands on the first screen.
    expect(page.get_by_text("Do not drill.", exact=False).first).to_be_in_viewport(ratio=1)
    expect(head.get_by_role("link", name="Calendar")).to_have_count(0)
    page.get_by_role("button", name="Menu").press("Enter")
    for name in ("Today", "Jobs", "Tickets", "Calendar"):
        expect(head.get_by_role("link", name=name)).to_be_in_viewport(ratio=1)
    expect(head.get_by_role("searchbox")).to_be_in_viewport(ratio=1)
    page.keyboard.press("Escape")
    expect(head.get_by_role("link", name="Calendar")).to_have_count(0)
    assert head.bounding_box()["height"] <= 56
    page.keyboard.press("/")
    expect(head.get_by_role("searchbox")).to_be_focused()


def test_the_head_of_a_desk_shows_everything_and_no_button(site, visit):
    opened = visit(viewport=DESK)
    opened.open(site, "bore")
    head = opened.page.get_by_role("banner")
    expect(head.get_by_role("link", name="Calendar")).to_be_visible()
    expect(head.get_by_role("button", name="Log out")).to_be_visible()
    expect(head.get_by_role("button", name="Menu")).to_have_count(0)


def test_a_crossing_on_a_phone_keeps_the_label_of_every_figure(site, visit):
    opened = visit(viewport=PHONE)
    opened.open(site, "bore")
    row = opened.page.locator("#crossing-1")
    labels = row.locator("td[data-label]").evaluate_all(
        "cells => cells.map(cell => getComputedStyle(cell, '::before').content.replaceAll('\"', ''))"
    )
    assert labels == [
        "Station, ft",
        "How it meets",
        "Exposed",
        "Horizontal",
        "Vertical",
        "Separation",
        "Worst case",
        "Required",
        "Likely",
    ]


def test_a_page_being_recalculated_shows_the_figures_when_they_are_there(site, visit):
    opened = visit(viewport=PHONE)
    opened.open(site, "recalculating")
    expect(opened.page.get_by_role("heading", name="Being recalculated")).to_be_visible()
    store_assessment(site.recalculating_id)
    expect(opened.page.get_by_role("heading", name="What holds")).to_be_visible()
    assert opened.complaints == []


def test_a_page_being_recalculated_outlasts_a_lost_network(site, visit):
    opened = visit(viewport=PHONE)
    opened.open(site, "recalculating")
    with opened.page.expect_console_message(lambda message: "could not be asked" in message.text):
        opened.page.context.set_offline(True)
    expect(opened.page.get_by_role("heading", name="Being recalculated")).to_be_visible()
    store_assessment(site.recalculating_id)
    opened.page.context.set_offline(False)
    expect(opened.page.get_by_role("heading", name="What holds")).to_be_visible()


def test_a_page_being_recalculated_leads_to_the_login_when_the_session_has_ended(site, visit):
    opened = visit(viewport=PHONE)
    opened.open(site, "recalculating")
    opened.page.context.clear_cookies()
    expect(opened.page.get_by_role("heading", name="Log in")).to_be_visible()


def test_a_page_being_recalculated_can_be_asked_again_without_script(site, visit):
    opened = visit(viewport=PHONE, java_script_enabled=False)
    opened.open(site, "recalculating")
    store_assessment(site.recalculating_id)
    opened.page.get_by_role("link", name="Look again now").click()
    expect(opened.page.get_by_role("heading", name="What holds")).to_be_visible()


def test_a_person_logs_in_is_told_of_a_slip_and_logs_out(site, visit):
    opened = visit(viewport=PHONE)
    page = opened.page
    page.context.clear_cookies()
    opened.open(site, "bore")
    page.get_by_label("User name").fill(site.username)
    page.get_by_label("Password").fill("a slip")
    page.get_by_role("button", name="Log in").click()
    expect(page.get_by_role("alert")).to_contain_text("correct username and password")
    expect(page.get_by_label("User name")).to_have_value(site.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    expect(page).to_have_url(site.url + site.paths["bore"])
    page.get_by_role("button", name="Menu").click()
    page.get_by_role("button", name="Log out").click()
    expect(page.get_by_role("heading", name="Logged out")).to_be_visible()
    opened.open(site, "bore")
    expect(page.get_by_role("heading", name="Log in")).to_be_visible()
