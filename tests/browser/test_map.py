"""The maps in Chromium, at a desk and on a phone: drawn, told apart by shape, pointed at, walked through."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import leaflet
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page, expect

from conflicts.assess import store_assessment
from tests.factories import (
    MarkFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    TicketFactory,
    line,
    person_in_role,
    point,
    small_job,
)

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

DESK = {"viewport": {"width": 1440, "height": 900}}
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
SCREENS = pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])


@dataclass
class Site:
    """The running site, one job, and a person who is logged in."""

    url: str
    session: str
    job: str
    bore: str
    empty: str


@pytest.fixture
def site(live_server, client) -> Site:
    job = small_job()
    operator = job.operators.get()
    job.test_holes.update(ref="TH-1")
    MarkFactory(
        job=job,
        ref="W-9",
        operator=operator,
        facility_type="potable_water",
        geometry=line((20, -15), (22, 15)),
    )
    MarkFactory(job=job, ref="E-9", operator=operator, facility_type="electric", geometry=point(80, 6))
    TestHoleFactory(
        job=job, ref="TH-2", found=False, depth_to_top_m=None, dug_depth_m=1.8, position=point(35, 2)
    )
    SurfaceFeatureFactory(job=job, ref="SF-2", position=point(65, -4))
    TicketFactory(job=job, number="OLD-1", legal_start_at=None, expires_at=None)
    bore = job.bores.get()
    store_assessment(bore.pk)
    empty = small_job()
    for records in ("marks", "test_holes", "surface_features", "tickets", "linework", "bores"):
        getattr(empty, records).all().delete()
    client.force_login(person_in_role("Foreman"))
    return Site(
        live_server.url,
        client.cookies["sessionid"].value,
        reverse("conflicts:job", args=[job.pk]),
        reverse("conflicts:bore", args=[bore.pk]),
        reverse("conflicts:job", args=[empty.pk]),
    )


@dataclass
class Visit:
    """A page in a context of its own, with what it complained about and every address it asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def open(self, address: str) -> Page:
        self.page.goto(address)
        expect(self.page.locator(".map.is-drawn")).to_be_visible()
        return self.page


@pytest.fixture
def visit(browser: Browser, site: Site) -> Iterator[Callable[..., Visit]]:
    contexts: list[BrowserContext] = []

    def start(**options) -> Visit:
        context = browser.new_context(**options)
        context.add_cookies([{"name": "sessionid", "value": site.session, "url": site.url}])
        contexts.append(context)
        started = Visit(context.new_page())
        started.page.on("console", lambda message: started.complaints.append(message.text))
        started.page.on("pageerror", lambda error: started.complaints.append(str(error)))
        started.page.on("request", lambda request: started.asked.append(request.url))
        return started

    yield start
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()


SHAPES = "uses => uses.map(use => use.getAttribute('href').slice(1))"


@SCREENS
def test_the_map_is_drawn_from_the_sites_own_files_alone_and_without_a_complaint(site, visit, screen):
    opened = visit(**screen)
    for address in (site.job, site.bore):
        page = opened.open(site.url + address)
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
    assert [url for url in opened.asked if not url.startswith((site.url, "data:"))] == []
    assert opened.complaints == []


@SCREENS
def test_axe_finds_nothing_on_a_page_with_its_map(site, visit, screen):
    # The policy forbids the script that axe is; it is lifted here alone.
    opened = visit(bypass_csp=True, **screen)
    for address in (site.job, site.bore):
        page = opened.open(site.url + address)
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
def test_nothing_jumps_when_the_map_comes(site, visit, screen):
    page = visit(**screen).open(site.url + site.job)
    # 0.1 is where web.dev's measure of layout shift ceases to be good; the map keeps its room from the start.
    assert page.evaluate(SHIFTS) < 0.02


def test_a_first_load_stays_light_besides_the_map_library(site, visit):
    opened = visit(**PHONE)
    sizes: dict[str, int] = {}
    opened.page.on("response", lambda answer: sizes.update({answer.url: len(answer.body())}))
    opened.open(site.url + site.bore)
    own = {url: size for url, size in sizes.items() if "/leaflet/leaflet." not in url}
    assert len(own) > 20
    # Unpacked, as the live server sends them; WhiteNoise sends about a quarter of it.
    assert sum(own.values()) < 300_000, own


