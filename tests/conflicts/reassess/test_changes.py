"""What people do: a change in the admin, or another job file in the place of one, queues the bores."""

from io import StringIO

import pytest
from django.contrib.admin.helpers import ACTION_CHECKBOX_NAME
from django.core.management import call_command
from django.urls import reverse

from conflicts.assess import store_assessment, stored_figures
from conflicts.models import Bore, Reassessment
from tests.factories import BoreFactory
from tests.page_forms import form_of
from tests.polling import wait_until

DONE_S = 60.0


def queued() -> set:
    return set(Reassessment.objects.filter(state="queued").values_list("bore", flat=True))


@pytest.mark.django_db
def test_a_change_in_the_admin_queues_every_bore_of_the_job_and_rings(
    admin_client, bore, messages, django_capture_on_commit_callbacks
):
    store_assessment(bore.pk)
    second = BoreFactory(job=bore.job)
    BoreFactory()
    url = reverse("admin:locates_mark_change", args=[bore.job.marks.get().pk])
    values = form_of(admin_client, url) | {"stated_width_m": "0.4"}
    with django_capture_on_commit_callbacks(execute=True):
        assert admin_client.post(url, values).status_code == 302
    assert queued() == {bore.pk, second.pk}
    # At least one each: the admin tells of the job before it writes and after.
    assert len(list(messages.glob("*.msg"))) >= 2
    assert stored_figures(bore) is None


@pytest.mark.django_db
def test_bores_that_were_given_up_are_ticked_in_the_admin_to_be_computed_again(admin_client, bore):
    other = BoreFactory(job=bore.job)
    Reassessment.objects.queue_bores_of_job(bore.job_id)
    Reassessment.objects.update(state="given up", attempts=3, failure="The worker ended.")
    url = reverse("admin:conflicts_reassessment_changelist")
    ticked = {"action": "compute_again", ACTION_CHECKBOX_NAME: Reassessment.objects.get(bore=bore).pk}
    assert admin_client.post(url, ticked).status_code == 302
    assert queued() == {bore.pk}
    assert Reassessment.objects.get(bore=other).state == "given up"


@pytest.mark.django_db
def test_nobody_takes_a_waiting_bore_off_the_list(admin_client, bore):
    Reassessment.objects.queue_bores_of_job(bore.job_id)
    url = reverse("admin:conflicts_reassessment_delete", args=[Reassessment.objects.get().pk])
    assert admin_client.post(url, {"post": "yes"}).status_code == 403
    assert queued() == {bore.pk}


@pytest.mark.django_db
def test_the_admin_shows_what_failed_and_why(admin_client, bore):
    Reassessment.objects.queue_bores_of_job(bore.job_id)
    Reassessment.objects.update(state="refused", failure="Its profile stops short.")
    page = admin_client.get(reverse("admin:conflicts_reassessment_changelist")).content.decode()
    assert "Its profile stops short." in page


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_the_bores_of_a_job_loaded_in_the_place_of_another_are_assessed_by_a_worker(crew, job_file):
    crew.solo_worker()
    for more in ([], ["--replace"]):
        call_command("load_job", str(job_file), *more, stdout=StringIO())
        # The bores that were there are retired with their figures: the new ones wait for theirs.
        wait_until(
            lambda: all(stored_figures(bore) for bore in Bore.objects.all()),
            "both bores have their figures",
            DONE_S,
            crew.said,
        )
        assert Bore.objects.count() == 2
        wait_until(lambda: not Reassessment.objects.exists(), "nothing waits", DONE_S, crew.said)
