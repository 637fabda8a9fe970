"""What a person states of two ends goes before what their places say, and can be changed and retired."""

import pytest
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.models import RouteJoint
from tests.factories import BoreFactory, RouteJointFactory, line, person_in_role, small_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator"))
    return client


@pytest.fixture
def bores():
    """Two bores of 100 m, the second 5 m beyond the first."""
    job = small_job()
    first = job.bores.get()
    second = BoreFactory(job=job, name="Farther on", alignment=line((105, 0), (205, 0)))
    for bore in (first, second):
        store_assessment(bore.pk)
    return first, second


def words_of(client, job) -> str:
    response = client.get(reverse("conflicts:job", args=[job.pk]))
    return " ".join(response.content.decode().split())


def sent(first, second, how, **more):
    return {
        "first_bore": first.pk,
        "first_end": "exit",
        "second_bore": second.pk,
        "second_end": "entry",
        "how": how,
        "note": "",
        **more,
    }


def test_a_gap_is_joined_by_whoever_states_it_and_its_length_stays_in_sight(coordinator, bores):
    first, second = bores
    page = words_of(coordinator, first.job)
    assert f"A gap of 16 ft 4 7/8 in between the exit of {first.name} and the entry of Farther on." in page
    address = reverse("conflicts:joint-add", args=[first.job_id])
    form = coordinator.get(address, {"first": f"{first.name}:exit", "second": "Farther on:entry"})
    assert form.context["form"]["first_bore"].initial == first.pk
    coordinator.post(address, sent(first, second, "trench", note="Permit 12."))
    page = words_of(coordinator, first.job)
    assert "Joined through an open trench, as somebody stated:" in page
    assert "lie 16 ft 4 7/8 in apart. Permit 12." in page
    assert "One line from end to end: 672 ft 6 7/8 in." in page
    assert "A gap of" not in page


def test_an_end_is_stated_to_be_joined_once(coordinator, bores):
    first, second = bores
    third = BoreFactory(job=first.job, name="Third")
    address = reverse("conflicts:joint-add", args=[first.job_id])
    coordinator.post(address, sent(first, second, "box"))
    refused = coordinator.post(address, sent(first, third, "box"))
    assert "This end is stated to be joined already" in refused.content.decode()
    turned = sent(second, first, "apart") | {"first_end": "entry", "second_end": "exit"}
    refused = coordinator.post(address, turned)
    assert "two ends of which nothing is stated yet" in refused.content.decode()
    assert RouteJoint.objects.count() == 1
    # That it does not go on with a third bore may be said all the same.
    coordinator.post(address, sent(first, third, "apart"))
    assert RouteJoint.objects.count() == 2


def test_a_bore_is_not_joined_to_itself_or_to_one_of_another_job(coordinator, bores):
    first, _ = bores
    address = reverse("conflicts:joint-add", args=[first.job_id])
    for other in (first, BoreFactory()):
        assert coordinator.post(address, sent(first, other, "pit")).status_code == 200
    assert not RouteJoint.objects.exists()


def test_what_was_stated_goes_with_its_bore_and_leaves_the_places_to_speak(coordinator, bores):
    first, second = bores
    joint = RouteJointFactory(job=first.job, first_bore=first, second_bore=second)
    assert "Joined through an open trench" in words_of(coordinator, first.job)
    coordinator.post(reverse("conflicts:joint-retire", args=[joint.pk]))
    assert "A gap of 16 ft 4 7/8 in" in words_of(coordinator, first.job)
    RouteJointFactory(job=first.job, first_bore=first, second_bore=second)
    coordinator.post(reverse("conflicts:bore-retire", args=[second.pk]))
    assert not RouteJoint.objects.exists()


def test_two_editors_of_a_joint_are_told_of_each_other(coordinator, bores):
    first, second = bores
    joint = RouteJointFactory(job=first.job, first_bore=first, second_bore=second)
    address = reverse("conflicts:joint-edit", args=[joint.pk])
    form = coordinator.get(address).context["form"]
    hidden = {name: form.initial[name] for name in ("version", "opened_with")}
    joint.how = "box"
    joint.save()
    page = coordinator.post(address, sent(first, second, "pit", **hidden)).content.decode()
    assert "has changed this meanwhile" in page
    joint.refresh_from_db()
    assert joint.how == "box"


def test_only_the_coordinator_states_how_bores_go_on(client, bores):
    first, _ = bores
    client.force_login(person_in_role("Foreman"))
    assert "State how they go on" not in words_of(client, first.job)
    assert client.get(reverse("conflicts:joint-add", args=[first.job_id])).status_code == 403
