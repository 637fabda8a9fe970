"""Every page on which something is signed, kept or proven, in each of its states: it fits, axe is content.

At a desk by day and on a phone at night; the keyboard reaches every control and shows where it is.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import timedelta
from types import SimpleNamespace

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Browser, Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, Release, Variance
from conflicts.record.ask import ask_for_record
from conflicts.record.make import run as make_record
from conflicts.release import sign_release
from locates.desk.keep_photo import keep_photo
from tests.conflicts.audit.signed_stories import close_out, damage, stood, variance, watch
from tests.factories import DailyWalkFactory, PersonFactory, person_in_role, small_job
from tests.photo_files import photo_upload
from tests.screens import DESK, PHONE, pages_by_role

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
TARGETS = (
    "a.more, a.button, button, select, summary, textarea, .yes-no label, .photos a, .strike-link a, "
    "input:not([type=hidden], [type=radio], [type=checkbox])"
)
# Tab goes to one radio button of a group, and through each part of a day and time.
CONTROLS = """() => {
    const found = [...document.querySelectorAll("a[href], button, input, select, textarea, summary")]
        .filter((one) => one.checkVisibility() && one.type !== "hidden" && !one.disabled);
    return new Set(found.map((one) => (one.type === "radio" ? one.name : one))).size;
}"""
FOCUSED = """() => {
    const one = document.activeElement;
    window.reached ??= new Set();
    if (one !== document.body) window.reached.add(one.type === "radio" ? one.name : one);
    const ringed = [one, one.closest("label")].filter(Boolean).map((part) => getComputedStyle(part));
    return {
        count: window.reached.size,
        words: one.outerHTML,
        ring: one === document.body || ringed.some(
            ({outlineStyle, outlineWidth}) => outlineStyle !== "none" && parseFloat(outlineWidth) >= 2
        ),
    };
}"""


def looks_right(page: Page) -> None:
    """As it is seen at a desk by day, then on a phone at night, where every control is reached and large."""
    for viewport, colours in ((DESK, "light"), (PHONE, "dark")):
        page.set_viewport_size(viewport)
        page.emulate_media(color_scheme=colours)
        page.wait_for_load_state("networkidle")
        assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0, page.url
        found = Axe().run(page)
        assert found.response["passes"], page.url
        assert found.response["violations"] == [], f"{page.url}: {found.generate_report()}"
    expect(page.locator("h1")).to_have_count(1)
    for target in page.locator("main").locator(TARGETS).all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, (page.url, target.inner_text())
    the_keyboard_reaches_everything(page)


def the_keyboard_reaches_everything(page: Page) -> None:
    controls, reached = page.evaluate(CONTROLS), 0
    for _ in range(controls * 4):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        assert focused["ring"], f"{page.url}: no ring on {focused['words']}"
        reached = focused["count"]
        if reached >= controls:
            return
    pytest.fail(f"{page.url}: the keyboard reaches {reached} of {controls} controls.")


@pytest.fixture
def site() -> SimpleNamespace:
    """A bore that may be released today."""
    now, foreman = timezone.now(), person_in_role("Foreman")
    job = small_job(name="Alder Street")
    job.tickets.update(legal_start_at=now - timedelta(days=5), expires_at=now + timedelta(days=20))
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    bore, mark, hole = job.bores.get(), job.marks.get(), job.test_holes.get()
    DailyWalkFactory(bore=bore, walked_at=now)
    store_assessment(bore.pk)
    return SimpleNamespace(job=job, bore=bore, mark=mark, hole=hole, foreman=foreman)


@pytest.fixture
def opened(browser: Browser, live_server) -> Iterator[Callable[..., Page]]:
    """Opens a page by its name as somebody in a role, each in a browser of its own that stays logged in."""
    pages: dict[str, Page] = {}
    with ExitStack() as stack:

        def open_page(role: str, name: str, *keys, query: str = "") -> Page:
            address = reverse(name, args=keys) + query
            if role in pages:
                pages[role].goto(live_server.url + address)
                return pages[role]
            start = stack.enter_context(pages_by_role(browser, live_server.url, Client()))
            # The policy forbids the script that axe is; it is lifted here alone.
            pages[role] = start(role, address, bypass_csp=True, viewport=DESK)
            return pages[role]

        yield open_page


def refused(page: Page, button: str) -> None:
    """Send a form as it is, past the browser's own look at it: it comes back with its faults."""
    page.get_by_role("button", name=button).first.wait_for()
    page.locator("form.record-form").first.evaluate("form => { form.noValidate = true; }")
    page.get_by_role("button", name=button).first.click()
    expect(page.get_by_role("alert").first).to_be_visible()
    looks_right(page)


