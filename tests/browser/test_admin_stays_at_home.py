"""The admin's screens load nothing from elsewhere and break no rule of the content policy."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PAGES = [
    "admin:index",
    "admin:locates_job_changelist",
    "admin:locates_ticket_add",
    "admin:locates_mark_add",
    "admin:conflicts_bore_add",
]


@pytest.fixture
def page(browser, live_server, client):
    """A page of someone who may open every screen, with what it asked for and what it complained of."""
    boss = factories.PersonFactory(is_staff=True, is_superuser=True)
    client.force_login(boss)
    context = browser.new_context()
    context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    opened = context.new_page()
    opened.asked_for, opened.complaints = [], []

    def hear(message):
        if message.type in {"error", "warning"}:
            opened.complaints.append(message.text)

    opened.on("request", lambda request: opened.asked_for.append(request.url))
    opened.on("console", hear)
    opened.on("pageerror", lambda error: opened.complaints.append(str(error)))
    yield opened
    context.close()


def test_every_screen_asks_this_server_alone_and_breaks_no_rule(page, live_server):
    for name in PAGES:
        response = page.goto(live_server.url + reverse(name), wait_until="networkidle")
        assert response.status == 200
        assert "script-src 'self';" in response.headers["content-security-policy"] + ";"
        assert page.complaints == [], name
    assert len(page.asked_for) > 2 * len(PAGES)
    assert all(url.startswith((live_server.url, "data:")) for url in page.asked_for)


def test_a_job_is_found_by_its_name_in_the_form_of_a_mark(page, live_server):
    job = factories.JobFactory(name="Alder Street")
    page.goto(live_server.url + reverse("admin:locates_mark_add"))
    page.click(".field-job .select2-selection")
    page.fill(".select2-search__field", "alder")
    page.click(".select2-results__option >> text=Alder Street")
    assert page.input_value("#id_job") == str(job.pk)
    assert page.complaints == []
