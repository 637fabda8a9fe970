"""Photos on a phone: of a test hole from its row in the job, and what the pages of photos look like."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page, expect

from locates.desk.prove_ledger import prove_ledger
from locates.models import Job, Photo
from tests.factories import small_job
from tests.photo_files import exif, jpeg
from tests.screens import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

LEAST_TARGET_PX = 44
HERE = {"latitude": 38.0001, "longitude": -78.4995, "accuracy": 6.0}


@pytest.fixture
def job() -> Job:
    made = small_job()
    made.test_holes.update(ref="TH-1")
    return made


def looks_right(page: Page) -> None:
    """Nothing beside the screen, nothing too small for a thumb, axe content."""
    assert page.evaluate("() => document.documentElement.scrollWidth - innerWidth") <= 0
    for target in page.locator("main").locator("a.more, a.button, button, input[type=file], .photos a").all():
        if target.is_visible():
            assert target.bounding_box()["height"] >= LEAST_TARGET_PX, target.inner_text()
    assert Axe().run(page).response["violations"] == []


def test_a_foreman_adds_photos_to_a_test_hole_and_this_phone_s_place_on_a_tap(opened, job, tmp_path):
    for name, content in (("top.jpg", jpeg(shade=60)), ("camera.jpg", jpeg(exif=exif()))):
        (tmp_path / name).write_bytes(content)
    page = opened(
        "Foreman",
        reverse("conflicts:job", args=[job.pk]),
        viewport=PHONE,
        has_touch=True,
        geolocation=HERE,
        permissions=["geolocation"],
    )
    page.get_by_role("link", name="Add a photo of TH-1").tap()
    page.get_by_label("Photos").set_input_files([tmp_path / "top.jpg", tmp_path / "camera.jpg"])
    page.get_by_role("button", name="Add this phone").tap()
    expect(page.get_by_role("button", name="place", pressed=True)).to_be_visible()
    page.get_by_role("button", name="Keep these photos").tap()
    expect(page.get_by_role("heading", name="Kept so far")).to_be_visible()
    expect(page.locator("ul.photos img")).to_have_count(2)
    # The file's own word on its place comes before the phone's.
    told = dict(Photo.objects.values_list("file_name", "position_from"))
    assert told == {"top.jpg": "device", "camera.jpg": "file"}
    assert prove_ledger().count == 2
    # From the hole's own form too.
    page.goto(
        page.url.split("/photos/")[0] + reverse("locates:test-hole-edit", args=[job.test_holes.get().pk])
    )
    page.get_by_role("link", name="Photos of TH-1").tap()
    expect(page.locator("ul.photos img")).to_have_count(2)


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_the_pages_of_photos_fit_and_a_copy_shows_nothing_of_the_place_to_a_foreman(
    opened, job, tmp_path, size
):
    (tmp_path / "wide.jpg").write_bytes(jpeg(1600, 700, exif=exif()))
    hole = job.test_holes.get()
    # The policy forbids the script that axe is.
    page = opened(
        "Foreman",
        reverse("locates:photo-add", args=["test-hole", hole.pk]),
        viewport=size,
        color_scheme="dark",
        bypass_csp=True,
    )
    looks_right(page)
    page.get_by_label("Photos").set_input_files(tmp_path / "wide.jpg")
    page.get_by_role("button", name="Keep these photos").click()
    expect(page.locator("ul.photos img")).to_have_count(1)
    looks_right(page)
    page.locator("ul.photos a").click()
    picture = page.get_by_role("img", name="Photo wide.jpg")
    expect(picture).to_be_visible()
    # It may still be on its way when its room on the page is there.
    page.wait_for_function("image => image.complete", arg=picture.element_handle())
    assert picture.evaluate("image => image.naturalWidth") > 0
    expect(page.get_by_text("your role does not open it")).to_be_visible()
    looks_right(page)
