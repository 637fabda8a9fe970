"""The rows of the audit about a bore that is retired lead to pages that answer."""

import re

import pytest
from django.urls import reverse

from conflicts.audit.parts import SECTIONS
from locates.desk.retire import retire
from tests import factories
from tests.conflicts.audit.signed_stories import (
    bore_with_mark,
    close_out,
    crossing,
    damage,
    release,
    rod,
    sign_variance,
    variance,
    watch,
)

# What a transaction changed counts from its end: how it stood before asks for more than one.
pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

WITH_A_BORE = {"releases", "unwatched", "margins", "excused", "variances", "damage"}


@pytest.fixture
def bore():
    """A bore with a row in each part, and a line that its hole alone meets, whose job is retired since."""
    stored, mark = bore_with_mark(name="North run", job_name="Alder Street")
    rod(stored)
    factories.DrilledAloneCrossingFactory(assessment__bore=stored, mark_ref="SS9")
    release(stored, [crossing("G-1")])
    watch(stored, mark, gap_m=0.25)
    close_out(stored)
    sign_variance(variance(stored, mark))
    damage(stored, mark)
    retire(stored.job, by=factories.PersonFactory())
    return stored


@pytest.fixture
def manager(client):
    client.force_login(factories.person_in_role("Safety manager"))
    return client


def links_of(manager, section):
    page = manager.get("/audit/", {"section": section.code}).content.decode()
    table = page.partition('id="rows"')[2].partition("<tbody>")[2].partition("</tbody>")[0]
    assert table
    return [one.replace("&amp;", "&") for one in re.findall(r'href="([^"]+)"', table)]


def test_each_link_of_a_row_answers_and_the_bore_is_shown_as_it_stood_last(manager, bore):
    past = reverse("conflicts:bore-as-of", args=[bore.pk])
    seen = set()
    for section in SECTIONS:
        if section.code not in WITH_A_BORE:
            continue
        links = links_of(manager, section)
        assert any(one.startswith(past) for one in links), section.code
        if section.code in {"unwatched", "margins"}:
            assert any(one.endswith("#as-drilled") for one in links), section.code
        assert reverse("conflicts:bore", args=[bore.pk]) not in links
        seen |= set(links)
    [last] = {one.partition("#")[0] for one in seen if one.startswith(past)}
    assert {link: manager.get(link).status_code for link in seen} == dict.fromkeys(seen, 200)
    words = manager.get(last).content.decode()
    assert "By now it is retired." in words
    assert "What held then" in words
