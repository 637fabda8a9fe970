"""Every form, and the states that a page seldom has, on a phone at night: they fit, and axe is content."""

import re
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import get_resolver, reverse
from playwright.sync_api import Page, expect

from conflicts.assess import store_assessment
from conflicts.models import Bore, Reassessment
from conflicts.reassess import queue_outdated
from locates.models import Job
from tests.factories import (
    BoreFactory,
    ClearanceRequirementFactory,
    GroundPointFactory,
    LineworkFactory,
    PitFactory,
    ResponsePaperFactory,
    RouteJointFactory,
    SurfaceFeatureFactory,
    TextReaderFactory,
    person_in_role,
    small_job,
)
from tests.screens import PHONE

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# The last word of an address at which something is entered, changed, retired or signed off.
FORM_WORDS = ("add/", "edit/", "retire/", "sign-off/")
# Retired by a button on its own page, which answers to nothing but the button.
BUTTONS = ("centre-day-retire",)
# By day and at a desk the forms are opened one by one beside what is done in them.
PHONE_AT_NIGHT = {"viewport": PHONE, "has_touch": True, "color_scheme": "dark"}


@pytest.fixture
def records() -> dict[str, Any]:
    """One record of each kind, by the word for it in the names of addresses."""
    job = small_job()
    bore = job.bores.get()
    store_assessment(bore.pk)
    ticket = job.tickets.get()
    response = ticket.responses.get()
    return {
        "job": job,
        "bore": bore,
        "pit": bore.pits.first() or PitFactory(bore=bore),
        "joint": RouteJointFactory(job=job, first_bore=bore),
        "operator": job.operators.get(),
        "requirement": ClearanceRequirementFactory(job=job, facility_type="sewer_drain"),
        "ticket": ticket,
        "response": response,
        "response-paper": ResponsePaperFactory(response=response),
        "mark": job.marks.get(),
        "test-hole": job.test_holes.get(),
        "surface-feature": SurfaceFeatureFactory(job=job),
        "ground-point": GroundPointFactory(job=job),
        "linework": LineworkFactory(job=job),
        "text-reader": TextReaderFactory(organisation=job.organisation),
    }


def form_addresses(records: dict[str, Any]) -> list[str]:
    """Every form's address, each with the record that it is about."""
    found = []
    for space in ("locates", "conflicts"):
        _, resolver = get_resolver().namespace_dict[space]
        for name in filter(lambda key: isinstance(key, str), resolver.reverse_dict):
            for [(path, parameters)], *_ in resolver.reverse_dict.getlist(name):
                if not path.endswith(FORM_WORDS) or name in BUTTONS:
                    continue
                # "record" is what the address's own name says; the others name theirs.
                kinds = [parameter.removesuffix("_id") for parameter in parameters]
                keys = [records[kind_of(kind, name)].pk for kind in kinds]
                found.append(reverse(f"{space}:{name}", args=keys))
    return found


def kind_of(parameter: str, name: str) -> str:
    """The kind of record that a parameter of a form's address names."""
    if parameter == "record":
        return re.sub("-(edit|retire|sign-off)$", "", name)
    return "text-reader" if parameter == "reader" else parameter


def looks_right(page: Page) -> None:
    """Nothing lies beside the screen, and axe finds nothing."""
    page.wait_for_load_state("networkidle")
    wider_by_px = page.evaluate("() => document.documentElement.scrollWidth - innerWidth")
    assert wider_by_px <= 0, page.url
    found = Axe().run(page)
    assert found.response["passes"], page.url
    assert found.response["violations"] == [], f"{page.url}: {found.generate_report()}"


def test_every_form_fits_and_axe_is_content(opened, records, live_server):
    addresses = form_addresses(records)
    # Of a dozen kinds of record nearly each can be added, changed and retired.
    assert len(addresses) > 30
    # The policy forbids the script that axe is; it is lifted here alone.
    page = opened("Coordinator", "/", bypass_csp=True, **PHONE_AT_NIGHT)
    for address in addresses:
        assert page.goto(live_server.url + address).status == 200, address
        expect(page.locator("h1")).to_have_count(1)
        looks_right(page)


def test_the_states_that_a_page_seldom_has_fit_and_axe_is_content(opened, records, live_server):
    job, mark = records["job"], records["mark"]
    job_page = live_server.url + reverse("conflicts:job", args=[job.pk])
    page = opened(
        "Coordinator", reverse("locates:mark-edit", args=[mark.pk]), bypass_csp=True, **PHONE_AT_NIGHT
    )

    # Somebody else saves the same record first.
    mark.located_by = "R. Pell, pipe locator"
    mark.save()
    page.get_by_label("Located by").fill("by eye")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("has changed this meanwhile")).to_be_visible()
    looks_right(page)

    # A form that is refused.
    page.goto(live_server.url + reverse("locates:job-edit", args=[job.pk]))
    page.get_by_label("Tolerance zone").fill("2")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_be_visible()
    looks_right(page)

    # A record that was retired, with the way back.
    page.goto(
        live_server.url + reverse("locates:surface-feature-retire", args=[records["surface-feature"].pk])
    )
    page.get_by_role("button", name="Retire", exact=True).click()
    expect(page.get_by_role("button", name="Undo")).to_be_visible()
    looks_right(page)

    # A bore that cannot be computed.
    refused = BoreFactory(job=job)
    queue_outdated([refused.pk])
    Reassessment.objects.get(bore=refused).refuse("The ground of the bore runs backwards")
    page.goto(live_server.url + reverse("conflicts:bore", args=[refused.pk]))
    expect(page.get_by_text("The ground of the bore runs backwards")).to_be_visible()
    looks_right(page)

    # A job with nothing in it, which says what to enter first.
    for kind in ("bores", "tickets", "marks", "test_holes", "surface_features", "operators", "linework"):
        getattr(job, kind).all().delete()
    page.goto(job_page)
    looks_right(page)
    Bore.objects.all().delete()
    Job.objects.all().delete()
    page.goto(live_server.url + reverse("conflicts:jobs"))
    looks_right(page)


def test_who_may_not_is_told_so_on_a_page_that_fits(browser, live_server, client, records):
    client.force_login(person_in_role("Safety manager"))
    # A context of its own: Chromium writes a line for the status 403 itself, which is right here.
    context = browser.new_context(bypass_csp=True, **PHONE_AT_NIGHT)
    session = client.cookies["sessionid"].value
    context.add_cookies([{"name": "sessionid", "value": session, "url": live_server.url}])
    page = context.new_page()
    answer = page.goto(live_server.url + reverse("locates:mark-edit", args=[records["mark"].pk]))
    assert answer.status == 403
    looks_right(page)
    context.close()
