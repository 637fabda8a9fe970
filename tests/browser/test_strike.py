"""The strike page and the report of damage in Chromium: on a phone without a login, axe content."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import DamageReport
from locates.desk.prove_ledger import prove_ledger
from locates.models import Job
from tests.factories import FacilityOperatorFactory, MarkFactory, line, small_job
from tests.photo_files import jpeg
from tests.screens import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
NUMBER_TARGET_PX = 64
TARGETS = "a.more, a.button, button, select, .strike-link a, a.strike-call, .yes-no label, input[type=text]"


@pytest.fixture
def job() -> Job:
    made = small_job()
    made.operators.update(name="Millbrook Gas", emergency_phone="+1 555 010 0199")
    mute = FacilityOperatorFactory(job=made, name="Aldwater Waterworks", emergency_phone="")
    MarkFactory(job=made, operator=mute, facility_type="potable_water", geometry=line((20, -15), (22, 15)))
    store_assessment(made.bores.get().pk)
    return made


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator(TARGETS).all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    found = Axe().run(page).response["violations"]
    assert found == [], found


def test_a_phone_that_opened_the_bore_reaches_the_numbers_after_the_login_has_ended(opened, job):
    bore = job.bores.get()
    page = opened("Foreman", reverse("conflicts:bore", args=[bore.pk]), viewport=PHONE, has_touch=True)
    link = page.get_by_role("link", name="A line is hit")
    box = link.bounding_box()
    assert box["height"] >= NUMBER_TARGET_PX
    assert box["y"] + box["height"] <= PHONE["height"]
    page.context.clear_cookies(name="sessionid")
    link.tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("A line is hit")
    emergency = page.get_by_role("link", name="911")
    expect(emergency).to_have_attribute("href", "tel:911")
    expect(page.get_by_role("link", name="Millbrook Gas")).to_have_attribute(
        "href", "tel:+1%20555%20010%200199"
    )
    number = emergency.bounding_box()
    assert number["height"] >= NUMBER_TARGET_PX
    # In the first view, and in what the bars of a phone's browser leave of it.
    assert number["y"] + number["height"] <= PHONE["height"] / 2
    page.get_by_role("link", name="electric").tap()
    expect(page.get_by_role("heading", name="Electric")).to_be_in_viewport()
    page.goto(page.url.split("/jobs/")[0] + reverse("conflicts:job", args=[job.pk]))
    expect(page.get_by_label("Password")).to_be_visible()


def test_the_link_is_small_at_a_desk(opened, job):
    page = opened("Foreman", reverse("conflicts:job", args=[job.pk]), viewport=DESK)
    box = page.get_by_role("link", name="A line is hit").bounding_box()
    assert LEAST_TARGET_PX <= box["height"] < NUMBER_TARGET_PX
    assert box["width"] < DESK["width"] / 3


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_pages_fit_and_axe_is_content(opened, live_server, job, size, colours):
    # The policy forbids the script that axe is.
    page = opened(
        "Foreman",
        reverse("conflicts:strike", args=[job.pk]),
        viewport=size,
        color_scheme=colours,
        bypass_csp=True,
    )
    looks_right(page)
    page.goto(live_server.url + reverse("conflicts:damage-add", args=[job.pk]))
    looks_right(page)
    page.locator("form.record-form").evaluate("form => { form.noValidate = true; }")
    page.get_by_label("What happened").fill("W" * 300)
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_role("alert")).to_be_visible()
    looks_right(page)
    page.get_by_text("Near miss", exact=True).click()
    page.get_by_label("What the line is").select_option("electric")
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Near miss")
    looks_right(page)


@pytest.mark.parametrize("script", [True, False], ids=["script", "no script"])
def test_damage_is_reported_with_a_photo_by_phone(opened, job, tmp_path, script):
    photo = tmp_path / "hit.jpg"
    photo.write_bytes(jpeg())
    page = opened(
        "Foreman",
        reverse("conflicts:damage-add", args=[job.pk]),
        viewport=PHONE,
        has_touch=True,
        java_script_enabled=script,
    )
    page.get_by_text("Damage", exact=True).last.tap()
    page.get_by_label("What the line is").select_option("gas_oil_steam")
    page.get_by_label("What happened").fill("The reamer took the service.")
    page.get_by_label("Photos").set_input_files(photo)
    page.get_by_role("button", name="Report it").tap()
    expect(page.locator(".messages")).to_contain_text("Reported: damage")
    expect(page.locator("ul.photos img")).to_have_count(1)
    assert len(DamageReport.objects.get().photo_sha256s) == 1
    assert prove_ledger().count == 2
