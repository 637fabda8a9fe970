"""A coordinator brings tickets and answers in from CSV files, on a phone and by keyboard, in Chromium."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Browser, expect

from locates.models import Ticket
from tests import factories
from tests.bulk_files import AREA

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PHONE = {"width": 390, "height": 844}
HEADER = "Ticket No,kind,called at,operators,work area\n"


@pytest.fixture
def job():
    job = factories.small_job()
    job.operators.update(name="Brindle Gas")
    return job


@pytest.fixture
def start(browser: Browser, live_server, client):
    client.force_login(factories.person_in_role("Coordinator"))
    session = client.cookies["sessionid"].value
    contexts = []

    def opened(**options):
        context = browser.new_context(viewport=PHONE, base_url=live_server.url, **options)
        context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
        contexts.append(context)
        return context.new_page()

    yield opened
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()


@pytest.fixture
def tickets_csv(tmp_path):
    path = tmp_path / "office.csv"
    rows = [f'B-{row},routine,11/0{row}/2026 8:00 AM,Brindle Gas,"{AREA}"\n' for row in (2, 3)]
    path.write_text(HEADER + "".join(rows))
    return path


def fits(page):
    return page.evaluate("() => document.documentElement.scrollWidth") <= PHONE["width"]


def press_on(page, control, key="Enter"):
    """Use a control as a keyboard does."""
    control.focus()
    page.keyboard.press(key)


@pytest.mark.parametrize("script", [True, False])
def test_a_file_of_tickets_is_stored_by_keyboard_after_its_dates_are_asked_about(
    start, job, tickets_csv, script
):
    page = start(java_script_enabled=script)
    page.goto(reverse("conflicts:job", args=[job.pk]))
    press_on(page, page.get_by_role("link", name="Many from a CSV file"))
    press_on(page, page.get_by_role("radio", name="Tickets"), "Space")
    page.get_by_label("File", exact=True).set_input_files(tickets_csv)
    press_on(page, page.get_by_role("button", name="Read the file"))

    expect(page.get_by_label("Number: comes from", exact=True)).to_have_value("column:Ticket No")
    expect(page.get_by_text("Is 11/02/2026 8:00 AM month first or day first?")).to_be_visible()
    press_on(page, page.get_by_role("button", name="Check all rows"))
    order = page.get_by_label("Dates are written")
    expect(order).to_have_attribute("aria-invalid", "true")
    order.focus()
    page.keyboard.type("month")
    press_on(page, page.get_by_role("button", name="Check all rows"))

    expect(page.get_by_text("2 tickets would be stored, all together.")).to_be_visible()
    expect(page.get_by_text("Mon Nov 2, 2026, 8:00 am EST").first).to_be_visible()
    assert not Ticket.objects.filter(number__startswith="B-").exists()
    press_on(page, page.get_by_role("button", name="Store 2 tickets"))

    expect(page.get_by_role("heading", name=re.compile("Stored: 2 tickets"))).to_be_visible()
    assert set(Ticket.objects.filter(number__startswith="B-").values_list("number", flat=True)) == {
        "B-2",
        "B-3",
    }


def test_faults_stand_first_and_hold_the_cursor(start, job, tmp_path):
    path = tmp_path / "answers.csv"
    path.write_text("ticket number,operator,answer,time\nZ-1,Brindle Gas,marked,2026-11-04 10:00\n")
    page = start()
    page.goto(reverse("locates:bulk", args=[job.pk]))
    page.get_by_role("radio", name="Responses").check()
    page.get_by_label("File", exact=True).set_input_files(path)
    page.get_by_role("button", name="Read the file").click()
    page.get_by_role("button", name="Check all rows").click()
    faults = page.get_by_role("alert")
    expect(faults).to_be_focused()
    expect(faults).to_contain_text("row 2, column ticket number: found Z-1, which is not logged on this job")
    expect(page.get_by_role("button", name=re.compile("Store"))).to_have_count(0)
    assert fits(page)


def test_axe_finds_nothing_on_the_pages_and_all_of_them_fit_a_phone(start, job, tickets_csv):
    # The policy forbids the script that axe is; it is lifted here alone.
    page = start(bypass_csp=True)

    def is_sound():
        assert Axe().run(page).response["violations"] == []
        assert fits(page)

    page.goto(reverse("locates:bulk-job"))
    is_sound()
    page.get_by_label("Job", exact=True).select_option(label=job.name)
    page.get_by_role("button", name="Go on").click()
    for summary in page.locator("summary").all():
        summary.click()
    is_sound()
    page.get_by_role("radio", name="Tickets").check()
    page.get_by_label("File", exact=True).set_input_files(tickets_csv)
    page.get_by_role("button", name="Read the file").click()
    is_sound()
    page.get_by_label("Dates are written").select_option("mdy")
    page.get_by_role("button", name="Check all rows").click()
    page.get_by_text("How the dates of B-2 were worked out").click()
    is_sound()
    page.get_by_role("button", name="Store 2 tickets").click()
    is_sound()
