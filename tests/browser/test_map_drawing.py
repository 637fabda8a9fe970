"""Drawing on the map in Chromium: a point, a line and an area, by mouse and by keyboard."""

import pytest
from playwright.sync_api import expect

from tests.factories import point
from tests.map_visits import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


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
def test_a_point_line_or_area_is_drawn_with_the_mouse_and_a_corner_taken_back(
    map_site, map_visit, kind, corners
):
    page = map_visit(**DESK).open(map_site.url + map_site.job)
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


def test_a_line_is_drawn_by_keyboard_alone(map_site, map_visit):
    page = map_visit(**DESK).open(map_site.url + map_site.job)
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


def test_the_map_of_a_job_with_nothing_to_draw_says_so_and_can_be_drawn_on(map_site, map_visit):
    longitude, latitude = point(0, 0).coords
    opened = map_visit(
        geolocation={"longitude": longitude, "latitude": latitude, "accuracy": 8},
        permissions=["geolocation"],
        **PHONE,
    )
    page = opened.open(map_site.url + map_site.empty)
    expect(page.locator(".map-status")).to_contain_text("Nothing is logged yet that could be drawn")
    # Of the world that it shows, neither a scale nor a middle means anything.
    readings = page.locator(".map-scale, .map-position")
    assert [reading.is_visible() for reading in readings.all()] == [False, False]
    page.get_by_role("button", name="Where am I").click()
    expect(page.locator(".map-status")).to_be_hidden()
    assert [reading.is_visible() for reading in readings.all()] == [True, True]
    page.evaluate(DRAW, "placePoint")
    page.get_by_role("button", name="Add a point at the cross").click()
    page.locator(".draw-bar").get_by_role("button", name="Done").click()
    page.wait_for_function("() => window.result")
    assert page.evaluate("() => JSON.parse(window.result)") == pytest.approx([longitude, latitude], abs=1e-6)
    assert opened.complaints == []
