"""A foreman logs a test hole by thumb, a coordinator draws a mark: the bore is computed anew and says so."""

import re
from collections.abc import Callable, Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from conflicts.assess import store_assessment
from tests.factories import TestHoleFactory, point, small_job
from tests.screens import DESK, PHONE, compute_what_waits, pages_by_role

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
FORMS = ("test-hole-add", "mark-add", "surface-feature-add", "ground-point-add", "linework-add", "map-base")


@pytest.fixture
def job():
    """A small job whose gas line nobody has exposed."""
    job = small_job()
    job.test_holes.all().delete()
    store_assessment(job.bores.get().pk)
    return job


@pytest.fixture
def opened(browser: Browser, live_server, client) -> Iterator[Callable[..., Page]]:
    """Opens a page as somebody in a role; what the page complains about fails the test."""
    with pages_by_role(browser, live_server.url, client) as open_page:
        yield open_page


def test_a_foreman_logs_a_test_hole_by_thumb_and_the_verdict_changes(opened, job):
    bore = job.bores.get()
    crossing = reverse("conflicts:crossing", args=[bore.pk, 0])
    place = point(50, 0)
    fix = {"latitude": place.y, "longitude": place.x, "accuracy": 0.02}
    page = opened(
        "Foreman", crossing, viewport=PHONE, has_touch=True, geolocation=fix, permissions=["geolocation"]
    )
    expect(page.locator(".verdict-line")).to_contain_text("unexposed")
    page.get_by_role("link", name="Log a test hole on this line").tap()

    page.get_by_text("found a line", exact=True).tap()
    page.get_by_label("Depth to the top of the line").fill("2'6\"")
    page.get_by_label("Outside size").fill("4 in")
    page.get_by_role("button", name="Use the phone").tap()
    expect(page.locator(".phone-status")).to_contain_text("Placed within 0.1 ft")
    expect(page.get_by_label("Position of the hole")).to_have_value(re.compile(r"^38\.0000\d+, -78\.49\d+$"))
    expect(page.get_by_label("Measured to within")).to_have_value("0.1 ft")
    for button in page.locator("main button:visible, main input:visible, main select:visible").all():
        box = button.bounding_box()
        label = button.evaluate("one => one.type === 'radio' ? one.closest('label').offsetHeight : 0")
        assert max(box["height"], label) >= LEAST_TARGET_PX, button
    page.get_by_role("button", name="Save").tap()

    expect(page.get_by_role("status").first).to_contain_text("being recalculated")
    hole = job.test_holes.get()
    assert (hole.mark.ref, hole.found) == (job.marks.get().ref, True)
    page.goto(page.url.split("/jobs/")[0] + reverse("conflicts:bore", args=[bore.pk]))
    expect(page.get_by_text("being recalculated").first).to_be_visible()
    compute_what_waits()
    # The page asks by itself whether the figures are there.
    row = page.get_by_role("row", name=re.compile(hole.mark.ref)).first
    expect(row).to_contain_text("clear", timeout=20_000)
    expect(row).not_to_contain_text("unexposed")
    page.goto(page.url.split("/bores/")[0] + crossing)
    expect(page.locator(".verdict-line")).to_have_text(re.compile("clear"))