@SCREENS
def test_the_legend_explains_the_signs_and_switches_the_layers(site, visit, screen):
    page = visit(**screen).open(site.url + site.job)
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


TOLD = """() => { window.told = [];
    document.addEventListener("crosswatch:point", event => window.told.push(event.detail)); }"""
POINT = """sequence => document.dispatchEvent(
    new CustomEvent("crosswatch:point", {detail: {crossing: sequence, by: "list"}}))"""


def test_list_and_map_point_at_the_same_crossing(site, visit):
    page = visit(**DESK).open(site.url + site.bore)
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


def test_pointing_at_a_crossing_out_of_sight_brings_it_into_sight(site, visit):
    page = visit(**DESK).open(site.url + site.bore)
    for _ in range(4):
        page.get_by_role("button", name="Zoom in").click()
    expect(page.locator(".map .symbol[data-crossing='0']")).to_have_count(0)
    page.evaluate(POINT, 0)
    expect(page.locator(".map .symbol[data-crossing='0']")).to_have_class(
        "symbol symbol-verdict is-stop is-pointed"
    )


@SCREENS
def test_the_keyboard_moves_the_map_and_walks_through_its_symbols(site, visit, screen):
    page = visit(**screen).open(site.url + site.job)
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
        "href", f"{site.bore}crossings/0/"
    )
    card.get_by_role("button", name="Close").focus()
    page.keyboard.press("Escape")
    expect(card).to_be_hidden()
    expect(page.locator(".map-view")).to_be_focused()


def test_a_tap_near_a_symbol_or_on_a_line_shows_its_card(site, visit):
    page = visit(**PHONE).open(site.url + site.bore)
    page.locator(".map").scroll_into_view_if_needed()
    box = page.locator(".symbol[data-crossing='0']").bounding_box()
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2 - 20)
    card = page.locator(".map-card")
    expect(card).to_contain_text("W-9 at station")
    card.get_by_role("button", name="Close").tap()
    expect(card).to_be_hidden()


def test_the_phones_position_is_shown_with_its_accuracy_and_age(site, visit):
    longitude, latitude = point(50, 2).coords
    opened = visit(
        geolocation={"longitude": longitude, "latitude": latitude, "accuracy": 8},
        permissions=["geolocation"],
        **PHONE,
    )
    page = opened.open(site.url + site.bore)
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


def test_a_phone_that_may_not_tell_its_position_says_so(site, visit):
    page = visit(**PHONE).open(site.url + site.bore)
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".map-fix")).to_contain_text("may not tell where it is")


DRAW = """async kind => {
    const own = [...document.scripts].find(script => script.src.includes("job_map")).src;
    const { whenMap } = await import(own);
    const drawing = await import(new URL("../base/map.js", own).href);
    const map = await whenMap(document.querySelector("[data-map-url]"));
    window.drawn = new Promise(resolve => drawing[kind](map, resolve));
    window.drawn.then(result => { window.result = JSON.stringify(result); });
}"""


@pytest.mark.parametrize(
    ("kind", "corners"), [("placePoint", 1), ("drawLine", 2), ("drawArea", 3)], ids=["point", "line", "area"]
)
def test_a_point_line_or_area_is_drawn_with_the_mouse_and_a_corner_taken_back(site, visit, kind, corners):
    page = visit(**DESK).open(site.url + site.job)
    page.locator(".map").scroll_into_view_if_needed()
    page.evaluate(DRAW, kind)
    box = page.locator(".map-view").bounding_box()
    bar = page.locator(".draw-bar")
    for corner in range(corners + 1):
        page.mouse.click(box["x"] + 200 + 60 * corner, box["y"] + 200 + 40 * (corner % 2))
    if kind != "placePoint":
        bar.get_by_role("button", name="Undo last point").click()
    expect(page.locator(".draw-corner")).to_have_count(corners)
    expect(page.locator(".map-card")).to_be_hidden()
    bar.get_by_role("button", name="Done").click()
    page.wait_for_function("() => window.result")
    found = page.evaluate("() => JSON.parse(window.result)")
    flat = {"placePoint": [found], "drawLine": found, "drawArea": found[0]}[kind]
    assert len(flat) == corners + (kind == "drawArea")
    assert all(abs(longitude + 78.5) < 0.01 and abs(latitude - 38) < 0.01 for longitude, latitude in flat)
    expect(bar).to_have_count(0)