def test_releases(opened, site):
    page = opened("Foreman", "conflicts:release-sign", site.bore.pk)
    looks_right(page)
    refused(page, "Sign the release")
    now = timezone.now()
    release = Release(
        bore=site.bore, shift_from=now, shift_until=now + timedelta(hours=8), crew="Crew 2", rig="W" * 60
    )
    sign_release(release, by=site.foreman)
    looks_right(opened("Foreman", "conflicts:bore", site.bore.pk))
    page = opened("Foreman", "conflicts:release", release.pk)
    looks_right(page)
    page.get_by_text("Take this release back").click()
    refused(page, "Take it back")
    site.hole.is_open = False
    site.hole.save()
    store_assessment(site.bore.pk)
    page = opened("Foreman", "conflicts:release", release.pk)
    expect(page.get_by_text("Do not drill on it: lapsed.")).to_be_visible()
    looks_right(page)
    looks_right(opened("Foreman", "conflicts:release-sign", site.bore.pk))


def test_variances(opened, site):
    looks_right(opened("Foreman", "conflicts:variances", site.bore.pk))
    page = opened("Foreman", "conflicts:variance-ask", site.bore.pk)
    looks_right(page)
    refused(page, "Ask for it")
    asked = variance(site.bore, site.mark)
    looks_right(opened("Foreman", "conflicts:variances", site.bore.pk))
    page = opened("Safety manager", "conflicts:variance", asked.pk)
    page.get_by_text("Refuse it", exact=True).click()
    looks_right(page)
    page.reload()
    refused(page, "Sign the variance")
    assert Variance.objects.get().pk == asked.pk


def test_watches_cameras_and_the_close_out(opened, site):
    stood(site.bore)
    looks_right(opened("Foreman", "conflicts:watches", site.bore.pk))
    page = opened("Foreman", "conflicts:watch", site.bore.pk, 0, "pilot")
    page.get_by_text("Depth read, photos, remarks").click()
    looks_right(page)
    refused(page, "Sign the watch")
    page = opened("Foreman", "conflicts:camera", site.bore.pk)
    looks_right(page)
    refused(page, "Sign the inspection")
    short = watch(site.bore, site.mark, gap_m=0.1)
    keep_photo(short, photo_upload(), by=site.foreman)
    page = opened("Foreman", "conflicts:watches", site.bore.pk)
    expect(page.get_by_role("alert")).to_contain_text("Stop: ")
    looks_right(page)
    page = opened("Foreman", "conflicts:crossing", site.bore.pk, 0)
    page.get_by_text("Every watch of this crossing").click()
    looks_right(page)
    page = opened("Foreman", "conflicts:close-out", site.bore.pk)
    expect(page.get_by_role("heading", name="What is missing")).to_be_visible()
    looks_right(page)
    for passed in ("pilot", "reaming", "pullback"):
        watch(site.bore, site.mark, passed=passed, gap_m=0.5, at=timezone.now())
    page = opened("Safety manager", "conflicts:close-out", site.bore.pk)
    looks_right(page)
    refused(page, "Sign the close-out")
    looks_right(opened("Safety manager", "conflicts:bore-as-of", site.bore.pk))
    close_out(site.bore)
    looks_right(opened("Safety manager", "conflicts:close-out", site.bore.pk))
    looks_right(opened("Foreman", "conflicts:bore", site.bore.pk))


def test_what_is_kept_and_proven(opened, site):
    bore, job = site.bore, site.job
    looks_right(opened("Foreman", "conflicts:walk", bore.pk))
    looks_right(opened("Foreman", "conflicts:strike", job.pk))
    looks_right(opened("Foreman", "conflicts:damage", damage(bore, site.mark).pk))
    looks_right(opened("Foreman", "locates:photo-add", "test-hole", site.hole.pk))
    photo = keep_photo(site.hole, photo_upload(), by=site.foreman)
    looks_right(opened("Safety manager", "locates:photo-facts", photo.pk))
    looks_right(opened("Safety manager", "locates:roles"))
    looks_right(opened("Safety manager", "conflicts:audit"))
    looks_right(opened("Safety manager", "conflicts:ledger", query="?prove=1"))
    looks_right(opened("Safety manager", "conflicts:job-as-of", job.pk))
    looks_right(opened("Safety manager", "locates:job-history", job.pk))
    looks_right(opened("Foreman", "conflicts:clearance-record", bore.pk))
    making = asked_record(bore)
    page = opened("Foreman", "conflicts:clearance-record", bore.pk)
    looks_right(page)
    make_record(making)
    # The page asks by itself and loads again: a visit in that moment would be cut off.
    page.get_by_text("Digests", exact=True).click()
    looks_right(page)


def asked_record(bore: Bore) -> int:
    """A record that waits for a worker."""
    return ask_for_record(bore, bore.pk, by=PersonFactory()).pk
