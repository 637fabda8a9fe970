"""A coordinator brings a surveyor's CSV in US survey feet, in Chromium, from the job to a new verdict."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, expect
from pyproj import Transformer

from conflicts.assess import store_assessment
from conflicts.models import Reassessment
from conflicts.reassess import run
from locates.models import TestHole
from tests import factories
from tests.screens import hear_complaints

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PHONE = {"width": 390, "height": 844}
# Virginia South in US survey feet: the place of the factories.
TO_STATE_PLANE = Transformer.from_crs(4326, 2284, always_xy=True).transform


@pytest.fixture
def unexposed_job():
    """A job whose only crossing lacks a test hole."""
    job = factories.small_job()
    TestHole.with_retired.filter(job=job).delete()
    store_assessment(job.bores.get().pk)
    return job


@pytest.fixture
def page(browser: Browser, live_server, client):
    client.force_login(factories.person_in_role("Coordinator"))
    # What the pages do stays under the policy, and every complaint counts.
    context = browser.new_context(viewport=PHONE, base_url=live_server.url)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    opened = context.new_page()
    complaints: list[str] = []
    hear_complaints(opened, complaints)
    yield opened
    # The map asks for its data by itself: answered before the tables are emptied.
    opened.wait_for_load_state("networkidle")
    context.close()
    assert complaints == []


@pytest.fixture
def surveyors_csv(unexposed_job, tmp_path):
    place = factories.point(50, 0)
    easting, northing = TO_STATE_PLANE(place.x, place.y)
    mark = unexposed_job.marks.get().ref
    path = tmp_path / "potholes.csv"
    path.write_text(
        "Pothole,Easting,Northing,Found,Depth,Date,Mark\n"
        f"PH-1,{easting:.4f},{northing:.4f},Y,2.95,11/06/2026 9:00 AM,{mark}\n"
    )
    return path


def verdict(job):
    return job.bores.get().assessment.crossings.get().verdict


def test_a_surveyors_csv_in_us_survey_feet_exposes_the_line(page, unexposed_job, surveyors_csv):
    job = unexposed_job
    assert verdict(job) == "unexposed"
    page.goto(reverse("conflicts:job", args=[job.pk]))
    page.get_by_role("link", name="Import a file").click()
    page.get_by_role("radio", name="Test holes").check()
    page.get_by_label("File", exact=True).set_input_files(surveyors_csv)
    page.get_by_role("button", name="Read the file").click()

    page.get_by_label("Coordinate system (EPSG code)").fill("2284")
    page.get_by_role("button", name="Go on").click()
    # The unit is a person's to say.
    expect(page.get_by_label("Coordinates are in")).to_be_focused()
    page.get_by_label("Coordinates are in").select_option(label="US survey feet (1200/3937 m)")
    page.get_by_label("Dates are written").select_option(label="month, day, year (11/06/2026)")
    page.get_by_label("Reference: comes from").select_option(label="column Pothole")
    page.get_by_label("Depth to top: bare numbers are in").select_option(label="US survey feet")
    page.get_by_role("button", name="Go on").click()

    expect(page.get_by_label("“Y” means")).to_have_value("yes")
    page.get_by_role("button", name="Check all rows").click()

    expect(page.get_by_text("from bore", exact=False).first).to_be_visible()
    expect(page.locator("#import-on-map")).to_have_text("Drawn: 1 points, 0 lines, 0 areas.")
    expect(page.locator(".import-point")).to_have_count(1)
    assert page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="Store 1 test hole").click()

    expect(page.get_by_role("heading", name=re.compile("Stored: 1 test hole"))).to_be_visible()
    hole = job.test_holes.get()
    assert hole.position.distance(factories.point(50, 0)) < 1e-8
    run(Reassessment.objects.get(bore__job=job).pk)
    assert verdict(job) == "clear"


def test_axe_finds_nothing_on_the_pages_of_an_import(
    browser, live_server, client, unexposed_job, surveyors_csv
):
    client.force_login(factories.person_in_role("Coordinator"))
    job = unexposed_job
    # The policy forbids the script that axe is; it is lifted here alone.
    context = browser.new_context(viewport=PHONE, base_url=live_server.url, bypass_csp=True)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    page.goto(reverse("locates:export", args=[job.pk]))
    assert Axe().run(page).response["violations"] == []
    page.goto(reverse("locates:import", args=[job.pk]))
    assert Axe().run(page).response["violations"] == []
    page.get_by_role("radio", name="Test holes").check()
    page.get_by_label("File", exact=True).set_input_files(surveyors_csv)
    page.get_by_role("button", name="Read the file").click()
    assert Axe().run(page).response["violations"] == []
    page.get_by_label("Coordinate system (EPSG code)").fill("2284")
    page.get_by_label("Coordinates are in").select_option("us_survey_foot")
    page.get_by_label("Dates are written").select_option("mdy")
    page.get_by_label("Depth to top: bare numbers are in").select_option("foot")
    page.get_by_role("button", name="Go on").click()
    assert Axe().run(page).response["violations"] == []
    page.get_by_role("button", name="Check all rows").click()
    expect(page.locator("#import-on-map")).to_contain_text("Drawn")
    assert Axe().run(page).response["violations"] == []
    context.close()