def test_a_line_is_drawn_by_keyboard_alone(site, visit):
    page = visit(**DESK).open(site.url + site.job)
    page.evaluate(DRAW, "drawLine")
    expect(page.locator(".map-view")).to_be_focused()
    for key in ("Enter", "ArrowRight"):
        page.keyboard.press(key)
    status = page.locator(".draw-bar p")
    expect(status).to_have_text("1 corner; at least 2 are needed.")
    moved = page.locator(".map-position").inner_text()
    page.wait_for_function("before => document.querySelector('.map-position').innerText !== ''", arg=moved)
    page.keyboard.press("Enter")
    expect(status).to_have_text("2 corners. Tap for another, or finish.")
    page.keyboard.press("Backspace")
    expect(status).to_have_text("1 corner; at least 2 are needed.")
    page.keyboard.press("Escape")
    page.wait_for_function("() => window.result")
    assert page.evaluate("() => window.result") == "null"


def test_without_script_the_page_says_what_the_map_would_show(site, visit):
    opened = visit(java_script_enabled=False, **PHONE)
    page = opened.page
    page.goto(site.url + site.job)
    expect(page.locator("#map-words")).to_contain_text("1 bore (B", use_inner_text=True)
    expect(page.locator("#map-words")).to_contain_text(
        "3 marks (1 electric, 1 gas/oil/steam, 1 potable water; depth unknown of 2)"
    )
    expect(page.locator("noscript p").filter(has_text="The map is drawn by script")).to_be_visible()
    expect(page.locator(".map")).to_be_hidden()
    for name in ("tickets", "marks", "test-holes", "surface-features"):
        expect(page.locator(f"#{name}")).to_be_attached()


def test_the_map_of_a_job_with_nothing_to_draw_says_so_and_can_be_drawn_on(site, visit):
    longitude, latitude = point(0, 0).coords
    opened = visit(
        geolocation={"longitude": longitude, "latitude": latitude, "accuracy": 8},
        permissions=["geolocation"],
        **PHONE,
    )
    page = opened.open(site.url + site.empty)
    expect(page.locator(".map-status")).to_contain_text("Nothing is logged yet that could be drawn")
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".map-status")).to_be_hidden()
    page.evaluate(DRAW, "placePoint")
    page.get_by_role("button", name="Add a point at the cross").click()
    page.locator(".draw-bar").get_by_role("button", name="Done").click()
    page.wait_for_function("() => window.result")
    assert page.evaluate("() => JSON.parse(window.result)") == pytest.approx([longitude, latitude], abs=1e-6)
    assert opened.complaints == []


def test_pictures_under_the_map_come_from_the_address_that_was_named(site, visit, settings, monkeypatch):
    address = "https://tiles.example.com/{z}/{x}/{y}.png"
    monkeypatch.setitem(leaflet.app_settings, "TILES", [("Base map", address, {"maxNativeZoom": 18})])
    settings.MAP_TILE_URL, settings.MAP_TILE_ATTRIBUTION = address, "Example Survey"
    policy = {**settings.CONTENT_SECURITY_POLICY["DIRECTIVES"]}
    policy["img-src"] = [*policy["img-src"], "https://tiles.example.com"]
    settings.CONTENT_SECURITY_POLICY = {"DIRECTIVES": policy}
    opened = visit(**DESK)
    picture = (Path(leaflet.__file__).parent / "static/leaflet/images/layers.png").read_bytes()
    opened.page.route("https://tiles.example.com/**", lambda route: route.fulfill(body=picture))
    page = opened.open(site.url + site.job)
    expect(page.locator("img.leaflet-tile-loaded").first).to_be_attached()
    expect(page.get_by_text("Example Survey")).to_be_visible()
    pictures = [url for url in opened.asked if "tiles.example.com" in url]
    assert pictures
    assert all(int(url.split("/")[3]) <= 18 for url in pictures)
    assert opened.complaints == []
