"""Retiring asks, says what depends on the record, and offers to undo; who may not sees none of it."""

import pytest
from django.urls import reverse

from conflicts.models import Reassessment
from locates.desk.retire import retire
from locates.models import Job, Mark, Retirement, Ticket
from tests.factories import (
    CrossingFactory,
    FacilityOperatorFactory,
    GroundPointFactory,
    LineworkFactory,
    MarkFactory,
    TestHoleFactory,
    person_in_role,
    small_job,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return small_job(name="Alder Street")


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


def words_of(response):
    return " ".join(response.content.decode().split())


def job_page(client, job):
    return words_of(client.get(reverse("conflicts:job", args=[job.pk])))


def test_it_says_what_goes_along_what_names_it_and_what_was_computed(coordinator, job):
    ticket, mark = job.tickets.get(), job.marks.get()
    CrossingFactory(assessment__bore=job.bores.get(), mark=mark)
    page = words_of(coordinator.get(reverse("locates:ticket-retire", args=[ticket.pk])))
    assert "With it go <b>1 response</b>" in page
    assert "1 mark and 1 test hole name it" in page
    page = words_of(coordinator.get(reverse("locates:mark-retire", args=[mark.pk])))
    assert "1 computed crossing rests on it" in page
    assert Ticket.objects.exists()


def test_the_message_can_undo_it_and_the_page_lists_it_until_then(coordinator, job):
    mark = job.marks.get()
    url = reverse("locates:mark-retire", args=[mark.pk])
    page = words_of(coordinator.post(url, {"loose": "keep"}, follow=True))
    token = Retirement.objects.get()
    undo = reverse("locates:restore", args=[token.pk])
    assert f"Retired: Mark {mark}." in page
    assert page.count(undo) == 2
    assert job.test_holes.get().mark is None
    page = words_of(coordinator.post(undo, follow=True))
    assert f"Back again: Mark {mark}." in page
    assert undo not in page
    assert job.test_holes.get().mark == mark
    assert Reassessment.objects.get().wanted == 2


def test_what_names_it_goes_along_if_that_is_chosen(coordinator, job):
    coordinator.post(reverse("locates:mark-retire", args=[job.marks.get().pk]), {"loose": "retire"})
    assert not job.test_holes.exists()
    assert "with 1 surface feature, 1 test hole" in job_page(coordinator, job)


def test_a_record_that_others_cannot_be_without_is_not_retired(coordinator, job):
    url = reverse("locates:operator-retire", args=[job.operators.get().pk])
    page = words_of(coordinator.get(url))
    assert "It cannot be retired while <b>1 mark</b> and <b>1 response</b> name it" in page
    assert "is named by 1 mark, 1 response" in words_of(coordinator.post(url))
    assert job.operators.exists()


def test_bringing_back_is_refused_in_words_while_the_name_is_taken(coordinator, job):
    mark = job.marks.get()
    token = retire(mark, by=person_in_role("Foreman"))
    MarkFactory(job=job, ref=mark.ref)
    page = words_of(coordinator.post(reverse("locates:restore", args=[token.pk]), follow=True))
    assert f"Mark {mark} cannot come back: another record has its place now" in page
    assert Mark.objects.count() == 1


def test_a_job_is_retired_whole_and_brought_back_from_the_list_of_retired_jobs(coordinator, job):
    page = words_of(coordinator.get(reverse("locates:job-retire", args=[job.pk])))
    assert "1 bore" in page
    response = coordinator.post(reverse("locates:job-retire", args=[job.pk]))
    assert response.url == reverse("conflicts:jobs")
    assert coordinator.get(reverse("conflicts:job", args=[job.pk])).status_code == 404
    listed = words_of(coordinator.get(reverse("locates:retired-jobs")))
    assert "Job Alder Street" in listed
    coordinator.post(reverse("locates:restore", args=[Retirement.objects.get().pk]))
    assert Job.objects.get() == job
    assert "No job is retired." in words_of(coordinator.get(reverse("locates:retired-jobs")))


def test_a_record_that_is_retired_already_is_not_there(coordinator, job):
    mark = job.marks.get()
    retire(mark, by=person_in_role("Foreman"))
    assert coordinator.get(reverse("locates:mark-retire", args=[mark.pk])).status_code == 404


def test_every_kind_of_record_can_be_retired(coordinator, job):
    FacilityOperatorFactory(job=job, name="Nobody's")
    records = {
        "response": job.tickets.get().responses.get(),
        "requirement": job.requirements.get(),
        "surface-feature": job.surface_features.get(),
        "test-hole": job.test_holes.get(),
        "ground-point": GroundPointFactory(job=job),
        "linework": LineworkFactory(job=job),
        "operator": job.operators.get(name="Nobody's"),
    }
    for name, record in records.items():
        assert coordinator.post(reverse(f"locates:{name}-retire", args=[record.pk])).status_code == 302
        assert not type(record).objects.filter(pk=record.pk).exists(), name


def test_a_foreman_retires_and_brings_back_what_he_logs_and_nothing_else(client, job):
    client.force_login(person_in_role("Foreman"))
    hole = TestHoleFactory(job=job, ref="H-2")
    assert client.post(reverse("locates:test-hole-retire", args=[hole.pk])).status_code == 302
    own = Retirement.objects.get()
    others = retire(job.tickets.get(), by=person_in_role("Coordinator"))
    page = job_page(client, job)
    assert reverse("locates:restore", args=[own.pk]) in page
    assert reverse("locates:restore", args=[others.pk]) not in page
    assert "not for your role" in page
    assert client.post(reverse("locates:restore", args=[others.pk])).status_code == 403
    assert client.post(reverse("locates:restore", args=[own.pk])).status_code == 302
    for name, record in (("job", job), ("operator", job.operators.get())):
        assert client.get(reverse(f"locates:{name}-retire", args=[record.pk])).status_code == 403
    assert client.get(reverse("locates:retired-jobs")).status_code == 403
