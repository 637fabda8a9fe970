"""The maps in Chromium: pointed at, walked through by keyboard, tapped, and with the phone's position."""

import pytest
from playwright.sync_api import expect

from tests.factories import point
from tests.map_visits import DESK, PHONE, SCREENS

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


TOLD = """() => { window.told = [];
    document.addEventListener("crosswatch:point", event => window.told.push(event.detail)); }"""
POINT = """sequence => document.dispatchEvent(
    new CustomEvent("crosswatch:point", {detail: {crossing: sequence, by: "list"}}))"""


def test_list_and_map_point_at_the_same_crossing(map_site, map_visit):
    page = map_visit(**DESK).open(map_site.url + map_site.bore)
    symbols = page.locator(".map .symbol[data-crossing]")
    assert sorted(symbols.evaluate_all("all => all.map(one => one.dataset.crossing)")) == ["0", "1"]
    page.evaluate(POINT, 0)
    expect(page.locator(".map .symbol.is-pointed")).to_have_attribute("data-crossing", "0")
    expect(page.locator("polyline.line-pointed").first).to_be_attached()
    page.evaluate(POINT, None)
    expect(page.locator(".map .symbol.is-pointed")).to_have_count(0)
    page.evaluate(TOLD)
    page.locator(".map").scroll_into_view_if_needed()
    box = page.locator(".map .symbol[data-crossing='1']").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.wait_for_function("() => window.told.some(one => one.crossing === 1 && one.by === 'map')")
    expect(page.locator("tbody[data-crossing='1']")).to_have_class("is-pointed")


def test_pointing_at_a_crossing_out_of_sight_brings_it_into_sight(map_site, map_visit):
    page = map_visit(**DESK).open(map_site.url + map_site.bore)
    for _ in range(4):
        page.get_by_role("button", name="Zoom in").click()
    expect(page.locator(".map .symbol[data-crossing='0']")).to_have_count(0)
    page.evaluate(POINT, 0)
    expect(page.locator(".map .symbol[data-crossing='0']")).to_have_class(
        "symbol symbol-verdict is-stop is-pointed"
    )


@SCREENS
def test_the_keyboard_moves_the_map_and_walks_through_its_symbols(map_site, map_visit, screen):
    page = map_visit(**screen).open(map_site.url + map_site.job)
    before = page.locator(".map-position").inner_text()
    page.locator(".map-view").focus()
    page.keyboard.press("ArrowLeft")
    expect(page.locator(".map-position")).not_to_have_text(before)
    expect(page.locator(".map-cross")).to_be_visible()
    page.get_by_role("button", name="Fit bores").click()
    page.locator(".map-view").focus()
    page.keyboard.press("Tab")
    first = page.evaluate("() => document.activeElement.getAttribute('aria-label')")
    assert first.startswith("unexposed: ")
    names = [first]
    for _ in range(11):
        page.keyboard.press("ArrowRight")
        names.append(page.evaluate("() => document.activeElement.getAttribute('aria-label')"))
    for begins in ("test hole TH-1: top of", "test hole TH-2: no line", "ticket OLD-1: not in force"):
        assert any(name.startswith(begins) for name in names), begins
    page.keyboard.press("Home")
    page.keyboard.press("Enter")
    card = page.get_by_role("region", name="What you have turned to")
    expect(card.get_by_role("heading", name="Unexposed")).to_be_visible()
    expect(card.get_by_role("link", name="The figures of this crossing")).to_have_attribute(
        "href", f"{map_site.bore}crossings/0/"
    )
    card.get_by_role("button", name="Close").focus()
    page.keyboard.press("Escape")
    expect(card).to_be_hidden()
    expect(page.locator(".map-view")).to_be_focused()


def test_a_tap_near_a_symbol_or_on_a_line_shows_its_card(map_site, map_visit):
    page = map_visit(**PHONE).open(map_site.url + map_site.bore)
    page.locator(".map").scroll_into_view_if_needed()
    box = page.locator(".symbol[data-crossing='0']").bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 - 20)
    card = page.locator(".map-card")
    expect(card).to_contain_text("W-9 at station")
    card.get_by_role("button", name="Close").tap()
    expect(card).to_be_hidden()


def test_the_phones_position_is_shown_with_its_accuracy_and_age(map_site, map_visit):
    longitude, latitude = point(50, 2).coords
    opened = map_visit(
        geolocation={"longitude": longitude, "latitude": latitude, "accuracy": 8},
        permissions=["geolocation"],
        **PHONE,
    )
    page = opened.open(map_site.url + map_site.bore)
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".map-fix")).to_contain_text("You are within 26.2 ft of the dot, as of")
    radius = float(page.locator(".fix-circle").get_attribute("r"))
    shown = page.locator(".map-scale svg").get_attribute("aria-label")
    feet = float(shown.split(": ")[1].split(" feet")[0])
    blocks = page.locator(".map-scale rect").evaluate_all(
        "all => all.slice(0, 4).map(one => one.getBBox().width)"
    )
    # Both are written to a tenth of a pixel.
    assert radius / (8 / 0.3048) == pytest.approx(sum(blocks) / feet, rel=0.01)
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".fix-circle")).to_have_count(0)


def test_a_phone_that_may_not_tell_its_position_says_so(map_site, map_visit):
    page = map_visit(**PHONE).open(map_site.url + map_site.bore)
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".map-fix")).to_contain_text("may not tell where it is")
