"""A profile is planned, changed by hand, undone, compared, printed and taken: at a desk and on a phone."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore
from tests.browser.test_signed_sheets import looks_right
from tests.factories import DrilledRodFactory, MarkFactory, TestHoleFactory, line, point, small_job
from tests.pdf_reading import page_texts, squeezed
from tests.screens import DESK, PHONE, tab_to

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def bore() -> Bore:
    """A bore of ten rods or so under two lines, so that the keyboard is through it in a while."""
    job = small_job(name="Alder Street")
    planned = job.bores.get()
    planned.rod_length_m = 9.0
    planned.save()
    water = MarkFactory(job=job, operator=job.operators.get(), ref="W-9", geometry=line((70, -15), (70, 15)))
    TestHoleFactory(job=job, mark=water, position=point(70, 0), depth_to_top_m=1.2)
    store_assessment(planned.pk)
    return planned


def found(opened, bore: Bore, **options) -> Page:
    """The page of a profile that was found."""
    page = opened("Coordinator", reverse("conflicts:bore", args=[bore.pk]), bypass_csp=True, **options)
    page.get_by_role("link", name="Plan the profile").click()
    page.get_by_role("button", name="Look for the profile").click()
    expect(page.get_by_role("heading", name="A profile was found")).to_be_visible()
    return page


def state_of(page: Page):
    return page.locator("[data-state]")


def test_plan_edit_undo_compare_print_and_take(opened, bore):
    page = found(opened, bore, viewport=DESK)
    page.get_by_role("link", name="Change pitches by hand").click()
    expect(state_of(page)).to_contain_text("No change by hand yet: least room:")
    before = state_of(page).inner_text()
    expect(page.get_by_role("link", name="Undo")).to_have_count(0)
    box = page.get_by_label("Pitch at the end of rod 5, percent")
    was = box.input_value()
    # By the keyboard alone: an arrow is a tenth of a percent, and leaving the box measures.
    tab_to(page, box)
    for _ in range(5):
        page.keyboard.press("ArrowUp")
    page.keyboard.press("Tab")
    expect(state_of(page)).to_contain_text("by hand: ")
    expect(state_of(page)).not_to_contain_text("No change")
    assert float(box.input_value()) == pytest.approx(float(was) + 0.5, abs=0.051)
    assert "edits=" in page.url
    page.get_by_role("link", name="Compare with the bore").click()
    expect(page.get_by_role("heading", name="Two profiles of")).to_be_visible()
    page.get_by_role("link", name="Beside what it was before the changes by hand").click()
    expect(page.get_by_role("columnheader", name="Before the changes by hand").first).to_be_visible()
    page.get_by_role("link", name="Back to this profile").click()
    page.get_by_role("link", name="Undo all").click()
    expect(state_of(page)).to_have_text(before)
    assert "edits=" not in page.url
    printed = "".join(page_texts(page.pdf(prefer_css_page_size=True)))
    assert squeezed("not a permission to drill") in printed
    assert squeezed("Take this profile") not in printed
    page.get_by_role("button", name="Take this profile as the plan of the bore").click()
    expect(page.get_by_text("is the plan of")).to_be_visible()
    stored = Bore.objects.get(pk=bore.pk)
    assert len(stored.rod_lengths_m) > 10
    assert stored.profile_stations_m == []


def test_a_thumb_moves_the_slider_and_the_margins_follow(opened, bore):
    page = found(opened, bore, viewport=PHONE, has_touch=True, color_scheme="dark")
    page.get_by_role("link", name="Change pitches by hand").click()
    page.get_by_label("Pitch at the end of rod 5, percent").tap()
    slider = page.get_by_role("slider", name="Rod 5")
    expect(slider).to_be_visible()
    assert slider.bounding_box()["height"] >= 44
    shown = page.locator('[data-part="lines"]').inner_text()
    slider.fill(str(round(float(slider.input_value()) - 4.0, 1)))
    expect(state_of(page)).to_contain_text("1 change by hand")
    expect(page.locator('[data-part="lines"]')).not_to_have_text(shown)
    page.get_by_role("link", name="Undo the last change").tap()
    expect(state_of(page)).to_contain_text("No change by hand yet")


def test_without_script_a_button_measures(opened, bore):
    page = found(opened, bore, viewport=DESK, java_script_enabled=False)
    page.get_by_role("link", name="Change pitches by hand").click()
    page.get_by_label("Pitch at the end of rod 5, percent").fill("-1.0")
    page.get_by_role("button", name="Measure it").click()
    expect(state_of(page)).to_contain_text("1 change by hand")
    page.get_by_role("link", name="Undo the last change").click()
    expect(state_of(page)).to_contain_text("No change by hand yet")


def test_every_state_fits_and_is_reached_by_keyboard(opened, bore):
    page = found(opened, bore, viewport=DESK)
    looks_right(page)
    address = page.url
    page.get_by_role("link", name="Compare with the bore").click()
    looks_right(page)
    page.goto(address)
    page.get_by_role("link", name="Change pitches by hand").click()
    box = page.get_by_label("Pitch at the end of rod 5, percent")
    box.fill("30")
    box.press("Enter")
    expect(page.get_by_role("heading", name="record refuses of it")).to_be_visible()
    looks_right(page)


def test_the_states_without_a_profile_fit(opened, bore):
    MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), ref="S-4", geometry=line((50, -15), (50, 15))
    )
    page = opened(
        "Coordinator", reverse("conflicts:profile-search", args=[bore.pk]), bypass_csp=True, viewport=DESK
    )
    page.get_by_role("button", name="Look for the profile").click()
    expect(page.get_by_role("heading", name="No profile was found")).to_be_visible()
    expect(page.get_by_role("link", name="Log a test hole on S-4")).to_be_visible()
    looks_right(page)


def test_with_rods_in_the_ground_it_is_planned_anew_from_the_bit(opened):
    job = small_job(name="Alder Street")
    bore, last = job.bores.get(), None
    for number in range(1, 9):
        # Too high: level at 1 m, where the line at station 50 is to be passed under.
        last = DrilledRodFactory(
            bore=bore,
            after=last,
            number=number,
            length_m=3.048,
            pitch_ratio=-0.1 if number < 4 else 0.0,
            depth_m=min(1.06, 0.3033 * number),
        )
    store_assessment(bore.pk)
    page = opened("Coordinator", reverse("conflicts:ahead", args=[bore.pk]), bypass_csp=True, viewport=PHONE)
    page.get_by_role("link", name="Plan anew from the bit").click()
    expect(page.get_by_role("heading", name="8 rods are in the ground")).to_be_visible()
    expect(page.get_by_label("Least depth at entry")).to_have_count(0)
    page.get_by_role("button", name="Look for the profile").click()
    expect(page.get_by_role("heading", name="A profile was found")).to_be_visible()
    rods = page.locator("table.plan-rods")
    expect(rods.locator("tbody th").nth(0)).to_have_text("8the bit now")
    expect(rods.locator("tbody th").nth(1)).to_have_text("9")
    looks_right(page)
    page.get_by_role("link", name="Change pitches by hand").click()
    expect(page.get_by_label("Pitch at the end of rod 8, percent")).to_have_count(0)
    box = page.get_by_label("Pitch at the end of rod 9, percent")
    box.fill("-1.5")
    box.press("Tab")
    expect(state_of(page)).to_contain_text("1 change by hand")
    looks_right(page)
    page.get_by_role("link", name="Undo the last change").click()
    expect(state_of(page)).to_contain_text("No change by hand yet")
    page.get_by_role("button", name="Take this profile as the plan of the bore").click()
    expect(page.get_by_text("is the plan of")).to_be_visible()
    assert len(Bore.objects.get(pk=bore.pk).rod_lengths_m) > 9
