"""Rods logged by thumb: an odd one is asked about, one is undone, three are pulled back and drilled again."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, DrilledRod, RodWithdrawal
from tests.factories import DrilledRodFactory, point, small_job
from tests.screens import PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# A finger needs so much, CSS pixels.
TARGET_PX = 44


@pytest.fixture
def bore() -> Bore:
    """A bore of rods of 10 ft that crosses one line, 10 % down from the surface."""
    stored = small_job().bores.get()
    store_assessment(stored.pk)
    return stored


@pytest.fixture
def page(opened, bore) -> Page:
    """The rods on the foreman's phone."""
    started = opened("Foreman", reverse("conflicts:rods", args=[bore.pk]), viewport=PHONE, has_touch=True)
    started.get_by_role("heading", name="Rods of").wait_for()
    return started


def log(page: Page, number: int, depth: str, pitch: str = "10") -> None:
    """Two numbers and one tap: all else is there."""
    page.get_by_label("Depth read").fill(depth)
    page.get_by_label("Pitch, %").fill(pitch)
    page.get_by_role("button", name=f"Log rod {number}").tap()


def test_rods_are_logged_asked_about_undone_pulled_back_and_drilled_again(page, bore):
    expect(page.get_by_role("alert")).to_contain_text("No release is in force")
    for number, depth in enumerate(("12", "24", "36"), start=1):
        log(page, number, depth)
        expect(page.locator(".messages")).to_contain_text(f"Logged: rod {number}.")
        expect(page.get_by_role("heading", name=f"Head, after rod {number}")).to_be_visible()
    # A slip of a digit is asked about; corrected, it is stored as corrected.
    log(page, 4, "84")
    expect(page.get_by_role("heading", name="Read again")).to_be_visible()
    assert DrilledRod.objects.count() == 3
    log(page, 4, "48")
    expect(page.locator(".messages")).to_contain_text("Logged: rod 4.")
    # One that reads so is kept, with the question.
    log(page, 5, "90")
    page.get_by_role("button", name="It reads so: keep it").tap()
    expect(page.locator(".messages")).to_contain_text("Logged: rod 5.")
    assert DrilledRod.objects.get(number=5).confirmed
    page.get_by_role("button", name="Undo rod 5").tap()
    expect(page.locator(".messages")).to_contain_text("Taken back: the entry of rod 5.")
    page.get_by_role("link", name="Pull back").tap()
    page.get_by_label("Back to the end of").select_option(label="rod 1")
    page.get_by_label("Reason").fill("A cobble turned the head.")
    page.get_by_role("button", name="Pulled back").tap()
    expect(page.locator(".messages")).to_contain_text("The next is rod 2 again.")
    log(page, 2, "23")
    expect(page.locator(".messages")).to_contain_text("Logged: rod 2.")
    expect(page.locator(".leg")).to_contain_text("Leg 1, abandoned: rods 2 to 4")
    expect(page.locator("svg.profile .abandoned")).to_have_count(1)
    assert RodWithdrawal.objects.count() == 2
    assert DrilledRod.objects.count() == 6


def test_the_profile_opens_at_the_head_and_not_at_the_entry(page, bore):
    box = page.locator("[data-scrolls]")
    after = None
    for _ in range(9):
        after = DrilledRodFactory(bore=bore, after=after, depth_m=1.0)
    store_assessment(bore.pk)
    for address in ("conflicts:rods", "conflicts:bore"):
        page.goto(page.url.partition("/bores/")[0] + reverse(address, args=[bore.pk]))
        page.wait_for_function("document.querySelector('[data-scrolls]').scrollLeft > 0")
        drawn, seen = page.locator("svg.profile .drilled-head").bounding_box(), box.bounding_box()
        middle = seen["x"] + seen["width"] / 2
        assert drawn["x"] + drawn["width"] / 2 == pytest.approx(middle, abs=2.0)


def test_every_target_is_large_enough_and_nothing_is_wider_than_the_phone(page):
    log(page, 1, "12")
    expect(page.locator(".messages")).to_contain_text("Logged: rod 1.")
    for summary in page.locator(".rod-form summary").all():
        summary.tap()
    targets = page.locator(
        "main :is(button, .button, summary, select, input:not([type=hidden]):not([type=radio]))"
    )
    for target in targets.all():
        assert target.bounding_box()["height"] >= TARGET_PX, target.evaluate("one => one.outerHTML")
    for choice in page.locator(".choices label").all():
        assert choice.bounding_box()["height"] >= TARGET_PX
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_the_phone_s_position_becomes_the_dot_by_one_tap(opened, bore):
    longitude, latitude = point(3.0, -0.1).coords
    page = opened(
        "Foreman",
        reverse("conflicts:rods", args=[bore.pk]),
        viewport=PHONE,
        has_touch=True,
        geolocation={"longitude": longitude, "latitude": latitude, "accuracy": 0.04},
        permissions=["geolocation"],
    )
    page.get_by_text("Dot over the head").tap()
    button = page.get_by_role("button", name="Use this phone")
    assert button.bounding_box()["height"] >= TARGET_PX
    button.tap()
    expect(page.get_by_role("button", name="Leave the position out", pressed=True)).to_be_visible()
    expect(page.get_by_text("The dot is where this phone was, within")).to_be_visible()
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    log(page, 1, "12")
    expect(page.locator(".messages")).to_contain_text("Logged: rod 1.")
    expect(page.get_by_text("right", exact=False).first).to_be_visible()
    rod = DrilledRod.objects.get()
    assert (rod.dot_longitude_deg, rod.dot_latitude_deg, rod.dot_error_m) == (longitude, latitude, 0.04)
