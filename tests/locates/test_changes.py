"""Word that a job's records have changed reaches whoever asked for it."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import transaction
from django.utils import timezone

from locates import changes
from locates.models import Job
from tests import factories


@pytest.fixture
def heard(monkeypatch):
    """Ids that a handler of this test has heard; the handlers of the site stay out of it."""
    ids = []
    monkeypatch.setattr(changes, "_handlers", [])
    changes.on_job_changed(ids.append)
    return ids


@pytest.mark.django_db
def test_every_handler_hears_of_every_change(heard):
    others = []
    changes.on_job_changed(others.append)
    first, second = factories.JobFactory(), factories.JobFactory()
    changes.job_changed(first.pk)
    changes.job_changed(second.pk)
    assert heard == others == [first.pk, second.pk]


@pytest.mark.django_db
def test_a_handler_that_registers_twice_hears_once(heard):
    append = heard.append
    changes.on_job_changed(append)
    changes.on_job_changed(append)
    job_id = uuid4()
    changes.job_changed(job_id)
    assert heard == [job_id]


@pytest.mark.django_db
def test_the_job_keeps_the_moment_of_its_last_change(heard):
    job = factories.JobFactory()
    long_ago = timezone.now() - timedelta(days=30)
    Job.objects.filter(pk=job.pk).update(changed_at=long_ago)
    changes.job_changed(job.pk)
    job.refresh_from_db()
    assert job.changed_at > long_ago + timedelta(days=29)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_handler_is_called_inside_the_transaction_of_the_change(monkeypatch):
    job = factories.JobFactory()
    done = []

    def queue_on_commit(job_id):
        transaction.on_commit(lambda: done.append(job_id))

    def change_and_fail():
        with transaction.atomic():
            changes.job_changed(job.pk)
            raise LookupError

    monkeypatch.setattr(changes, "_handlers", [queue_on_commit])
    with pytest.raises(LookupError):
        change_and_fail()
    assert done == []
    with transaction.atomic():
        changes.job_changed(job.pk)
        assert done == []
    assert done == [job.pk]
