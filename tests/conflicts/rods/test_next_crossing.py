"""The crossing that a phone shows first: from the entry before anything is drilled, then before the head."""

import pytest
from django.utils import timezone

from conflicts.assess import store_assessment
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """Two lines across, at 12 and at 50 m."""
    bore = factories.small_job().bores.get()
    factories.MarkFactory(job=bore.job, ref="NEAR", geometry=factories.line((12, -15), (12, 15)))
    return bore


@pytest.fixture
def foreman(client, bore):
    client.force_login(factories.person_in_role("Foreman", bore.job.organisation))
    return client


def drilled_to(bore, length_m: float) -> None:
    """Rods of 3 m from the last one to a length."""
    after = bore.drilled_rods.order_by("-number").first()
    while (0 if after is None else after.number) * 3.0 < length_m:
        after = factories.DrilledRodFactory(bore=bore, after=after, logged_at=timezone.now())


def shown(foreman, bore) -> str:
    """The words of the section on the bore's page; empty where it is not there."""
    store_assessment(bore.pk)
    page = " ".join(foreman.get(f"/bores/{bore.pk}/").content.decode().split())
    _before, heading, rest = page.partition('<h2 id="next-crossing">')
    return rest.partition("</section>")[0] if heading else ""


def test_it_is_the_first_that_the_head_has_not_left_behind(foreman, bore):
    undrilled = shown(foreman, bore)
    assert "NEAR" in undrilled
    assert "The first of 2 from the entry, at station 0+39.4 ft" in undrilled
    assert "as planned" not in undrilled
    drilled_to(bore, 9.0)
    begun = shown(foreman, bore)
    assert "The first of 2 ahead of the head at 0+29.5, at station 0+39.4 ft" in begun
    # Its verdict is the plan's; what the head can do there stands on another page.
    assert "as planned" in begun
    assert f'href="/bores/{bore.pk}/ahead/"' in begun
    drilled_to(bore, 15.0)
    past = shown(foreman, bore)
    assert "NEAR" not in past
    assert "The first of 1 ahead of the head at 0+49.2, at station 1+64.0 ft" in past
    assert f"/bores/{bore.pk}/crossings/1/" in past
    drilled_to(bore, 54.0)
    assert shown(foreman, bore) == ""
