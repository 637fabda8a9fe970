"""The audit in Chromium: every part fits the screen, axe is content, and files come by the keyboard."""

import csv
import io

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.audit.parts import SECTIONS
from tests.conflicts.audit.signed_stories import (
    bore_with_mark,
    close_out,
    crossing,
    damage,
    release,
    sign_variance,
    variance,
    watch,
)
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
TARGETS = "a.more, button, select, summary, nav a, input:not([type=hidden])"


@pytest.fixture(autouse=True)
def story() -> None:
    bore, mark = bore_with_mark(name="North run", job_name="Alder Street")
    release(
        bore, [crossing("G-1"), crossing("W-1", worst_m=0.1, verdict="short"), crossing("S-1", worst_m=None)]
    )
    watch(bore, mark, gap_m=0.25)
    watch(bore, mark, passed="pullback", gap_m=0.5)
    close_out(bore)
    sign_variance(variance(bore, mark))
    damage(bore, mark)
    mark.located_by = "paint, again"
    mark.save()


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator(TARGETS).all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response["violations"]
    assert found == [], found


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["desk", "phone"])
def test_every_part_is_readable(opened, screen):
    # The policy forbids the script that axe is.
    page = opened("Safety manager", reverse("conflicts:audit"), viewport=screen, bypass_csp=True)
    for section in SECTIONS:
        page.get_by_role("navigation", name="Parts of the audit").get_by_role(
            "link", name=section.title
        ).click()
        expect(page.get_by_role("heading", name=section.title, exact=True)).to_be_visible()
        looks_right(page)
    page.get_by_text("The figures drawn").click()
    page.get_by_text("Filter", exact=True).click()
    looks_right(page)
    expect(page.get_by_role("img", name="Margins over time")).to_be_visible()


def test_what_is_chosen_by_keyboard_is_what_the_file_holds(opened):
    page = opened("Safety manager", "/", viewport=DESK)
    tab_to(page, page.get_by_role("link", name="Audit"))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_text("Filter", exact=True))
    page.keyboard.press("Enter")
    tab_to(page, page.get_by_label("Crossing"))
    page.keyboard.type("g-1")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Least margins").press("Enter")
    expect(page.get_by_role("rowheader")).to_have_text(["G-1"] * 3)
    with page.expect_download() as download:
        page.get_by_role("link", name="this part as CSV").press("Enter")
    rows = list(csv.DictReader(io.StringIO(download.value.path().read_text())))
    assert [row["mark"] for row in rows] == ["G-1"] * 3
    assert download.value.suggested_filename.startswith("audit_margins_")
