"""The page for the rig: it renews itself after a rod, says when it is old, and is read by everybody."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from conflicts.models import Bore, DrilledRod, Release
from conflicts.release import sign_release
from locates.desk.ledger import enter
from tests.factories import DrilledRodFactory, person_in_role
from tests.screens import DESK, PHONE, tab_to
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

ROD_M = 3.048
# The page's own figures: it asks every 5 s, and is old after 30 s.
ASKED_WITHIN_MS = 20_000


@pytest.fixture
def bore() -> Bore:
    """A released bore of this day with six rods down to its depth."""
    bore, now = bore_of_today(), timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person_in_role("Safety manager"))
    for number in range(1, 7):
        log(bore, -0.1, 0.3033 * number)
    return bore


def log(bore, pitch, depth_m) -> None:
    """Log the next rod, as the page of the rods does."""
    last = DrilledRod.objects.filter(bore=bore).order_by("number").last()
    with transaction.atomic():
        rod = DrilledRodFactory(
            bore=bore,
            after=last,
            length_m=ROD_M,
            pitch_ratio=pitch,
            depth_m=depth_m,
            logged_at=timezone.now(),
        )
        enter(rod, by=rod.logged_by)


def page_of(opened, bore, **options) -> Page:
    return opened("Foreman", reverse("conflicts:ahead", args=[bore.pk]), **options)


def large(page, key):
    return page.locator(f'[data-told="{key}.large"]')


def test_it_renews_itself_after_a_rod_and_stops_at_a_wrong_one(opened, bore):
    page = page_of(opened, bore, viewport=PHONE)
    mark = bore.job.marks.get()
    expect(large(page, "answer")).to_have_text("Drill on by the plan")
    expect(large(page, "coming")).to_have_text(f"{mark.ref} in 11 rods")
    page.evaluate("window.sameDocument = true")
    log(bore, 0.0, 1.97)
    expect(large(page, "coming")).to_have_text(f"{mark.ref} in 10 rods", timeout=ASKED_WITHIN_MS)
    expect(page.locator("[data-said]")).to_have_text(
        f"Rod 7. Drill on by the plan. Next: {mark.ref} in 10 rods."
    )
    bore.job.test_holes.update(found=False, depth_to_top_m=None, dug_depth_m=1.0)
    log(bore, 0.0, 1.97)
    expect(large(page, "answer")).to_have_text("Stop. Do not drill on", timeout=ASKED_WITHIN_MS)
    stop = page.get_by_role("heading", name="The depth of a line ahead is not known.")
    expect(stop).to_be_visible()
    assert page.evaluate("window.sameDocument") is True


def test_without_a_network_it_says_that_it_is_old_and_no_yes_is_left(opened, bore):
    page = page_of(opened, bore, viewport=PHONE)
    expect(page.locator("[data-age]")).to_contain_text("ago")
    # A network that is gone, without the browser's own complaint about it.
    page.evaluate("() => { window.fetch = () => Promise.reject(new TypeError('gone')); }")
    expect(page.locator("[data-old]")).to_contain_text("No network.", timeout=ASKED_WITHIN_MS)
    expect(page.locator("[data-old]")).to_have_text(
        "Old: do not drill by this page. No network.", timeout=60_000
    )
    expect(large(page, "answer")).to_have_text("Old. Stop until it is new")
    expect(page.locator("[data-said]")).to_have_text("What is shown is old: do not drill by it. No network.")
    expect(page.locator("[data-device]")).to_contain_text("This device says")


def test_the_three_things_stand_in_the_first_view_of_a_phone(opened, bore):
    page = page_of(opened, bore, viewport=PHONE)
    for key in ("answer", "head", "coming"):
        box = large(page, key).bounding_box()
        assert box["y"] + box["height"] <= PHONE["height"], key


@pytest.mark.parametrize("viewport", [PHONE, DESK])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_read_it(opened, bore, viewport, scheme):
    page = page_of(opened, bore, viewport=viewport, color_scheme=scheme, bypass_csp=True)
    expect(page.locator("[data-age]")).to_contain_text("ago")
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_by_the_keyboard_one_gets_to_the_rods_and_back_and_to_the_strike_page(opened, bore):
    page = page_of(opened, bore, viewport=DESK)
    tab_to(page, page.get_by_role("link", name="Log the next rod"))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=f"Rods of {bore.name}").wait_for()
    tab_to(page, page.get_by_role("link", name="Ahead of the head: steer, and until when"))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="What comes next").wait_for()
    tab_to(page, page.get_by_role("link", name="A line is hit: what to do first"))
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="A line is hit").wait_for()
