"""The site that the tests of the maps visit, and the browser that visits it."""

from collections.abc import Callable, Iterator

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page

from conflicts.assess import store_assessment
from tests.factories import (
    MarkFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    TicketFactory,
    line,
    person_in_role,
    point,
    small_job,
)
from tests.map_visits import MapSite, MapVisit
from tests.screens import hear_complaints, pages_by_role


@pytest.fixture
def opened(browser: Browser, live_server, client) -> Iterator[Callable[..., Page]]:
    """Open a page as somebody in a role; what any of them complains of fails the test."""
    with pages_by_role(browser, live_server.url, client) as open_page:
        yield open_page


@pytest.fixture
def map_site(live_server, client) -> MapSite:
    job = small_job()
    operator = job.operators.get()
    job.test_holes.update(ref="TH-1")
    MarkFactory(
        job=job,
        ref="W-9",
        operator=operator,
        facility_type="potable_water",
        geometry=line((20, -15), (22, 15)),
    )
    MarkFactory(job=job, ref="E-9", operator=operator, facility_type="electric", geometry=point(80, 6))
    TestHoleFactory(
        job=job, ref="TH-2", found=False, depth_to_top_m=None, dug_depth_m=1.8, position=point(35, 2)
    )
    SurfaceFeatureFactory(job=job, ref="SF-2", position=point(65, -4))
    TicketFactory(job=job, number="OLD-1", legal_start_at=None, expires_at=None)
    bore = job.bores.get()
    store_assessment(bore.pk)
    empty = small_job()
    for records in ("marks", "test_holes", "surface_features", "tickets", "linework", "bores"):
        getattr(empty, records).all().delete()
    client.force_login(person_in_role("Foreman"))
    return MapSite(
        live_server.url,
        client.cookies["sessionid"].value,
        reverse("conflicts:job", args=[job.pk]),
        reverse("conflicts:bore", args=[bore.pk]),
        reverse("conflicts:job", args=[empty.pk]),
    )


@pytest.fixture
def map_visit(browser: Browser, map_site: MapSite) -> Iterator[Callable[..., MapVisit]]:
    contexts: list[BrowserContext] = []

    def start(**options) -> MapVisit:
        context = browser.new_context(**options)
        context.add_cookies([{"name": "sessionid", "value": map_site.session, "url": map_site.url}])
        contexts.append(context)
        started = MapVisit(context.new_page())
        hear_complaints(started.page, started.complaints)
        started.page.on("request", lambda request: started.asked.append(request.url))
        return started

    yield start
    for context in contexts:
        for page in context.pages:
            # The map asks for its data by itself: answered before the tables are emptied.
            page.wait_for_load_state("networkidle")
        context.close()
