"""A coordinator brings a file of many rows and watches it be checked and stored, in Chromium."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from locates.desk.work_on_file import MOST_AT_ONCE, run
from locates.models import ImportWork
from tests import factories
from tests.screens import DESK, PHONE, pages_by_role, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

MANY = MOST_AT_ONCE + 200


@pytest.fixture
def opened(browser, live_server, client):
    with pages_by_role(browser, live_server.url, client) as open_page:
        yield open_page


@pytest.fixture
def survey(tmp_path):
    rows = ["ref,lon,lat,elevation_m"]
    for number in range(MANY):
        place = factories.point(number % 100, number // 100)
        rows.append(f"G{number},{place.x!r},{place.y!r},{100 + number / 1000}")
    path = tmp_path / "ground.csv"
    path.write_text("\n".join(rows))
    return path


def to_the_check(page, survey):
    page.get_by_role("radio", name="Ground points").check()
    page.get_by_label("File", exact=True).set_input_files(survey)
    page.get_by_role("button", name="Read the file").click()
    page.get_by_label("Coordinate system (EPSG code)").fill("4326")
    page.get_by_label("Coordinates are in").select_option("degree")
    page.get_by_role("button", name="Go on").click()


def test_a_page_counts_the_rows_and_goes_on_by_itself(opened, survey):
    job = factories.small_job()
    page = opened("Coordinator", reverse("locates:import", args=[job.pk]), viewport=DESK)
    to_the_check(page, survey)
    bar, step = page.get_by_role("progressbar"), page.get_by_role("status")
    expect(step).to_have_text("Waiting to be checked")
    expect(bar).not_to_have_attribute("value", "0")
    work = ImportWork.objects.get()
    ImportWork.objects.update(state="running", attempts=1, phase="read", rows_done=500)
    expect(page.get_by_text(f"Read 500 of {MANY:,} rows.")).to_be_visible()
    expect(bar).to_have_js_property("value", 500)
    expect(bar).to_have_js_property("max", MANY)
    run(work.pk)
    store = page.get_by_role("button", name=f"Store {MANY} ground points")
    tab_to(page, store)
    page.keyboard.press("Enter")
    expect(step).to_have_text("Waiting to be stored")
    assert job.ground_points.filter(elevation_m__gte=100).count() == 0
    run(work.pk)
    expect(page.get_by_role("heading", name=f"Stored: {MANY} ground points")).to_be_visible()
    assert job.ground_points.filter(elevation_m__gte=100).count() == MANY


def test_a_phone_without_script_looks_again_by_a_link(opened, survey):
    job = factories.small_job()
    page = opened(
        "Coordinator",
        reverse("locates:import", args=[job.pk]),
        viewport=PHONE,
        java_script_enabled=False,
    )
    to_the_check(page, survey)
    expect(page.get_by_text(f"{MANY:,} rows wait for a worker.")).to_be_visible()
    run(ImportWork.objects.get().pk)
    page.get_by_role("link", name="Look again now").click()
    expect(page.get_by_role("button", name=f"Store {MANY} ground points")).to_be_visible()


def test_axe_finds_nothing_on_the_page_that_counts(opened, survey):
    job = factories.small_job()
    for scheme in ("light", "dark"):
        # The policy forbids the script that axe is; it is lifted here alone.
        page = opened(
            "Coordinator",
            reverse("locates:import", args=[job.pk]),
            viewport=PHONE,
            color_scheme=scheme,
            bypass_csp=True,
        )
        to_the_check(page, survey)
        expect(page.get_by_role("progressbar")).to_be_visible()
        assert Axe().run(page).response["violations"] == []
        assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]
