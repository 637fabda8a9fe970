"""A broker that is down when a record changes: the change stands, the bore waits, and the sweep finds it."""

import shutil

import pytest
from django.urls import reverse

from conflicts.bell import ring
from conflicts.models import Assessment, Reassessment
from conflicts.reassess import sweep
from tests.page_forms import form_of
from tests.polling import wait_until

DONE_S = 60.0
DEAD_REDIS = "redis://127.0.0.1:1/0"  # nothing listens on the port of tcpmux


@pytest.fixture
def broken_broker(messages):
    """A broker of files whose folder cannot be written: a file lies in its place."""
    messages.rmdir()
    messages.write_text("")
    yield
    messages.unlink()


@pytest.mark.django_db
def test_a_request_does_not_fail_and_the_bore_waits(
    admin_client, bore, broken_broker, django_capture_on_commit_callbacks, caplog
):
    url = reverse("admin:locates_mark_change", args=[bore.job.marks.get().pk])
    values = form_of(admin_client, url) | {"stated_width_m": "0.4"}
    with django_capture_on_commit_callbacks(execute=True):
        assert admin_client.post(url, values).status_code == 302
    assert Reassessment.objects.get(bore=bore).state == "queued"
    assert "The broker cannot be reached" in caplog.text


def test_a_broker_that_breaks_after_it_has_worked_is_no_fault_either(messages, caplog):
    ring([1])
    assert len(list(messages.glob("*.msg"))) == 1
    shutil.rmtree(messages)
    ring([2, 3])
    assert caplog.text.count("The broker cannot be reached") == 1


@pytest.mark.django_db
def test_a_sweep_does_not_fail_either(bore, broken_broker, caplog):
    assert sweep() == 1
    assert "The broker cannot be reached" in caplog.text


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_job_loaded_while_redis_is_down_is_assessed_by_the_sweep(crew, job_file):
    told = crew.manage("load_job", job_file, BROKER_URL=DEAD_REDIS)
    assert told.count("The broker cannot be reached") == 1
    assert [row.state for row in Reassessment.objects.all()] == ["queued", "queued"]
    crew.beat()
    crew.solo_worker()
    wait_until(lambda: Assessment.objects.count() == 2, "both bores are assessed", DONE_S, crew.said)
