"""Reaming and pullback by thumb: a wide reamer is asked about and corrected, a wrong entry withdrawn."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, HolePass, HolePassWithdrawal
from tests.factories import small_job
from tests.screens import PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# A finger needs so much, CSS pixels.
TARGET_PX = 44


@pytest.fixture
def bore() -> Bore:
    """A bore planned 8 in across from a pilot of 4 in, that crosses one line."""
    stored = small_job().bores.get()
    Bore.objects.update(pilot_diameter_m=0.1016, final_diameter_m=0.2032)
    store_assessment(stored.pk)
    return stored


@pytest.fixture
def page(opened, bore) -> Page:
    """The passes on the foreman's phone."""
    started = opened("Foreman", reverse("conflicts:passes", args=[bore.pk]), viewport=PHONE, has_touch=True)
    started.get_by_role("heading", name="Reaming and pullback of").wait_for()
    return started


def ream(page: Page, reamer: str) -> None:
    """One number and one tap."""
    page.get_by_label("Reamed with").fill(reamer)
    page.get_by_role("button", name="Log the reaming pass").tap()


def test_a_hole_is_reamed_corrected_and_pulled_back_by_thumb(page, bore):
    ream(page, "6")
    expect(page.locator(".messages")).to_contain_text("Logged: reaming pass.")
    # A slip of the unit is asked about, with the line that would turn short; corrected, it is stored so.
    ream(page, "80")
    asked = page.get_by_role("heading", name="Look again: this does not fit")
    expect(asked).to_be_visible()
    expect(page.locator(".asked")).to_contain_text("is planned. With it")
    assert HolePass.objects.count() == 1
    ream(page, "8")
    expect(page.locator(".messages")).to_contain_text("Logged: reaming pass.")
    expect(page.locator("#next-pass + p")).to_contain_text("The last was 8 in")
    # One that is so is kept, with the question.
    ream(page, "10")
    page.get_by_role("button", name="It is so: keep it").tap()
    expect(page.locator(".caution")).to_contain_text("wider than planned")
    assert HolePass.objects.get(diameter_m__gt=0.21).confirmed
    page.get_by_role("link", name="Entered wrongly").first.tap()
    page.get_by_label("Reason").fill("It was 8 in.")
    page.get_by_role("button", name="It was entered wrongly").tap()
    expect(page.locator(".messages")).to_contain_text("Withdrawn: the reaming pass.")
    expect(page.locator(".caution")).to_have_count(0)
    page.get_by_role("link", name="Log the pullback").tap()
    page.get_by_label("Unit").select_option("in")
    page.get_by_label("How many").first.fill("3")
    page.get_by_label("Outside size, each").first.fill("2 3/8")
    page.get_by_role("button", name="Log the pullback").tap()
    expect(page.locator(".messages")).to_contain_text("Logged: pullback.")
    expect(page.get_by_text("pulled back", exact=True)).to_be_visible()
    assert HolePassWithdrawal.objects.count() == 1
    page.goto(page.url.replace("/passes/", "/"))
    expect(page.get_by_text("reamed 8 in, pulled back")).to_be_visible()


@pytest.mark.parametrize("path", ["", "pullback/", "withdraw/"])
def test_every_target_is_large_enough_and_nothing_is_wider_than_the_phone(page, path):
    ream(page, "6")
    expect(page.locator(".messages")).to_contain_text("Logged: reaming pass.")
    page.goto(f"{page.url}{path}")
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
