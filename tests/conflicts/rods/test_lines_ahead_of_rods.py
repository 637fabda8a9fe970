"""Lines ahead on the page of the rods: what lies in store for the head, before the plan's verdict."""

import pytest
from django.utils import timezone

from conflicts.look_ahead import look_ahead_of
from tests import factories
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def drilled(bore, depth_m, count):
    """The rods of a head that goes on level at one depth."""
    after = None
    for _ in range(count):
        after = factories.DrilledRodFactory(bore=bore, after=after, depth_m=depth_m)


def ahead(foreman, bore) -> list[str]:
    """Of each line ahead what the page of the rods says of it."""
    page = " ".join(foreman.get(f"/bores/{bore.pk}/rods/").content.decode().split())
    _before, _heading, lines = page.partition('<h2 id="lines">')
    return [row for row in lines.partition("</table>")[0].split("<tr>") if "data-label" in row]


def test_before_the_first_rod_the_plan_alone_is_told(foreman, bore):
    [row] = ahead(foreman, bore)
    assert "ahead, as planned clear" in row


@pytest.mark.parametrize(
    ("depth_m", "prospect", "is_stopped"),
    [(1.0, "No clear depth in reach", True), (1.9, "Passed at this pitch", False)],
)
def test_after_rods_what_lies_in_store_for_the_head_stands_before_the_plan(
    foreman, bore, depth_m, prospect, is_stopped
):
    drilled(bore, depth_m, 15)
    [told] = look_ahead_of(bore, timezone.now()).rows
    assert told.prospect == prospect
    [row] = ahead(foreman, bore)
    assert f"{prospect}<small>as planned: clear</small>" in row
    assert ("#sign-holds" in row) == is_stopped
