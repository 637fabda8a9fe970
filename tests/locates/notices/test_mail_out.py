"""Mail through a real SMTP server: taken, refused, delayed, sent by two at once, and by one who is killed."""

import re
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.conf import settings as site_settings
from django.db import connection
from django.utils import timezone

from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import reckon_job
from locates.desk.send_mail import LONGEST_WAIT, send_again, send_waiting
from locates.models import Notice, OutgoingMail
from tests.celery_crew import site_environment
from tests.factories import OutgoingMailFactory
from tests.polling import wait_until

pytestmark = pytest.mark.django_db


def due(**values) -> OutgoingMail:
    return OutgoingMailFactory(next_attempt_at=timezone.now(), **values)


def let_time_pass() -> None:
    OutgoingMail.objects.exclude(state="sent").update(next_attempt_at=timezone.now())


def test_an_alert_arrives_in_the_words_of_its_notice(expired, mail_server):
    reckon_job(expired.job_id)
    make_notices()
    assert send_waiting() == 1
    [message] = mail_server.messages()
    notice, mail = Notice.objects.get(), OutgoingMail.objects.get()
    assert message["To"] == "ann@crosswatch.example"
    assert message["From"] == "desk@crosswatch.example"
    assert message["Subject"] == notice.subject == "Ticket T-77: expired (Alder Street)"
    assert message["Message-ID"] == mail.message_id
    assert message["Auto-Submitted"] == "auto-generated"
    body = message.get_content()
    assert notice.words in " ".join(body.split())
    assert f"https://locates.example/tickets/{expired.pk}/" in body
    assert re.search(r"expired \w{3} \w{3} \d+, \d{4}, \d+:\d\d [ap]m E[SD]T", notice.words)
    assert (mail.state, mail.attempts, mail.body.split()) == ("sent", 1, body.split())
    assert mail.sent_at is not None


def test_an_outage_delays_and_loses_nothing(mail_server):
    mails = [due(), due()]
    mail_server.stop()
    assert send_waiting() == 0
    tried = OutgoingMail.objects.get(pk=mails[0].pk)
    assert (tried.state, tried.attempts) == ("waiting", 1)
    assert "refused" in tried.last_error.lower()
    assert tried.next_attempt_at > timezone.now() + timedelta(seconds=50)
    # After a server that is out no other mail is tried in the same run.
    assert OutgoingMail.objects.get(pk=mails[1].pk).attempts == 0
    mail_server.start()
    let_time_pass()
    assert send_waiting() == 2
    assert {message["Message-ID"] for message in mail_server.messages()} == {one.message_id for one in mails}
    assert send_waiting() == 0
    assert not OutgoingMail.objects.exclude(state="sent", last_error="").exists()


def test_the_wait_between_attempts_doubles_up_to_a_bound(mail_server):
    mail = due()
    mail_server.stop()
    waits = []
    for _ in range(7):
        let_time_pass()
        before = timezone.now()
        send_waiting()
        mail.refresh_from_db()
        waits.append(round((mail.next_attempt_at - before).total_seconds() / 60))
    assert waits == [1, 2, 4, 8, 15, 15, 15]
    assert timedelta(minutes=15) == LONGEST_WAIT


def test_a_mail_that_the_server_refuses_for_good_is_kept_with_its_words_and_stops_nobody(mail_server):
    gone = due(to_address="gone@crosswatch.example")
    well = due(to_address="well@crosswatch.example")
    mail_server.answer(gone="550 no such box")
    assert send_waiting() == 1
    gone.refresh_from_db()
    well.refresh_from_db()
    assert (gone.state, gone.last_error, well.state) == ("refused", "550 no such box", "sent")
    let_time_pass()
    assert send_waiting() == 0
    mail_server.answer()
    assert send_again(gone, at=timezone.now())
    assert not send_again(well, at=timezone.now())
    assert send_waiting() == 1
    assert [message["To"] for message in mail_server.messages()] == [
        "well@crosswatch.example",
        "gone@crosswatch.example",
    ]


def test_a_mail_that_the_server_puts_off_is_tried_again(mail_server):
    grey, well = due(to_address="grey@crosswatch.example"), due(to_address="well@crosswatch.example")
    mail_server.answer(grey="451 come again")
    assert send_waiting() == 1
    grey.refresh_from_db()
    well.refresh_from_db()
    assert (grey.state, grey.last_error, well.state) == ("waiting", "451 come again", "sent")
    mail_server.answer()
    let_time_pass()
    assert send_waiting() == 1


@pytest.mark.parametrize("field", ["to_address", "subject"])
def test_words_that_would_begin_another_header_are_refused_and_stop_nobody(mail_server, field):
    due(**{field: "ann@crosswatch.example\nBcc: bob@crosswatch.example"})
    well = due()
    assert send_waiting() == 1
    bad = OutgoingMail.objects.exclude(pk=well.pk).get()
    assert bad.state == "refused"
    assert "Bcc" in bad.last_error or "newline" in bad.last_error
    assert [message["To"] for message in mail_server.messages()] == [well.to_address]


def test_nothing_is_sent_where_there_is_no_server(settings):
    settings.MAIL_SERVER = None
    mail = due()
    assert send_waiting() == 0
    mail.refresh_from_db()
    assert (mail.state, mail.attempts) == ("waiting", 0)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_two_who_send_at_once_send_each_mail_once(mail_server):
    mails = [due() for _ in range(12)]

    def run(_: int) -> int:
        try:
            return send_waiting()
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        assert sum(pool.map(run, range(2))) == 12
    sent = [message["Message-ID"] for message in mail_server.messages()]
    assert sorted(sent) == sorted(mail.message_id for mail in mails)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_who_is_killed_after_the_server_has_the_mail_sends_it_again_under_the_same_id(mail_server):
    mail = due()
    mail_server.hang_after_the_message(hangs=True)
    words = "from locates.desk.send_mail import send_waiting; send_waiting()"
    sender = subprocess.Popen(
        [sys.executable, site_settings.BASE_DIR / "manage.py", "shell", "-c", words],
        env=site_environment() | {"EMAIL_URL": mail_server.url, "MAIL_FROM": "desk@crosswatch.example"},
    )
    try:
        wait_until(mail_server.messages, "the server has the mail", 60)
    finally:
        sender.send_signal(signal.SIGKILL)
        sender.wait()
    mail.refresh_from_db()
    assert (mail.state, mail.attempts) == ("waiting", 0)
    mail_server.hang_after_the_message(hangs=False)
    wait_until(lambda: send_waiting() == 1, "the lock of the dead one is gone, and the mail is sent", 30)
    first, second = mail_server.messages()
    assert first["Message-ID"] == second["Message-ID"] == mail.message_id
