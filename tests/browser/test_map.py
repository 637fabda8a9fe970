"""The maps in Chromium, at a desk and on a phone: drawn, told apart by shape, put into words."""

from pathlib import Path

import leaflet
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.map_visits import DESK, PHONE, SCREENS

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


SHAPES = "uses => uses.map(use => use.getAttribute('href').slice(1))"


@SCREENS
def test_the_map_is_drawn_from_the_sites_own_files_alone_and_without_a_complaint(map_site, map_visit, screen):
    opened = map_visit(**screen)
    for address in (map_site.job, map_site.bore):
        page = opened.open(map_site.url + address)
        for drawn in ("path.bore-line", "path.line-paint", "path.zone", "path.base-curb", "path.pit"):
            assert page.locator(f".map-view {drawn}").count() > 0, drawn
        shapes = set(page.locator(".symbol use").evaluate_all(SHAPES))
        assert {
            "verdict-clear",
            "verdict-unexposed",
            "hole-missed",
            "feature-question",
            "mark-point",
        } <= shapes
        letters = set(page.locator(".map-overlay .line-letter text").all_text_contents())
        assert {"G", "W?"} <= letters
        assert "feet" in page.locator(".map-scale svg").get_attribute("aria-label")
        expect(page.get_by_role("img", name="North is up")).to_be_visible()
        expect(page.locator(".map-position")).to_contain_text("(WGS 84)")
        assert page.evaluate("() => document.documentElement.scrollWidth") <= screen["viewport"]["width"]
    assert [url for url in opened.asked if not url.startswith((map_site.url, "data:"))] == []
    assert opened.complaints == []


@SCREENS
def test_axe_finds_nothing_on_a_page_with_its_map(map_site, map_visit, screen):
    # The policy forbids the script that axe is; it is lifted here alone.
    opened = map_visit(bypass_csp=True, **screen)
    for address in (map_site.job, map_site.bore):
        page = opened.open(map_site.url + address)
        page.locator(".map-legend").evaluate("legend => { legend.open = true; }")
        page.locator(".symbol-verdict").first.dispatch_event("click")
        found = Axe().run(page)
        assert found.response["passes"]
        assert found.response["violations"] == [], found.generate_report()


SHIFTS = """() => new Promise(resolve => {
    let sum = 0;
    new PerformanceObserver(list => list.getEntries().forEach(entry => { sum += entry.value; }))
        .observe({type: "layout-shift", buffered: true});
    requestAnimationFrame(() => requestAnimationFrame(() => resolve(sum)));
})"""


@SCREENS
def test_nothing_jumps_when_the_map_comes(map_site, map_visit, screen):
    page = map_visit(**screen).open(map_site.url + map_site.job)
    # 0.1 is where web.dev's measure of layout shift ceases to be good; the map keeps its room from the start.
    assert page.evaluate(SHIFTS) < 0.02


def test_a_first_load_stays_light_besides_the_map_library(map_site, map_visit):
    opened = map_visit(**PHONE)
    sizes: dict[str, int] = {}
    opened.page.on("response", lambda answer: sizes.update({answer.url: len(answer.body())}))
    opened.open(map_site.url + map_site.bore)
    own = {url: size for url, size in sizes.items() if "/leaflet/leaflet." not in url}
    assert len(own) > 20
    # Unpacked, as the live server sends them; WhiteNoise sends about a quarter of it.
    assert sum(own.values()) < 300_000, own


@SCREENS
def test_the_legend_explains_the_signs_and_switches_the_layers(map_site, map_visit, screen):
    page = map_visit(**screen).open(map_site.url + map_site.job)
    legend = page.locator(".map-legend")
    if screen is PHONE:
        legend.get_by_text("Legend and layers").click()
    for words in ("overlap", "unexposed", "stale", "short", "clear", "found, restored", "line not found"):
        expect(legend.get_by_text(words, exact=True)).to_be_visible()
    paint = page.locator("path.line-paint.paint-gas_oil_steam")
    letter = page.locator(".map-overlay .line-letter text", has_text="G")
    zone = page.locator("path.zone.paint-gas_oil_steam")
    expect(letter.first).to_be_visible()
    legend.get_by_label("gas/oil/steam").uncheck()
    expect(paint.first).to_have_class("line-paint paint-gas_oil_steam is-off")
    expect(zone).to_be_hidden()
    expect(letter).to_have_count(0)
    legend.get_by_label("gas/oil/steam").check()
    expect(letter.first).to_be_visible()
    crossings = page.locator(".symbol-verdict")
    assert crossings.count() == 2
    legend.get_by_label("Crossings, by verdict").uncheck()
    expect(crossings).to_have_count(0)
    targets = legend.locator("label, summary, button").all()
    assert {
        target.inner_text(): target.bounding_box()["height"]
        for target in targets
        if target.bounding_box()["height"] < 44
    } == {}


def test_without_script_the_page_says_what_the_map_would_show(map_site, map_visit):
    opened = map_visit(java_script_enabled=False, **PHONE)
    page = opened.page
    page.goto(map_site.url + map_site.job)
    expect(page.locator("#map-words")).to_contain_text("1 bore (B", use_inner_text=True)
    expect(page.locator("#map-words")).to_contain_text(
        "3 marks (1 electric, 1 gas/oil/steam, 1 potable water; depth unknown of 2)"
    )
    expect(page.locator("noscript p").filter(has_text="The map is drawn by script")).to_be_visible()
    expect(page.locator(".map")).to_be_hidden()
    for name in ("tickets", "marks", "test-holes", "surface-features"):
        expect(page.locator(f"#{name}")).to_be_attached()


def test_pictures_under_the_map_come_from_the_address_that_was_named(
    map_site, map_visit, settings, monkeypatch
):
    address = "https://tiles.example.com/{z}/{x}/{y}.png"
    monkeypatch.setitem(leaflet.app_settings, "TILES", [("Base map", address, {"maxNativeZoom": 18})])
    settings.MAP_TILE_URL, settings.MAP_TILE_ATTRIBUTION = address, "Example Survey"
    policy = {**settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]}
    policy["img-src"] = [*policy["img-src"], "https://tiles.example.com"]
    settings.CONTENT_SECURITY_POLICY = {"DIRECTIVES": policy}
    opened = map_visit(**DESK)
    picture = (Path(leaflet.__file__).parent / "static/leaflet/images/layers.png").read_bytes()
    opened.page.route("https://tiles.example.com/**", lambda route: route.fulfill(body=picture))
    page = opened.open(map_site.url + map_site.job)
    expect(page.locator("img.leaflet-tile-loaded").first).to_be_attached()
    expect(page.get_by_text("Example Survey")).to_be_visible()
    pictures = [url for url in opened.asked if "tiles.example.com" in url]
    assert pictures
    assert all(int(url.split("/")[3]) <= 18 for url in pictures)
    assert opened.complaints == []


def test_a_page_whose_map_library_did_not_come_says_so_and_breaks_nothing(map_site, map_visit):
    opened = map_visit(**PHONE)
    opened.page.route("**/leaflet.js", lambda route: route.fulfill(status=200, body=""))
    opened.page.route("**/leaflet.extras.js", lambda route: route.fulfill(status=200, body=""))
    opened.page.goto(map_site.url + map_site.job)
    expect(opened.page.locator(".map-status")).to_contain_text("The map could not be drawn")
    expect(opened.page.get_by_role("region", name="Marks", exact=True)).to_be_visible()
    assert opened.complaints == []
