"""The records that were made of a bore stay to be read when it is retired; no new one is made of it."""

from uuid import uuid4

import pytest
from django.urls import reverse

from conflicts.models import RecordMaking
from conflicts.record import make
from conflicts.record.ask import ask_for_record
from locates.desk.retire import retire
from locates.errors import RetiredMeanwhileError
from tests import factories
from tests.factories import person_in_role

pytestmark = pytest.mark.django_db

ROLES = ("Coordinator", "Foreman", "Safety manager")


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


@pytest.fixture
def made(bore):
    """A record that was made of the bore, whose job is retired since."""
    row = ask_for_record(bore, uuid4(), by=factories.PersonFactory())
    make.run(row.pk)
    retire(bore.job, by=factories.PersonFactory())
    row.refresh_from_db()
    return row


def address(bore, name="clearance-record", *more):
    return reverse(f"conflicts:{name}", args=[bore.pk, *more])


def shown(client, where):
    response = client.get(where, secure=True)
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


@pytest.mark.parametrize("role", ROLES)
def test_whoever_may_see_records_lists_and_saves_them(client, bore, made, role):
    client.force_login(person_in_role(role))
    words = shown(client, address(bore))
    assert f"{bore.name} was retired" in words
    assert "no new record is made of it" in words
    file = address(bore, "clearance-record-file", made.request_id)
    assert file in words
    assert client.get(file, secure=True).content == bytes(made.content)
    assert 'method="post" action="/bores/' not in words
    assert reverse("conflicts:bore", args=[bore.pk]) + '"' not in words
    assert client.get(address(bore, "clearance-record-state"), secure=True).json()["is_settled"] is True


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_how_it_stood_last_is_led_to_and_leads_back(client, bore, made):
    client.force_login(person_in_role("Foreman"))
    [past] = {
        part.partition('"')[0]
        for part in shown(client, address(bore)).split('href="')
        if "as-of" in part[:80]
    }
    words = shown(client, past)
    assert "By now it is retired." in words
    assert "What held then" in words
    assert address(bore) in words
    assert reverse("conflicts:job", args=[bore.job_id]) + '"' not in words


def test_a_new_one_is_refused_in_words_and_not_asked_for(client, bore, made):
    client.force_login(person_in_role("Safety manager"))
    response = client.post(address(bore), {"request_id": str(uuid4())}, secure=True)
    assert response.status_code == 409
    assert f"Bore {bore.name} is retired" in response.content.decode()
    assert list(RecordMaking.objects.all()) == [made]
    with pytest.raises(RetiredMeanwhileError):
        ask_for_record(bore, uuid4(), by=factories.PersonFactory())


def test_another_company_does_not_see_them(client, bore, made):
    client.force_login(person_in_role("Safety manager", organisation=factories.OrganisationFactory()))
    for where in (
        address(bore),
        address(bore, "clearance-record-state"),
        address(bore, "clearance-record-file", made.request_id),
    ):
        assert client.get(where, secure=True).status_code == 404
    assert client.post(address(bore), secure=True).status_code == 404
