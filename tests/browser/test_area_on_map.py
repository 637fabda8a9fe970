"""A ticket's work areas drawn on the map of its form, by mouse, thumb and keyboard, and read back."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from locates.models import Ticket
from tests.factories import small_job
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
CORNER = re.compile(r"^38\.\d{8}, -78\.\d{8}$|^37\.\d{8}, -78\.\d{8}$")


@pytest.fixture
def job():
    return small_job()


def new_ticket(opened, job, **options) -> Page:
    page = opened("Coordinator", reverse("locates:ticket-add", args=[job.pk]), **options)
    expect(page.locator(".map.is-drawn")).to_have_count(1)
    page.locator("#id_number").fill("T-77")
    page.locator("#id_called_at").fill("2026-11-04T10:00")
    kind = page.locator("#id_ticket_kind")
    kind.select_option(index=1)
    return page


def middle_of(view) -> tuple[float, float]:
    view.scroll_into_view_if_needed()
    box = view.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def parts_of(page: Page) -> list[list[str]]:
    return [part.split("\n") for part in page.locator("#id_area").input_value().split("\n\n")]


def save(page: Page) -> None:
    button = page.locator(".form-end").get_by_role("button").first
    drawn = page.locator("#id_area").input_value()
    button.click()
    # The first time the dates are worked out, to be looked over; what was drawn is still there.
    expect(page.get_by_role("alert")).to_contain_text("The dates are worked out now")
    expect(page.locator("#id_area")).to_have_value(drawn)
    button.click()
    expect(page).to_have_url(re.compile("#tickets$"))


def stored_corners(job) -> list[list[tuple[float, float]]]:
    area = Ticket.objects.get(job=job, number="T-77").area
    return [[*polygon.shell.coords[:-1]] for polygon in area]


def test_two_areas_are_drawn_one_corner_is_taken_back_and_both_are_stored(opened, job):
    page = new_ticket(opened, job, viewport=DESK)
    for left in (-200, 60):
        page.get_by_role("button", name="Draw an area").click()
        x, y = middle_of(page.locator(".map-view"))
        for east, south in ((left, -60), (left + 100, -60), (left + 100, 60), (left + 20, 90)):
            page.mouse.click(x + east, y + south)
        page.get_by_role("button", name="Undo last point").click()
        page.mouse.click(x + left, y + 60)
        page.get_by_role("button", name="Done").click()
    parts = parts_of(page)
    assert [len(part) for part in parts] == [4, 4]
    assert all(CORNER.match(corner) for part in parts for corner in part)
    expect(page.locator(".placed-area")).to_have_count(2)
    save(page)
    corners = [[corner.split(", ") for corner in part] for part in parts]
    typed = [[(float(east), float(north)) for north, east in part] for part in corners]
    assert stored_corners(job) == typed


def test_what_is_typed_is_drawn_and_what_is_removed_comes_back(opened, job):
    page = new_ticket(opened, job, viewport=DESK)
    box = page.locator("#id_area")
    first = "38.0001, -78.5000\n38.0001, -78.4995\n37.9999, -78.4995"
    box.fill(f"{first}\n\n38.0001, -78.4990\n38.0001, -78.4985\n37.9999, -78.4985\n37.9999, -78.4990")
    expect(page.locator(".placed-area")).to_have_count(2)
    expect(page.locator(".area-list li").last).to_contain_text("Area 2: 4 corners")
    page.get_by_role("button", name="Remove area 1").click()
    expect(page.locator(".placed-area")).to_have_count(1)
    expect(box).to_have_value(re.compile(r"^38\.00010000, -78\.49900000"))
    page.get_by_role("button", name="Undo", exact=True).click()
    expect(page.locator(".placed-area")).to_have_count(2)
    assert box.input_value().startswith(first)
    box.fill("38.0001 N, 78.5 W")
    expect(page.get_by_role("button", name="Draw an area")).to_be_disabled()
    expect(page.locator(".draw-status")).to_contain_text("read when you save")


def test_an_area_is_drawn_by_keyboard_alone(opened, job):
    page = new_ticket(opened, job, viewport=DESK)
    draw = page.get_by_role("button", name="Draw an area")
    page.locator("#id_area").focus()
    tab_to(page, draw)
    page.keyboard.press("Enter")
    expect(page.locator(".map-view")).to_be_focused()
    for moves in (("ArrowLeft", "ArrowUp"), ("ArrowRight",) * 2, ("ArrowDown",) * 2):
        for move in moves:
            page.keyboard.press(move)
        page.wait_for_timeout(400)  # the map glides by arrow key
        page.keyboard.press("Enter")
    tab_to(page, page.get_by_role("button", name="Done"))
    page.keyboard.press("Enter")
    expect(draw).to_be_focused()
    assert [len(part) for part in parts_of(page)] == [3]
    save(page)
    assert [len(part) for part in stored_corners(job)] == [3]


def test_an_area_is_drawn_and_changed_by_thumb_and_the_page_fits_the_phone(opened, job):
    page = new_ticket(opened, job, viewport=PHONE, has_touch=True)
    page.get_by_role("button", name="Draw an area").tap()
    x, y = middle_of(page.locator(".map-view"))
    for east, south in ((-80, -60), (80, -60), (80, 60)):
        page.touchscreen.tap(x + east, y + south)
    page.get_by_role("button", name="Done").tap()
    page.get_by_role("button", name="Change area 1").tap()
    x, y = middle_of(page.locator(".map-view"))
    page.touchscreen.tap(x - 80, y + 60)
    page.get_by_role("button", name="Done").tap()
    assert [len(part) for part in parts_of(page)] == [4]
    for button in page.locator(".area-map button:visible").all():
        assert button.bounding_box()["height"] >= LEAST_TARGET_PX, button
    assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]
    found = Axe().run(page).response["violations"]
    assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == []
    save(page)
    assert [len(part) for part in stored_corners(job)] == [4]