def test_a_coordinator_draws_a_mark_and_sees_it_in_the_list_and_as_a_crossing(opened, job):
    bore = job.bores.get()
    page = opened("Coordinator", reverse("conflicts:job", args=[job.pk]), viewport=DESK)
    page.get_by_role("link", name="Log a mark").click()
    page.get_by_label("Reference").fill("W-7")
    page.get_by_label("Operator").select_option(index=1)
    page.get_by_label("Facility type").select_option("potable_water")
    page.get_by_label("Marked", exact=True).fill("2026-11-04T10:00")
    draw = page.get_by_role("button", name="Draw the line")
    expect(page.get_by_role("button", name="Show the map")).to_have_count(0)
    draw.click()
    view = page.locator(".map-view")
    view.scroll_into_view_if_needed()
    box = view.bounding_box()
    middle = box["x"] + 0.4 * box["width"], box["y"] + 0.5 * box["height"]
    for north_px in (60, -60):
        page.mouse.click(middle[0], middle[1] - north_px)
    page.get_by_role("button", name="Done").click()
    expect(page.get_by_label("Positions of the paint")).to_have_value(
        re.compile(r"^38\.\d{8}, -78\.\d{8}\n37\.")
    )
    expect(page.locator(".placed-line")).to_have_count(1)
    page.get_by_role("button", name="Save").click()

    expect(page.get_by_role("row", name=re.compile("W-7"))).to_be_visible()
    compute_what_waits()
    page.goto(page.url.split("/jobs/")[0] + reverse("conflicts:bore", args=[bore.pk]))
    expect(page.locator("[data-crossing]", has_text="W-7").first).to_contain_text("unexposed")


def test_a_line_is_walked_point_by_point_and_keeps_its_accuracy(opened, job):
    places = [point(30, north) for north in (-5, 5)]
    fixes = [{"latitude": place.y, "longitude": place.x, "accuracy": 2} for place in places]
    page = opened(
        "Foreman",
        reverse("locates:mark-add", args=[job.pk]),
        viewport=PHONE,
        has_touch=True,
        geolocation=fixes[0],
        permissions=["geolocation"],
    )
    page.get_by_role("button", name="Use the phone").tap()
    add = page.get_by_role("button", name="Add a point here")
    expect(add).to_be_enabled()
    add.tap()
    page.context.set_geolocation(fixes[1])
    expect(page.locator(".phone-fixes li")).to_have_count(1)
    page.wait_for_function(
        "() => { document.querySelector('[data-phone=add]').click();"
        " return new Set(document.getElementById('id_geometry').value.split('\\n')).size > 1; }"
    )
    expect(page.locator(".phone-fixes li").last).to_contain_text("within 6.6 ft")
    # 2 m of the phone and 2 ft of the paint, rounded up to a tenth of a foot.
    expect(page.get_by_label("How far the place may be off")).to_have_value("8.6 ft")
    page.get_by_role("button", name="Save").tap()
    # What is missing is told, and what was walked is still there.
    expect(page.locator(".phone-fixes li").first).to_contain_text("within 6.6 ft")


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_the_forms_fit_their_screen_and_axe_finds_nothing(opened, job, viewport, live_server):
    bore = job.bores.get()
    page = opened("Coordinator", reverse("conflicts:bore-edit", args=[bore.pk]), viewport=viewport)
    addresses = [reverse(f"locates:{name}", args=[job.pk]) for name in FORMS]
    addresses += [
        reverse("conflicts:bore-edit", args=[bore.pk]),
        reverse("conflicts:pit-edit", args=[bore.pits.first().pk]),
        reverse("locates:mark-edit", args=[job.marks.get().pk]),
    ]
    TestHoleFactory(job=job)
    for address in addresses:
        page.goto(live_server.url + address)
        if page.locator("[data-map-url]").count():
            expect(page.locator(".map.is-drawn")).to_have_count(1)
        assert page.evaluate("() => document.documentElement.scrollWidth") <= viewport["width"], address
        found = Axe().run(page).response["violations"]
        assert [one["id"] for one in found if one["impact"] in ("serious", "critical")] == [], address


def test_lines_of_a_profile_are_added_and_removed_in_place(opened, job):
    page = opened("Coordinator", reverse("conflicts:bore-edit", args=[job.bores.get().pk]), viewport=DESK)
    profile = page.get_by_role("group", name="Profile").last
    rows = profile.locator("tbody tr")
    expect(rows).to_have_count(7)
    profile.get_by_role("button", name="More lines").click()
    expect(rows).to_have_count(10)
    expect(profile.get_by_label("Station, line 8")).to_be_focused()
    page.keyboard.type("1+00")
    profile.get_by_label("Depth or elevation, line 8").fill("7 ft")
    profile.get_by_role("button", name="Remove line 2").click()
    expect(rows).to_have_count(9)
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_role("status").first).to_contain_text("Saved: Bore")
    stations_m = job.bores.get().profile_stations_m
    assert stations_m[:3] == [0.0, pytest.approx(30.48), 80.0]


