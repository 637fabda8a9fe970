"""A page that finds stored figures to be of older records writes nothing: it tells the workers."""

import pytest
from django.urls import reverse

from conflicts import found_outdated
from conflicts.assess import store_assessment
from conflicts.models import Assessment, Reassessment
from conflicts.reassess import queue_outdated
from tests.factories import person_in_role
from tests.polling import wait_until

DONE_S = 60.0
OLD = "0" * 64


@pytest.fixture
def look(client, bore, django_capture_on_commit_callbacks):
    """A look at pages that show the bore, as requests whose work is committed."""
    client.force_login(person_in_role("Foreman"))
    addresses = [
        reverse("conflicts:bore", args=[bore.pk]),
        reverse("conflicts:bore_state", args=[bore.pk]),
        reverse("conflicts:jobs"),
        reverse("conflicts:job", args=[bore.job_id]),
    ]

    def at_all():
        for address in addresses:
            with django_capture_on_commit_callbacks(execute=True):
                assert client.get(address).status_code == 200

    return at_all


def told(messages):
    return [one.read_text() for one in messages.glob("*.msg")]


def test_the_workers_are_told_once_and_nothing_is_written(look, bore, messages):
    store_assessment(bore.pk)
    Assessment.objects.update(inputs_digest=OLD)
    look()
    [message] = told(messages)
    assert "conflicts.queue_outdated" in message
    assert not Reassessment.objects.exists()


def test_of_current_figures_nobody_is_told(look, bore, messages):
    store_assessment(bore.pk)
    look()
    assert told(messages) == []


def test_a_message_that_was_lost_is_sent_again_by_a_later_look(look, bore, messages, monkeypatch):
    look()
    for one in messages.glob("*.msg"):
        one.unlink()
    look()
    assert told(messages) == []
    monkeypatch.setattr(found_outdated, "TELL_AGAIN_S", 0.0)
    look()
    assert "conflicts.queue_outdated" in told(messages)[0]


@pytest.mark.parametrize("state", ["queued", "running", "refused", "given up"])
def test_of_a_bore_that_waits_or_was_tried_in_vain_nobody_is_told(look, bore, messages, state):
    queue_outdated([bore.pk])
    Reassessment.objects.update(state=state, failure="It was so.")
    look()
    assert told(messages) == []


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_worker_computes_what_a_page_found(crew, client, bore):
    store_assessment(bore.pk)
    Assessment.objects.update(inputs_digest=OLD)
    crew.solo_worker()
    client.force_login(person_in_role("Foreman"))
    page = reverse("conflicts:bore_state", args=[bore.pk])
    assert client.get(page).json() == {"is_settled": False}
    wait_until(lambda: client.get(page).json()["is_settled"], "the bore is computed", DONE_S, crew.said)
    wait_until(lambda: not Reassessment.objects.exists(), "nothing waits", DONE_S, crew.said)
