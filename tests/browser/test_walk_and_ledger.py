"""The daily walk on a phone and the ledger at a desk in Chromium: a few taps, by keyboard, axe content."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, DailyWalk
from locates.desk.prove_ledger import prove_ledger
from tests.factories import small_job
from tests.rewriting import rewriting_allowed
from tests.screens import DESK, PHONE, tab_to
from tests.signed_walks import sign_walks

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
QUESTIONS = ("Are all marks intact?", "Is the locating device checked today?", "Are the test holes open?")
TARGETS = "a.more, a.button, button, select, summary, .yes-no label, input:not([type=hidden], [type=radio])"


@pytest.fixture
def bore() -> Bore:
    stored = small_job().bores.get()
    store_assessment(stored.pk)
    return stored


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator(TARGETS).all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response["violations"]
    assert found == [], found


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_a_foreman_signs_the_walk_in_five_taps(opened, bore, script):
    address = reverse("conflicts:walk", args=[bore.pk])
    page = opened("Foreman", address, viewport=PHONE, has_touch=True, java_script_enabled=script)
    for words in QUESTIONS:
        page.get_by_role("group", name=words).locator("label.yes").tap()
    page.get_by_label("Which device").fill("receiver 7")
    page.get_by_role("button", name="Sign the walk").tap()
    expect(page.locator(".messages")).to_contain_text("Signed: the walk of")
    assert DailyWalk.objects.get().marks_intact is True
    assert prove_ledger().count == 1
    # The next day's walk begins with the same device and no answer.
    page.goto(page.url.split("/bores/")[0] + address)
    expect(page.get_by_label("Which device")).to_have_value("receiver 7")
    expect(page.locator("input:checked")).to_have_count(0)


def test_a_hurried_thumb_signs_once(opened, bore):
    page = opened("Foreman", reverse("conflicts:walk", args=[bore.pk]), viewport=PHONE, has_touch=True)
    for label in page.locator("label.no").all():
        label.tap()
    page.get_by_role("button", name="Sign the walk").dblclick()
    expect(page.get_by_text("It holds the bore")).to_be_visible()
    assert DailyWalk.objects.count() == 1


def test_the_walk_is_signed_by_the_keyboard_and_a_refusal_keeps_what_was_answered(opened, bore):
    page = opened("Foreman", reverse("conflicts:walk", args=[bore.pk]), viewport=DESK)
    for number in range(3):
        radios = page.locator(".question").nth(number).get_by_role("radio")
        tab_to(page, radios.first)
        page.keyboard.press("Space")
    page.get_by_label("Remarks").fill("Sleet since 6.")
    page.get_by_role("button", name="Sign the walk").press("Enter")
    expect(page.get_by_role("alert")).to_be_focused()
    expect(page.locator("input:checked")).to_have_count(3)
    expect(page.get_by_label("Remarks")).to_have_value("Sleet since 6.")
    page.get_by_role("link", name="Which device").click()
    expect(page.get_by_label("Which device")).to_be_focused()
    page.keyboard.type("receiver 7")
    page.keyboard.press("Enter")
    expect(page.locator(".messages")).to_contain_text("It counts until midnight")


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_pages_fit_in_each_state_and_axe_is_content(opened, live_server, bore, size, colours):
    address = reverse("conflicts:walk", args=[bore.pk])
    # The policy forbids the script that axe is.
    page = opened("Foreman", address, viewport=size, color_scheme=colours, bypass_csp=True)
    looks_right(page)
    page.locator("form.walk-form").evaluate("form => { form.noValidate = true; }")
    page.locator("label.yes").first.click()
    page.locator("label.no").last.click()
    page.get_by_label("Remarks").fill("W" * 300)
    page.get_by_role("button", name="Sign the walk").click()
    expect(page.get_by_role("alert")).to_be_visible()
    looks_right(page)
    page.locator("label.no").nth(1).click()
    page.get_by_role("button", name="Sign the walk").click()
    page.goto(live_server.url + address)
    expect(page.get_by_text("walk holds the bore")).to_be_visible()
    looks_right(page)

    ledger = live_server.url + reverse("conflicts:ledger")
    page.goto(ledger + "?prove=1")
    expect(page.get_by_text("Proven: 1 entry")).to_be_visible()
    page.get_by_text("What was signed", exact=True).click()
    looks_right(page)


def test_the_safety_manager_proves_the_ledger_and_is_told_what_was_changed(opened):
    [(walk, entry), _] = sign_walks(2)
    page = opened("Safety manager", f"{reverse('conflicts:ledger')}?job={entry.job_id}", viewport=DESK)
    page.get_by_label("A head noted before").fill(entry.entry_sha256)
    page.get_by_role("button", name="Prove it now").click()
    expect(page.get_by_role("status")).to_contain_text("Proven: 2 entries")
    with rewriting_allowed():
        DailyWalk.objects.filter(pk=walk.pk).update(holes_open=False)
    page.reload()
    expect(page.get_by_role("alert")).to_contain_text("The first bad entry is 1")
    expect(page.get_by_text("signed: holes_open")).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Ledger of {entry.job.name}")
