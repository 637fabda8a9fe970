"""A rule's page and the days of its centre in Chromium: at a desk, on a phone, by keyboard, axe content."""

from datetime import date

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from locates.models import CentreDay
from tests.factories import HomeOrganisationFactory, seeded_rule
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44


def kept(day: date, *, is_working: bool = True) -> CentreDay:
    return CentreDay.objects.create(
        organisation=HomeOrganisationFactory(),
        code="CA",
        day=day,
        is_working=is_working,
        words="told by the centre on the telephone on Monday",
    )


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator("a.more, button, select, input:not([type=hidden])").all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response["violations"]
    assert found == [], found


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_rule_and_the_days_fit_and_axe_is_content(opened, live_server, size, colours):
    kept(date(2026, 11, 27))
    gone = kept(date(2026, 12, 24), is_working=False)
    CentreDay.objects.filter(pk=gone.pk).update(retired_at=gone.made_at)
    rule = reverse("locates:rule", args=[seeded_rule("CA").pk])
    # The policy forbids the script that axe is.
    page = opened("Coordinator", rule, viewport=size, color_scheme=colours, bypass_csp=True)
    looks_right(page)
    expect(page.get_by_text("a working day: told by the centre")).to_be_visible()
    page.goto(live_server.url + reverse("locates:centre-days", args=["CA"]))
    looks_right(page)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_coordinator_adds_a_day_by_the_keyboard_and_retires_it(opened, script):
    rule = reverse("locates:rule", args=[seeded_rule("CA").pk])
    page = opened("Coordinator", rule, viewport=DESK, java_script_enabled=script)
    page.get_by_role("link", name="Add or retire a day").press("Enter")
    if script:  # where the focus is can only be asked with script
        tab_to(page, page.get_by_label("Day", exact=True))
    page.get_by_label("Day", exact=True).fill("2026-11-27")
    page.get_by_label("It is").select_option("a working day")
    page.get_by_label("Why, and who says so").fill("the centre, by telephone")
    page.get_by_label("Why, and who says so").press("Enter")
    expect(page.get_by_text("Saved: CA 2026-11-27: a working day.")).to_be_visible()
    expect(page.get_by_role("row", name="Fri Nov 27, 2026")).to_contain_text("the centre, by telephone")
    page.get_by_role("button", name="Retire Fri Nov 27, 2026").press("Enter")
    expect(page.get_by_text("Retired: CA 2026-11-27: a working day.")).to_be_visible()
    expect(page.get_by_role("heading", name="Retired")).to_be_visible()
    assert CentreDay.objects.live().count() == 0


def test_a_day_of_which_something_is_said_already_is_told_at_its_field_on_a_phone(opened):
    kept(date(2026, 11, 27))
    page = opened("Coordinator", reverse("locates:centre-days", args=["CA"]), viewport=PHONE)
    page.get_by_label("Day", exact=True).fill("2026-11-27")
    page.get_by_label("It is").select_option("no working day")
    page.get_by_label("Why, and who says so").fill("heard otherwise")
    page.get_by_role("button", name="Add the day").click()
    expect(page.locator(".field-error")).to_contain_text("retire that first")
    expect(page.get_by_label("Why, and who says so")).to_have_value("heard otherwise")
    assert CentreDay.objects.count() == 1
