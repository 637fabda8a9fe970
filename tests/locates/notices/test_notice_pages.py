"""The pages of notices: followed by a button, told in a list, read, chosen how, and the mail on record."""

import pytest
from django.urls import reverse
from django.utils import timezone

from locates.desk.make_notices import make_notices
from locates.desk.reckon_tickets import reckon_job
from locates.desk.save_record import save_record
from locates.models import Follow, Notice, NoticeSetting, OutgoingMail
from tests.factories import (
    CALLED_AT,
    FollowFactory,
    JobFactory,
    JobFollowFactory,
    NoticeFactory,
    OutgoingMailFactory,
    PersonFactory,
    TicketFactory,
    person_in_role,
)

pytestmark = pytest.mark.django_db

NOTICES, SETTINGS = reverse("locates:notices"), reverse("locates:notice-settings")


@pytest.fixture
def page(client, ann):
    """What gives the words of a page as Ann sees it."""
    client.force_login(ann)

    def words(address: str) -> str:
        answer = client.get(address)
        assert answer.status_code == 200
        return " ".join(answer.content.decode().split())

    return words


def test_every_page_asks_for_a_login_and_a_role(client):
    mail = OutgoingMailFactory()
    addresses = [NOTICES, SETTINGS, reverse("locates:mails"), reverse("locates:mail", args=[mail.pk])]
    for address in addresses:
        assert client.get(address).url == f"{reverse('login')}?next={address}"
    client.force_login(PersonFactory())
    for address in addresses:
        assert client.get(address).status_code == 403


def test_who_logs_a_ticket_follows_it_and_may_leave_off_for_good(client, ann, page):
    ticket = TicketFactory.build(job=JobFactory())
    save_record(ticket, by=ann)
    assert Follow.objects.get().ticket == ticket
    client.post(reverse("locates:ticket-follow", args=[ticket.pk]), {"follow": "no"})
    assert not Follow.objects.exists()
    save_record(ticket, by=ann, opened_version=ticket.version)
    assert not Follow.objects.exists()


def test_who_follows_a_ticket_follows_the_one_that_renews_it(ann):
    old = FollowFactory(ticket__number="OLD").ticket
    FollowFactory(ticket__number="OLD")  # of another job
    renewal = TicketFactory.build(job=old.job, previous_number="OLD")
    save_record(renewal, by=ann)
    followers = set(renewal.follows.values_list("person", flat=True))
    assert followers == {ann.pk, old.follows.get().person_id}


@pytest.mark.parametrize("kind", ["job", "ticket"])
def test_a_button_follows_and_leaves_off_and_leads_back(client, ann, page, kind):
    ticket = TicketFactory()
    subject = ticket if kind == "ticket" else ticket.job
    address = reverse(f"locates:{kind}-follow", args=[subject.pk])
    there = reverse("conflicts:job", args=[ticket.job_id])
    for _ in range(2):
        assert client.post(address, {"follow": "yes", "next": there}).url == there
    assert Follow.objects.filter(person=ann, **{kind: subject}).count() == 1
    answer = client.post(address, {"follow": "no", "next": "https://elsewhere.example/"})
    assert answer.url.startswith("/")
    assert not Follow.objects.exists()


def test_the_page_of_a_job_has_the_button(page, ann):
    job = JobFactory()
    there = reverse("conflicts:job", args=[job.pk])
    assert "Follow this job" in page(there)
    JobFollowFactory(person=ann, job=job)
    assert "Leave off following this job" in page(there)


def test_what_is_retired_cannot_be_followed(client, page):
    ticket = TicketFactory(retired_at=timezone.now())
    assert client.post(reverse("locates:ticket-follow", args=[ticket.pk])).status_code == 404


def test_an_empty_list_says_what_would_stand_there(page, ann):
    assert "You follow nothing yet." in page(NOTICES)
    FollowFactory(person=ann)
    assert "Nothing has come to pass yet with what you follow, as far as the records tell." in page(NOTICES)


def test_the_list_has_the_words_of_the_mail_in_the_time_of_the_job(page, expired, mail_server):
    reckon_job(expired.job_id)
    make_notices()
    notice, mail = Notice.objects.get(), OutgoingMail.objects.get()
    shown = page(NOTICES)
    assert notice.words in shown
    assert " ".join(notice.words.split()) in " ".join(mail.body.split())
    assert "Notices (1<span" in shown
    assert "no mail server is set up" not in shown


def test_without_a_mail_server_the_list_says_so(page, settings):
    settings.MAIL_SERVER = None
    assert "no mail server is set up" in page(NOTICES)


