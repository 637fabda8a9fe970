"""The bore's page in Chromium: pointing by mouse, keyboard and finger, and what a phone puts first."""

from collections.abc import Callable, Iterator

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page, expect

from conflicts.assess import store_assessment
from tests.factories import FacilityOperatorFactory, MarkFactory, line, person_in_role, small_job
from tests.screens import hear_complaints

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

DESK = {"viewport": {"width": 1440, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}


@pytest.fixture
def bore():
    job = small_job()
    operator = FacilityOperatorFactory(job=job)
    for number, east_m in enumerate((20, 30, 70, 80, 90)):
        MarkFactory(job=job, ref=f"X{number}", operator=operator, geometry=line((east_m, -15), (east_m, 15)))
    stored = job.bores.get()
    store_assessment(stored.id)
    return stored


@pytest.fixture
def start(browser: Browser, live_server, client, bore) -> Iterator[Callable[..., Page]]:
    client.force_login(person_in_role("Foreman"))
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def opened(query: str = "", **options) -> Page:
        context = browser.new_context(**options)
        session = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
        context.add_cookies([session])
        contexts.append(context)
        page = context.new_page()
        hear_complaints(page, complaints)
        page.goto(f"{live_server.url}{reverse('conflicts:bore', args=[bore.id])}{query}")
        return page

    yield opened
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()
    assert complaints == []


def in_profile(page: Page, sequence: int):
    return page.locator(f'.profile [data-crossing="{sequence}"]')


def in_list(page: Page, sequence: int):
    return page.locator(f'.crossings [data-crossing="{sequence}"]')


POINTED = """() => [...document.querySelectorAll("[data-part] .is-pointed")]
    .map(element => `${element.closest("[data-part]").dataset.part} ${element.dataset.crossing}`)"""


def pointed(page: Page) -> set[str]:
    """What is marked in the profile and in the list; the map, which may still load, is left out."""
    return set(page.evaluate(POINTED))


def test_a_mouse_over_a_row_marks_its_line_in_the_profile_and_says_it_under_the_drawing(start):
    page = start(**DESK)
    in_list(page, 3).hover()
    assert pointed(page) == {"list 3", "profile 3"}
    expect(page.locator("[data-readout]")).to_contain_text("X2, gas/oil/steam, crossing at station 2+29.7")
    page.locator("h1").hover()
    assert pointed(page) == set()


def test_a_mouse_over_a_line_in_the_profile_marks_its_row(start):
    page = start(**DESK)
    in_profile(page, 1).locator(".target").hover()
    assert pointed(page) == {"list 1", "profile 1"}


def test_the_keyboard_points_from_the_list_and_from_the_profile_and_escape_lets_go(start):
    page = start(**DESK)
    page.get_by_role("region", name="Profile, drawn").focus()
    page.keyboard.press("Tab")
    assert pointed(page) == {"list 0", "profile 0"}
    page.keyboard.press("Tab")
    assert pointed(page) == {"list 1", "profile 1"}
    page.keyboard.press("Escape")
    assert pointed(page) == set()
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    expect(page).to_have_url(f"{page.url.split('#')[0]}#crossing-1")
    page.get_by_role("row").get_by_role("link", name="X3").focus()
    page.keyboard.press("Shift+Tab")
    assert pointed(page) == {"list 3", "profile 3"}


def test_the_map_points_through_the_same_event_and_is_told_by_it(start):
    page = start(**DESK)
    page.evaluate(
        """() => document.dispatchEvent(
            new CustomEvent("crosswatch:point", { detail: { crossing: 2, by: "map" } }))"""
    )
    assert pointed(page) == {"list 2", "profile 2"}
    page.evaluate(
        """() => document.addEventListener("crosswatch:point", event => { window.told = event.detail; })"""
    )
    in_list(page, 4).hover()
    assert page.evaluate("() => window.told") == {"crossing": 4, "by": "list"}


def test_the_profile_stays_in_view_over_the_list_and_hides_no_row_that_is_led_to(start):
    page = start(**DESK)
    page.evaluate("() => { location.hash = 'crossing-6'; }")
    expect(page.locator(".profile")).to_be_in_viewport()
    drawing, row = page.locator(".profile-stick").bounding_box(), page.locator("#crossing-6").bounding_box()
    assert row["y"] >= drawing["y"] + drawing["height"] - 1


def test_on_a_phone_what_holds_and_the_next_crossing_come_first(start):
    page = start(**PHONE)
    heights = [
        page.locator(selector).bounding_box()["y"]
        for selector in ("#what-holds", "#next-crossing", "#to-settle", "#map", "#profile", "#crossings")
    ]
    assert heights == sorted(heights)
    next_crossing = page.get_by_role("region", name="Next crossing")
    for words in (next_crossing.get_by_role("heading"), next_crossing.locator(".facility, .verdict")):
        for part in words.all():
            expect(part).to_be_in_viewport(ratio=1)
    assert next_crossing.locator(".verdict").count() == 1
    page.get_by_role("link", name="Open this crossing").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("X0 at 0+65.6 ft")


def test_a_desk_does_not_say_the_next_crossing_twice(start):
    expect(start(**DESK).locator("#next-crossing")).to_be_hidden()


def test_a_tap_in_the_drawing_points_and_offers_the_crossing_and_a_second_goes_to_its_row(start):
    page = start(**PHONE)
    in_profile(page, 1).locator(".target").tap()
    assert pointed(page) == {"list 1", "profile 1"}
    assert "#" not in page.url
    expect(page.locator("[data-readout]").get_by_role("link", name="Open it")).to_be_visible()
    in_profile(page, 1).locator(".target").tap()
    expect(page).to_have_url(f"{page.url.split('#')[0]}#crossing-2")


def test_on_a_phone_the_drawing_scrolls_in_its_own_box_with_its_axis_in_view(start):
    page = start(**PHONE)
    box = page.locator(".profile-box")
    assert box.evaluate("box => box.scrollWidth > box.clientWidth")
    page.evaluate(
        """() => document.dispatchEvent(
            new CustomEvent("crosswatch:point", { detail: { crossing: 5, by: "map" } }))"""
    )
    box.scroll_into_view_if_needed()
    assert box.evaluate("box => box.scrollLeft") > 0
    expect(in_profile(page, 5).locator(".target")).to_be_in_viewport()
    axis = page.locator(".profile-axis").bounding_box()
    assert axis["x"] == pytest.approx(box.bounding_box()["x"] + 1, abs=1)
    assert page.evaluate("() => document.documentElement.scrollWidth") == 390


def test_without_exaggeration_the_drawing_is_long_and_the_page_still_as_wide_as_its_screen(start):
    page = start(query="?exaggeration=1", **PHONE)
    assert page.locator(".profile-box").evaluate("box => box.scrollWidth") > 3000
    assert page.evaluate("() => document.documentElement.scrollWidth") == 390


def test_words_of_the_drawing_are_as_large_on_a_phone_as_at_a_desk(start):
    sizes = [
        start(**screen)
        .locator(".profile .tick")
        .first.evaluate("tick => parseFloat(getComputedStyle(tick).fontSize) * tick.getScreenCTM().a")
        for screen in (DESK, PHONE)
    ]
    assert sizes == pytest.approx([12, 12], abs=0.01)


def test_the_true_scale_is_a_link_away_and_needs_no_script(start):
    page = start(java_script_enabled=False, **DESK)
    page.get_by_role("link", name="Without exaggeration, 1 : 1").click()
    expect(page.get_by_text("To scale, heights as lengths, 1 : 1.")).to_be_visible()
    body = page.locator(".profile .body").first.bounding_box()
    assert body["width"] == pytest.approx(body["height"], abs=0.1)
    page.get_by_role("link", name="Whole bore, heights enlarged").click()
    expect(page.get_by_text("To scale, heights drawn 6 times as large as lengths.")).to_be_visible()


def test_without_script_a_line_in_the_drawing_leads_to_its_row(start):
    page = start(java_script_enabled=False, **DESK)
    in_profile(page, 2).locator(".target").click()
    expect(page).to_have_url(f"{page.url.split('#')[0]}#crossing-3")


def test_on_paper_the_drawing_fits_the_sheet_whole(start):
    page = start(**DESK)
    page.set_viewport_size({"width": 1000, "height": 700})
    page.emulate_media(media="print")
    drawing = page.locator(".profile").bounding_box()
    assert drawing["x"] + drawing["width"] <= 1000
    expect(page.locator("[data-readout]")).to_be_hidden()
    expect(page.get_by_role("link", name="Skip the drawing")).to_be_hidden()