def test_a_bore_is_planned_rod_by_rod_in_the_table(opened, job):
    bore = job.bores.get()
    page = opened("Coordinator", reverse("conflicts:bore-edit", args=[bore.pk]), viewport=DESK)
    rods = page.get_by_role("group", name="Rods")
    expect(rods).to_be_hidden()
    page.get_by_text("rod by rod", exact=True).click()
    expect(page.get_by_role("group", name="Profile").last).to_be_hidden()
    page.get_by_label("Elevation at the entry").fill("-2 m")
    first = rods.get_by_label("Length, joint 1", exact=True)
    first.fill("0 m")
    first.press("Tab")
    page.keyboard.type("0")
    for joint in (2, 3):
        rods.get_by_label(f"Length, joint {joint}", exact=True).fill("50 m")
        rods.get_by_label(f"Pitch, joint {joint}", exact=True).fill("0 deg")
    page.get_by_role("button", name="Save").last.click()
    pitch = rods.get_by_label("Pitch, joint 1", exact=True)
    expect(pitch).to_have_attribute("aria-invalid", "true")
    expect(pitch).to_have_value("0")
    pitch.fill("0 %")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_role("status").first).to_contain_text("Saved: Bore")
    planned = job.bores.get()
    assert (planned.rod_lengths_m, planned.rod_pitches_ratio) == ([0.0, 50.0, 50.0], [0.0, 0.0, 0.0])
    assert planned.profile_stations_m == []


def test_what_is_wrong_with_a_joint_stands_below_it_and_leaves_a_phones_row_flat(opened, job):
    bore = job.bores.get()
    page = opened("Coordinator", reverse("conflicts:bore-edit", args=[bore.pk]), viewport=PHONE)
    page.get_by_text("rod by rod", exact=True).click()
    page.get_by_label("Elevation at the entry").fill("-2 m")
    rods = page.get_by_role("group", name="Rods")
    for joint, length, pitch in ((1, "0 m", "0"), (2, "3", "flat"), (3, "50 m", "0 deg")):
        rods.get_by_label(f"Length, joint {joint}", exact=True).fill(length)
        rods.get_by_label(f"Pitch, joint {joint}", exact=True).fill(pitch)
    page.get_by_role("button", name="Save").last.click()
    told = rods.locator(".row-errors")
    expect(told).to_have_count(2)
    wrong = rods.get_by_label("Pitch, joint 2", exact=True)
    expect(wrong).to_have_accessible_description(re.compile("Pitch: .*flat.* is not a grade"))
    width = page.evaluate("() => document.documentElement.scrollWidth")
    assert width <= PHONE["width"]
    row, words = wrong.locator("xpath=ancestor::tr").bounding_box(), told.nth(1).bounding_box()
    assert row["height"] < 2 * LEAST_TARGET_PX
    assert words["y"] >= row["y"] + row["height"] - 1
    assert words["width"] > 0.8 * PHONE["width"]

    rods.get_by_role("button", name="Remove joint 1", exact=True).click()
    expect(told).to_have_count(1)
    expect(rods.get_by_label("Length, joint 1", exact=True)).to_have_value("3")
    rods.get_by_role("button", name="More joints").click()
    rods.get_by_label("Length, joint 1", exact=True).fill("0 m")
    rods.get_by_label("Pitch, joint 1", exact=True).fill("0 deg")
    rods.get_by_label("Length, joint 2", exact=True).fill("100 m")
    page.get_by_role("button", name="Save").last.click()
    expect(page.get_by_role("status").first).to_contain_text("Saved: Bore")
    assert job.bores.get().rod_lengths_m == [0.0, 100.0]
