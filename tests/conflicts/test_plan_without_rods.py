"""A bore planned by depths has no rods to change by hand: its pages say so, and lead on."""

import json

import pytest
from django.urls import reverse

from tests import factories
from tests.conflicts.test_profile_search_page import bore, page

__all__ = ["bore", "page"]
pytestmark = pytest.mark.django_db

SENTENCE = "so it has no rods: there are no pitches to change by hand, and no rods to compare"
PAGES = ("profile-by-hand", "profile-compare")


def leads_to(answer, name, bore):
    address = reverse(f"conflicts:{name}", args=[bore.pk])
    main = answer.content.decode().split("<main", 1)[1]
    return f'class="button" href="{address}"' in main or f'class="button outlined" href="{address}"' in main


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_a_bore_without_rods_says_what_there_is_to_do_and_leads_there(page, bore, name):
    answer = page(name)
    text = answer.content.decode()
    assert SENTENCE in text
    assert "found &#x27;" not in text
    assert 'role="alert"' not in text
    assert leads_to(answer, "profile-search", bore)
    assert leads_to(answer, "bore-edit", bore)


@pytest.mark.parametrize("name", PAGES)
def test_who_may_not_change_the_bore_is_not_led_to_its_form(client, bore, name):
    client.force_login(factories.person_in_role("Safety manager"))
    answer = client.get(reverse(f"conflicts:{name}", args=[bore.pk]))
    assert not answer.wsgi_request.user.has_perm("conflicts.change_bore")
    assert leads_to(answer, "profile-search", bore)
    assert not leads_to(answer, "bore-edit", bore)


def test_the_figures_say_the_same_in_words(page):
    assert SENTENCE in json.loads(page("profile-figures").content)["error"]


def test_the_page_of_the_search_says_that_the_plan_has_no_rods_to_change(page):
    assert "It is by depths or elevations, so it has no rods to change by hand." in page().content.decode()


@pytest.mark.parametrize("name", PAGES)
def test_an_address_that_is_no_profile_is_still_refused_with_what_was_found(page, name):
    text = page(name, status=400, plan="nonsense").content.decode()
    assert "profiles that can be shown" in text or "profile that can be shown" in text
    assert "nonsense" in text
    assert SENTENCE not in text
