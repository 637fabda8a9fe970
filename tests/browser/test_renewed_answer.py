"""A page that says yes asks again: it stops saying so where it holds no more, and where it cannot ask."""

from datetime import timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from conflicts.desk.withdraw_release import withdraw_release
from conflicts.models import Release, ReleaseWithdrawal
from conflicts.release import sign_release
from tests.factories import person_in_role
from tests.screens import DESK, PHONE
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

HALF_A_MINUTE_MS, TWO_MINUTES_MS = 30_000, 120_000


@pytest.fixture
def release() -> Release:
    """A release in force of a bore of this day."""
    now = timezone.now()
    found = Release(
        bore=bore_of_today(),
        crew="Crew 2",
        rig="Rig 7",
        shift_from=now - timedelta(minutes=1),
        shift_until=now + timedelta(hours=3),
    )
    return sign_release(found, by=person_in_role("Safety manager"))


def page_of(opened, name, release, **options) -> Page:
    """A page of the release or its bore, under a clock that the test moves on."""
    key = release.pk if name == "release" else release.bore_id
    page = opened("Foreman", reverse(f"conflicts:{name}", args=[key]), **options)
    page.clock.install()
    page.reload()
    return page


def part(page, name):
    return page.locator(f'[data-answer-part="{name}"]')


@pytest.mark.parametrize("name", ["bore", "release"])
@pytest.mark.parametrize("viewport", [PHONE, DESK])
def test_a_yes_goes_once_the_release_is_taken_back(opened, release, name, viewport):
    page = page_of(opened, name, release, viewport=viewport, bypass_csp=True)
    expect(part(page, "yes")).to_be_visible()
    expect(part(page, "no")).to_be_hidden()
    taken = ReleaseWithdrawal(release=release, reason="Gas is smelt at the entry.")
    withdraw_release(taken, by=person_in_role("Safety manager"))
    page.clock.run_for(HALF_A_MINUTE_MS + 1000)
    expect(part(page, "no")).to_contain_text("Do not drill: this does not hold any more.")
    expect(part(page, "no")).to_contain_text("Gas is smelt at the entry.")
    expect(part(page, "yes")).to_be_hidden()
    expect(part(page, "said")).to_contain_text("Do not drill")
    assert page.evaluate("document.documentElement.scrollWidth") <= viewport["width"]
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_a_changed_record_takes_the_yes_away_when_the_page_comes_back_into_view(opened, release):
    page = page_of(opened, "bore", release, viewport=PHONE)
    expect(part(page, "yes")).to_be_visible()
    release.bore.job.marks.update(is_intact=False)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(part(page, "no")).to_contain_text("Do not drill")
    expect(part(page, "yes")).to_be_hidden()


@pytest.mark.parametrize("name", ["bore", "release"])
def test_without_a_network_it_says_so_and_no_old_yes_is_left(opened, release, name):
    page = page_of(opened, name, release, viewport=PHONE)
    expect(part(page, "yes")).to_be_visible()
    page.wait_for_load_state("networkidle")
    # A network that is gone, without the browser's own complaint about it.
    page.evaluate(
        "() => { window.asks = window.fetch; window.fetch = () => Promise.reject(new TypeError('gone')); }"
    )
    page.clock.run_for(HALF_A_MINUTE_MS + 1000)
    expect(part(page, "unsure")).to_contain_text("This may be old: last asked")
    expect(part(page, "unsure")).to_contain_text("No network.")
    expect(part(page, "yes")).to_be_visible()
    page.clock.run_for(TWO_MINUTES_MS)
    expect(part(page, "no")).to_contain_text("Old: do not drill by this page")
    expect(part(page, "yes")).to_be_hidden()
    page.evaluate("() => { window.fetch = window.asks; }")
    page.clock.run_for(HALF_A_MINUTE_MS + 1000)
    expect(part(page, "yes")).to_be_visible()
    expect(part(page, "no")).to_be_hidden()
    expect(part(page, "said")).to_have_text("It holds, asked again just now.")