def test_unread_ones_come_first_and_are_marked_read_one_by_one_or_all(client, ann, page):
    first, second, third = (NoticeFactory(person=ann, subject=f"Notice {index}") for index in range(3))
    other = NoticeFactory()
    client.post(reverse("locates:notices-read"), {"notice": str(second.pk)})
    assert list(Notice.objects.of(ann.pk)) == [third, first, second]
    client.post(reverse("locates:notices-read"), {"notice": str(other.pk)})
    client.post(reverse("locates:notices-read"), {"notice": "no key"})
    assert Notice.objects.unread(ann.pk).count() == 2
    late = NoticeFactory(person=ann)
    client.post(reverse("locates:notices-read"), {"all_until": str(third.pk)})
    assert list(Notice.objects.unread(ann.pk)) == [late]
    assert Notice.objects.unread(other.person_id).count() == 1


def test_the_choices_are_saved(client, ann, page):
    assert 'value="ann@crosswatch.example"' in page(SETTINGS)
    answer = client.post(
        SETTINGS,
        {
            "email": "ann@home.example",
            "digest_hour": "17",
            "time_zone": "America/Denver",
            "digest_by_mail": "on",
        },
    )
    assert answer.status_code == 302
    setting = NoticeSetting.objects.get()
    assert (setting.digest_hour, setting.time_zone) == (17, "America/Denver")
    assert (setting.alerts_by_mail, setting.digest_by_mail) == (False, True)
    ann.refresh_from_db()
    assert ann.email == "ann@home.example"


@pytest.mark.parametrize(
    ("field", "value"), [("email", "no address"), ("digest_hour", "24"), ("time_zone", "Larkfield/Mill")]
)
def test_a_choice_that_cannot_be_is_refused_and_nothing_is_saved(client, ann, page, field, value):
    answer = client.post(SETTINGS, {"email": "", "digest_hour": "5", "time_zone": ""} | {field: value})
    assert answer.status_code == 200
    assert "Nothing is saved" in answer.content.decode()
    assert not NoticeSetting.objects.exists()
    ann.refresh_from_db()
    assert ann.email == "ann@crosswatch.example"


def test_what_a_person_follows_is_listed_and_left_off_there(client, ann, page):
    mine, other = FollowFactory(person=ann), FollowFactory()
    FollowFactory(person=ann, ticket__retired_at=CALLED_AT)
    shown = page(SETTINGS)
    assert f"Ticket {mine.ticket.number}" in shown
    assert other.ticket.number not in shown
    assert "1 in all" in shown
    for text in (str(other.pk), "x", ""):
        client.post(reverse("locates:leave-off"), {"follow": text})
    assert Follow.objects.count() == 3
    client.post(reverse("locates:leave-off"), {"follow": str(mine.pk)})
    assert not Follow.objects.filter(pk=mine.pk).exists()


def test_each_reads_the_own_mail_and_the_safety_manager_everybodys(client, ann, page):
    mine = OutgoingMailFactory(person=ann, subject="To Ann")
    other = OutgoingMailFactory(subject="To somebody else", body="What was written to somebody else.")
    everybody = f"{reverse('locates:mails')}?whose=everybody"
    assert "To Ann" in page(everybody)
    assert "To somebody else" not in page(everybody)
    assert page(reverse("locates:mail", args=[mine.pk]))
    assert client.get(reverse("locates:mail", args=[other.pk])).status_code == 403
    assert client.post(reverse("locates:mail", args=[other.pk])).status_code == 403
    client.force_login(person_in_role("Safety manager"))
    shown = page(everybody)
    assert "To Ann" in shown
    assert "To somebody else" in shown
    assert "What was written to somebody else." in page(reverse("locates:mail", args=[other.pk]))


def test_a_refused_mail_shows_why_and_is_sent_again_by_a_button(client, ann, page):
    mail = OutgoingMailFactory(person=ann, state="refused", last_error="550 no such box", attempts=1)
    address = reverse("locates:mail", args=[mail.pk])
    assert "550 no such box" in page(address)
    assert client.post(address).url == address
    mail.refresh_from_db()
    assert (mail.state, mail.attempts) == ("waiting", 0)


def test_the_list_costs_as_many_queries_with_many_notices_as_with_one(
    ann, page, django_assert_max_num_queries
):
    counts = []
    for count in (1, 8):
        NoticeFactory.create_batch(count, person=ann)
        with django_assert_max_num_queries(20) as captured:
            page(NOTICES)
        counts.append(len(captured))
    assert counts[0] == counts[1]
