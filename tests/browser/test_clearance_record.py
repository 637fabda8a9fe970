"""The page of a bore's clearance records in Chromium: asked for, watched, saved; it fits; axe is content."""

from hashlib import sha256
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.models import Bore, RecordMaking
from conflicts.models.record_making import MakingPhase
from conflicts.record import make
from tests import factories
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44


@pytest.fixture
def bore() -> Bore:
    return factories.small_job().bores.get()


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator("a.button, button, summary").all():
        assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response
    assert found["passes"]
    assert found["violations"] == [], found["violations"]


@pytest.mark.parametrize(
    "options",
    [
        {"viewport": DESK},
        {"viewport": PHONE},
        {"viewport": PHONE, "color_scheme": "dark", "contrast": "more"},
    ],
    ids=["desk", "phone", "dark and high contrast"],
)
def test_asked_for_watched_and_listed_it_is_readable(opened, bore, options):
    # The policy forbids the script that axe is.
    page = opened(
        "Safety manager", reverse("conflicts:clearance-record", args=[bore.pk]), bypass_csp=True, **options
    )
    expect(page.get_by_text("None yet.")).to_be_visible()
    looks_right(page)
    page.get_by_role("button", name="Make the record now").click()
    expect(page.get_by_role("heading", name="A record is being made")).to_be_visible()
    looks_right(page)
    making = RecordMaking.objects.get()
    RecordMaking.objects.update(state="running", attempts=1, phase=MakingPhase.DRAW)
    expect(page.get_by_text("Drawing", exact=True)).to_be_visible()
    expect(page.get_by_role("progressbar")).to_have_js_property("value", 1)
    looks_right(page)
    make.run(making.pk)
    expect(page.get_by_role("link", name="Save the PDF")).to_be_visible()
    page.get_by_text("Digests").click()
    looks_right(page)
    factories.RecordMakingFactory(bore=bore, state="given up", failure="No record can be made: no rule.")
    page.reload()
    expect(page.get_by_role("alert")).to_contain_text("No record can be made: no rule.")
    looks_right(page)


def test_by_the_keyboard_alone_it_is_saved_as_it_was_made(opened, bore):
    page = opened("Foreman", reverse("conflicts:clearance-record", args=[bore.pk]), viewport=DESK)
    tab_to(page, page.get_by_role("button", name="Make the record now"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="A record is being made")).to_be_visible()
    making = RecordMaking.objects.get()
    make.run(making.pk)
    save = page.get_by_role("link", name="Save the PDF")
    expect(save).to_be_visible()
    tab_to(page, save)
    with page.expect_download() as started:
        page.keyboard.press("Enter")
    making.refresh_from_db()
    assert sha256(Path(started.value.path()).read_bytes()).hexdigest() == making.sha256
