"""A watch on a phone is three taps and one number; a gap too small shows the stop rule in full."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, CrossingWatch
from conflicts.stop_rules import RULE_OF, StopCode
from tests.factories import small_job
from tests.photo_files import jpeg
from tests.screens import PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# The brief of the watch.
MOST_TAPS, NUMBERS = 3, 1
# Each finger that meets the glass, and each box in which something was typed, kept over the pages of the tab.
COUNTED = """
addEventListener("pointerdown", (event) => {
  if (event.isTrusted && event.pointerType === "touch") {
    sessionStorage.taps = 1 + Number(sessionStorage.taps ?? 0);
  }
}, true);
addEventListener("change", (event) => {
  if (event.isTrusted && event.target.type === "text") {
    sessionStorage.typed = 1 + Number(sessionStorage.typed ?? 0);
  }
}, true);
"""


@pytest.fixture
def bore() -> Bore:
    """A bore that crosses one line, at which 1 ft is required."""
    stored = small_job().bores.get()
    store_assessment(stored.pk)
    return stored


@pytest.fixture
def page(opened, bore) -> Page:
    """The page of the pilot's watch at the crossing, on the foreman's phone."""
    started = opened("Foreman", reverse("conflicts:watches", args=[bore.pk]), viewport=PHONE, has_touch=True)
    started.add_init_script(COUNTED)
    started.get_by_role("link", name="Watch the pilot pass").tap()
    started.get_by_role("heading", name="the pilot").wait_for()
    return started


def counted(page: Page) -> tuple[int, int]:
    """Taps, and numbers typed, since the watch's page was opened."""
    return tuple(page.evaluate("() => [Number(sessionStorage.taps ?? 0), Number(sessionStorage.typed ?? 0)]"))


def tap(page: Page, target) -> None:
    """Put a finger on it where it is: what has to be scrolled to is more than a tap."""
    box = target.bounding_box()
    assert box["y"] >= 0, target
    assert box["y"] + box["height"] <= PHONE["height"], target
    page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)


def watch(page: Page, gap: str) -> None:
    """Yes, the gap, signed: nothing else."""
    tap(page, page.locator("label.yes"))
    tap(page, page.get_by_label("Gap measured"))
    page.keyboard.type(gap)
    with page.expect_navigation():
        tap(page, page.get_by_role("button", name="Sign the watch"))


def test_a_watch_is_three_taps_and_one_number(page, bore):
    watch(page, "14")
    expect(page.locator(".messages")).to_contain_text("Signed: ")
    assert counted(page) == (MOST_TAPS, NUMBERS)
    assert CrossingWatch.objects.get(bore=bore).gap_m == pytest.approx(14 * 0.0254)
    expect(page.get_by_role("alert")).to_have_count(0)
    # The next pass is one tap away.
    expect(page.get_by_role("link", name="Watch the reaming pass")).to_be_in_viewport()


def test_a_gap_below_required_shows_the_stop_rule_in_full_in_the_first_view(page, bore):
    watch(page, "6")
    assert counted(page) == (MOST_TAPS, NUMBERS)
    rule = RULE_OF[StopCode.GAP_SHORT]
    stop = page.get_by_role("alert").filter(has_text="Stop: ")
    expect(stop).to_contain_text(rule.when)
    expect(stop).to_contain_text(rule.then)
    expect(stop).to_contain_text("Gap 6 in")
    expect(stop.get_by_text(rule.then)).to_be_in_viewport(ratio=1)


def test_a_photo_of_the_gap_goes_with_the_watch_and_stands_at_its_crossing(page, bore, tmp_path):
    taken = tmp_path / "gap.jpg"
    taken.write_bytes(jpeg())
    page.get_by_text("Depth read, photos, remarks").tap()
    page.get_by_label("Photos").set_input_files(taken)
    page.locator("label.yes").tap()
    page.get_by_label("Gap measured").fill("14 in")
    with page.expect_navigation():
        page.get_by_role("button", name="Sign the watch").tap()
    with page.expect_navigation():
        page.get_by_role("rowheader").get_by_role("link").tap()
    page.get_by_text("Every watch of this crossing: 1").tap()
    expect(page.get_by_role("img", name="Photo gap.jpg")).to_be_in_viewport()
