"""Two people edit one record: the second is told and sees both values, and nobody loses a word."""

import pytest
from django.test import Client
from django.urls import reverse

from locates.desk.retire import retire
from locates.models import Ticket
from tests.factories import TicketFactory, person_in_role
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def ruth():
    return person_in_role("Coordinator", username="ruth")


@pytest.fixture
def me(client):
    client.force_login(person_in_role("Coordinator", username="sam"))
    return client


@pytest.fixture
def ticket():
    return TicketFactory(number="T1", previous_number="", override_reason="")


def address(ticket):
    return reverse("locates:ticket-edit", args=[ticket.pk])


def saved_by(person, ticket, **values):
    """Another person opens the form and saves it."""
    other = Client()
    other.force_login(person)
    assert other.post(address(ticket), form_of(other, address(ticket)) | values).status_code == 302


def words_of(response):
    return " ".join(response.content.decode().split())


def resent(client, url, response, **values):
    """What the browser would send from the page that came back."""

    class Shown:
        def get(self, _):
            return response

    return client.post(url, form_of(Shown(), url) | values)


def test_the_second_is_told_who_changed_it_and_shown_both_values(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"expires_at": "2026-12-01T07:00", "override_reason": "Mine."}
    saved_by(ruth, ticket, expires_at="2026-12-02T07:00")
    response = me.post(address(ticket), mine)
    page = words_of(response)
    assert response.status_code == 200
    assert "ruth has changed this meanwhile" in page
    assert "Mine, as above: <b>2026-12-01 07:00</b>" in page
    assert "Theirs: <b>2026-12-02 07:00</b>" in page
    assert 'value="2026-12-01T07:00"' in page
    assert "Mine." in page
    assert Ticket.objects.get().override_reason == ""


@pytest.mark.parametrize(("choice", "day"), [("mine", 1), ("theirs", 2)])
def test_the_second_chooses_field_by_field_and_saves_on_the_new_version(me, ruth, ticket, choice, day):
    mine = form_of(me, address(ticket)) | {"expires_at": "2026-12-01T07:00", "override_reason": "Mine."}
    saved_by(ruth, ticket, expires_at="2026-12-02T07:00")
    told = me.post(address(ticket), mine)
    response = resent(me, address(ticket), told, clash="expires_at", **{"settle-expires_at": choice})
    assert response.status_code == 302
    now = Ticket.objects.get()
    assert now.expires_at.day == day
    assert (now.override_reason, now.version) == ("Mine.", 3)


def test_until_the_choice_is_made_nothing_is_saved_and_both_stay_in_sight(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"expires_at": "2026-12-01T07:00"}
    saved_by(ruth, ticket, expires_at="2026-12-02T07:00")
    told = me.post(address(ticket), mine)
    response = resent(me, address(ticket), told, clash="expires_at")
    page = words_of(response)
    assert "Choose whose value to keep: yours or theirs." in page
    assert "Theirs: <b>2026-12-02 07:00</b>" in page
    assert 'value="2026-12-01T07:00"' in page
    assert Ticket.objects.get().version == 2


def test_what_only_the_other_changed_is_taken_and_told(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"override_reason": "Mine."}
    saved_by(ruth, ticket, previous_number="T0")
    told = me.post(address(ticket), mine)
    page = words_of(told)
    assert "was nothing, now <b>T0</b>" in page
    assert 'name="settle-' not in page
    assert resent(me, address(ticket), told).status_code == 302
    now = Ticket.objects.get()
    assert (now.previous_number, now.override_reason) == ("T0", "Mine.")


def test_a_choice_is_shown_in_its_own_words(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"ticket_kind": "renewal"}
    saved_by(ruth, ticket, ticket_kind="re_mark")
    assert "Theirs: <b>re-mark</b>" in words_of(me.post(address(ticket), mine))


def test_where_the_other_changed_nothing_that_the_form_shows_it_is_saved(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"override_reason": "Mine."}
    saved_by(ruth, ticket)
    assert me.post(address(ticket), mine).status_code == 302
    assert Ticket.objects.get().override_reason == "Mine."


def test_a_third_change_while_choosing_is_told_again(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"expires_at": "2026-12-01T07:00"}
    saved_by(ruth, ticket, expires_at="2026-12-02T07:00")
    told = me.post(address(ticket), mine)
    saved_by(ruth, ticket, expires_at="2026-12-03T07:00")
    again = resent(me, address(ticket), told, clash="expires_at", **{"settle-expires_at": "mine"})
    assert "Theirs: <b>2026-12-03 07:00</b>" in words_of(again)
    assert Ticket.objects.get().version == 3


def test_a_record_retired_while_somebody_types_keeps_the_words_on_the_page(me, ruth, ticket):
    mine = form_of(me, address(ticket)) | {"override_reason": "Mine."}
    retire(ticket, by=ruth)
    page = words_of(me.post(address(ticket), mine))
    assert "Ticket T1 (routine) is retired; bring it back first." in page
    assert "Mine." in page
    assert me.get(address(ticket)).status_code == 404


def test_a_job_retired_while_somebody_types_keeps_the_words_on_the_page(me, ruth, ticket):
    url = reverse("locates:operator-edit", args=[ticket.job.operators.create(name="Tallow Gas").pk])
    mine = form_of(me, url) | {"contact": "Mine."}
    retire(ticket.job, by=ruth)
    page = words_of(me.post(url, mine))
    assert "is retired; bring it back first" in page
    assert "Mine." in page


@pytest.mark.parametrize("sent", ["[" * 100_000, "not JSON", '{"a": NaN}', "[]"])
def test_a_hidden_field_that_somebody_spoiled_is_no_fault_of_the_page(me, ruth, ticket, sent):
    mine = form_of(me, address(ticket)) | {"override_reason": "Mine.", "opened_with": sent}
    saved_by(ruth, ticket, previous_number="T0")
    assert me.post(address(ticket), mine).status_code in (200, 302)
