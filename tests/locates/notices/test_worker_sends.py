"""From an expired ticket to the mail in somebody's box, through a real worker and a real server."""

import pytest

from config.celery import app
from locates.desk.reckon_tickets import reckon_job
from locates.models import Notice, OutgoingMail
from locates.tasks import MAKE_NOTICES_TASK, SEND_MAIL_TASK
from tests.celery_crew import crew_in
from tests.polling import wait_until


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_worker_tells_mails_and_sends_once_what_an_outage_had_delayed(expired, mail_server, tmp_path):
    reckon_job(expired.job_id)
    mail_server.stop()
    mail = {"EMAIL_URL": mail_server.url, "MAIL_FROM": "desk@crosswatch.example"}
    with crew_in(tmp_path, **mail) as crew:
        crew.solo_worker()
        for _ in range(2):
            app.send_task(MAKE_NOTICES_TASK)
        wait_until(
            lambda: OutgoingMail.objects.filter(kind="alert", attempts__gte=1).exists(),
            "the mail was tried in vain",
            60,
            crew.said,
        )
        mail_server.start()
        # What waits for a later attempt is due now.
        OutgoingMail.objects.update(next_attempt_at="2026-01-01T00:00Z")
        for _ in range(2):
            app.send_task(SEND_MAIL_TASK)
        wait_until(
            lambda: OutgoingMail.objects.filter(kind="alert", state="sent").exists(),
            "the mail is sent",
            60,
            crew.said,
        )
    alerts = [message for message in mail_server.messages() if "T-77" in message["Subject"]]
    assert [message["Subject"] for message in alerts] == ["Ticket T-77: expired (Alder Street)"]
    assert Notice.objects.count() == 1


def test_beat_calls_for_notices_and_mail():
    called = {entry["task"]: entry["schedule"] for entry in app.conf.beat_schedule.values()}
    assert called[MAKE_NOTICES_TASK] <= 60
    assert called[SEND_MAIL_TASK] <= 60
