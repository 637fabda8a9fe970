"""The page of a bore's clearance records: asked for, watched, listed, handed out as it was made."""

from hashlib import sha256
from uuid import uuid4

import pytest
from django.urls import reverse

from conflicts.models import RecordMaking
from conflicts.record import make
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


@pytest.fixture
def site(client):
    """A client of somebody logged in."""
    client.force_login(factories.person_in_role("Safety manager"))
    return client


def address(bore, name="clearance-record", *more):
    return reverse(f"conflicts:{name}", args=[bore.pk, *more])


def page(site, bore):
    response = site.get(address(bore), secure=True)
    assert response.status_code == 200
    return response.content.decode()


def ask(site, bore, request_id=None):
    return site.post(address(bore), {"request_id": request_id or uuid4()}, secure=True)


def test_a_page_without_records_says_so_and_writes_nothing(site, bore):
    shown = page(site, bore)
    assert "None yet." in shown
    assert "Make the record now" in shown
    assert not RecordMaking.objects.exists()


def test_one_that_is_asked_for_is_shown_waiting_and_then_to_be_saved(site, bore):
    assert ask(site, bore).status_code == 302
    shown = page(site, bore)
    assert "The record waits for a worker." in shown
    assert "Make the record now" not in shown
    told = site.get(address(bore, "clearance-record-state"), secure=True).json()
    assert told["is_settled"] is False
    assert told["rows_total"] == 4
    row = RecordMaking.objects.get()
    make.run(row.pk)
    assert site.get(address(bore, "clearance-record-state"), secure=True).json()["is_settled"] is True
    row.refresh_from_db()
    shown = page(site, bore)
    assert row.sha256 in shown
    assert address(bore, "clearance-record-file", row.request_id) in shown


def test_the_file_is_handed_out_byte_by_byte_to_be_saved(site, bore):
    ask(site, bore)
    row = RecordMaking.objects.get()
    make.run(row.pk)
    response = site.get(address(bore, "clearance-record-file", row.request_id), secure=True)
    row.refresh_from_db()
    assert sha256(response.content).hexdigest() == row.sha256
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith("attachment; filename=")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in response["Content-Security-Policy"]


def test_the_file_of_another_bore_is_not_found(site, bore):
    ask(site, bore)
    row = RecordMaking.objects.get()
    other = factories.BoreFactory(job=bore.job)
    for wanted in (
        address(other, "clearance-record-file", row.request_id),
        address(bore, "clearance-record-file", uuid4()),
    ):
        assert site.get(wanted, secure=True).status_code == 404
    # Not made yet, so there is no file.
    assert site.get(address(bore, "clearance-record-file", row.request_id), secure=True).status_code == 404


def test_asked_again_it_says_that_nothing_has_changed(site, bore):
    for _ in range(2):
        ask(site, bore)
        make.run(RecordMaking.objects.latest("id").pk)
    assert "says has changed since" in page(site, bore)


def test_a_failure_is_shown_with_its_reason(site, bore):
    factories.RecordMakingFactory(bore=bore, state="given up", failure="The <pages> ran out.")
    shown = page(site, bore)
    assert "No record was made" in shown
    assert "The &lt;pages&gt; ran out." in shown


def test_who_may_only_look_cannot_ask(client, bore):
    nobody = factories.PersonFactory()
    client.force_login(nobody)
    assert client.get(address(bore), secure=True).status_code in (403, 404)
    assert ask(client, bore).status_code in (403, 404)
    assert not RecordMaking.objects.exists()
