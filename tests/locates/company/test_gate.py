"""Nobody opens what is another company's, by any address and in any way."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from locates.company_gate import OF_NO_COMPANY, SUBJECTS, subject_of
from tests.companies import Company, addresses, path_of, populated_company
from tests.factories import PersonFactory, person_in_role

pytestmark = pytest.mark.django_db


@pytest.fixture
def theirs() -> Company:
    return populated_company()


def client_of(person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def strangers() -> dict[str, Client]:
    """People whose company it is not: one who may do everything at home, and two who belong nowhere."""
    may_all = person_in_role("Coordinator")
    may_all.groups.add(
        *person_in_role("Safety manager").groups.all(), *person_in_role("Foreman").groups.all()
    )
    return {
        "of another company": client_of(may_all),
        "a superuser of another company": client_of(PersonFactory(is_superuser=True, is_staff=True)),
        "a superuser of no company": client_of(
            PersonFactory(is_superuser=True, is_staff=True, membership=None)
        ),
        "a coordinator of no company": client_of(person_in_role("Coordinator", membership=None)),
    }


def test_the_gate_knows_every_part_of_every_address():
    unknown = {
        (address.name, part)
        for address in addresses()
        for part in address.parts
        if part not in OF_NO_COMPANY and subject_of(part, address.route) is None
    }
    assert unknown == set()


def test_no_part_is_both_a_company_s_and_nobody_s_and_none_is_known_in_vain():
    parts = {part for address in addresses() for part in address.parts}
    assert not set(SUBJECTS) & set(OF_NO_COMPANY)
    assert set(OF_NO_COMPANY) <= parts
    routes = {(part, address.route.partition("/")[0]) for address in addresses() for part in address.parts}
    assert set(SUBJECTS) <= parts | {f"{begin}/{part}" for part, begin in routes}


def test_every_address_of_another_company_s_records_answers_as_if_it_were_not_there(theirs):
    opened = [
        f"{who}: {method} {address.name}: {answer}"
        for who, client in strangers().items()
        for address in addresses()
        if address.of_a_company
        for method in ("get", "post", "head")
        if (answer := getattr(client, method)(path_of(address, theirs)).status_code) != 404
    ]
    assert opened == []


def test_the_same_addresses_are_there_for_the_company_s_own_people(theirs):
    """So that what is refused above is refused for whose it is, and not for how it was asked."""
    clients = [client_of(person) for person in theirs.people.values()]
    not_there = [
        address.name
        for address in addresses()
        if address.of_a_company
        and all(
            client.get(path_of(address, theirs)).status_code == 404
            # Where something is only sent.
            and client.post(path_of(address, theirs)).status_code == 404
            for client in clients
        )
    ]

    assert not_there == []


def test_an_unknown_part_opens_to_nobody(theirs, monkeypatch):
    client = client_of(theirs.people["Coordinator"])
    address = reverse("conflicts:job", args=[theirs.job.pk])
    assert client.get(address).status_code == 200
    monkeypatch.delitem(SUBJECTS, "job_id")
    assert client.get(address).status_code == 404


def test_the_gate_asks_one_query_for_one_part_of_an_address(theirs):
    client = client_of(theirs.people["Foreman"])
    bore = theirs.job.bores.get()
    with CaptureQueriesContext(connection) as asked:
        client.get(reverse("conflicts:bore_state", args=[bore.pk]))
    assert len([one for one in asked if "_membership" in one["sql"]]) == 1
