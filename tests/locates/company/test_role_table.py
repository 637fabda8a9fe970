"""The table of roles by actions is what the database grants, and what the pages do."""

import pytest
from django.apps import apps
from django.test import Client
from django.urls import reverse

from locates.role_actions import ACTIONS, permissions_of
from locates.roles import ROLES
from tests.companies import addresses, path_of, populated_company
from tests.factories import PersonFactory, person_in_role

pytestmark = pytest.mark.django_db

OPEN_TO_ANYBODY = {"healthz", "login", "logout", "admin-login", "locates:calendar-feed"}
"""Before any login: the feed has a secret of its own."""
OPEN_WITHOUT_A_ROLE = OPEN_TO_ANYBODY | {"locates:roles"}


@pytest.mark.parametrize("role", ROLES)
def test_the_grants_of_the_migrations_are_the_table(role):
    granted = person_in_role(role).get_all_permissions()
    assert {name for name in granted if ".view_" not in name} == permissions_of(role)


@pytest.mark.parametrize("role", ROLES)
def test_every_role_looks_at_everything_of_its_company(role):
    granted = person_in_role(role).get_all_permissions()
    models = [*apps.get_app_config("locates").get_models(), *apps.get_app_config("conflicts").get_models()]
    views = {f"{model._meta.app_label}.view_{model._meta.model_name}" for model in models}
    assert {name for name in granted if ".view_" in name} == views


def test_no_permission_stands_in_two_rows_and_none_deletes():
    named = [permission for action in ACTIONS for permission in action.permissions]
    assert len(named) == len(set(named))
    assert not [name for name in named if ".delete_" in name]


def test_the_page_shows_every_cell_and_the_own_role():
    client = Client()
    client.force_login(person_in_role("Foreman"))
    words = " ".join(client.get(reverse("locates:roles")).content.decode().split())
    assert "Your role: Foreman." in words
    for action in ACTIONS:
        cells = "".join(
            f'<td data-label="{role}"><span>{"yes" if role in action.roles else "no"}</span></td>'
            for role in ROLES
        )
        row = f'<th scope="row">{action.words.replace(chr(39), "&#x27;")}</th> {cells}'
        assert row in words, action.words


@pytest.mark.parametrize("method", ["get", "post"])
def test_every_page_asks_for_a_login(method):
    company = populated_company()
    opened = {
        address.name
        for address in addresses()
        if not getattr(Client(), method)(path_of(address, company))
        .headers.get("Location", "")
        .startswith(reverse("login"))
    }
    assert opened <= OPEN_TO_ANYBODY


@pytest.mark.parametrize("method", ["get", "post"])
def test_who_has_no_role_in_the_company_opens_no_page(method):
    company = populated_company()
    client = Client()
    client.force_login(PersonFactory(membership__organisation=company.organisation))
    answers = {
        address.name: getattr(client, method)(path_of(address, company)).status_code
        for address in addresses()
        if address.name not in OPEN_WITHOUT_A_ROLE
    }
    # 405 where nothing is only looked at, or nothing sent; 404 for views and files of somebody else.
    assert {name: status for name, status in answers.items() if status not in {403, 404, 405}} == {}
