"""Who was told what: everybody's notices, for those who may read every mail."""

import csv
import io
from datetime import UTC, datetime

import pytest
from django.urls import reverse

from locates.desk import told_sheet
from locates.models import Notice
from tests.factories import NoticeFactory, OutgoingMailFactory, PersonFactory, person_in_role

pytestmark = pytest.mark.django_db

TOLD, FILE, NOTICES = (
    reverse(f"locates:{name}") for name in ("notices-told", "notices-told-file", "notices")
)


@pytest.fixture
def show(client):
    """What gives the words of a page as the safety manager sees it."""
    client.force_login(person_in_role("Safety manager"))

    def words(query: str = "", status: int = 200) -> str:
        answer = client.get(f"{TOLD}{query}")
        assert answer.status_code == status
        return " ".join(answer.content.decode().split())

    return words


def told_at(moment: datetime, *, words="A ticket has expired: stop digging.", **values) -> Notice:
    # Once it has its words, nothing of it is written over.
    notice = NoticeFactory(words="", **values)
    Notice.objects.filter(pk=notice.pk).update(made_at=moment, words=words)
    return notice


def rows_of(answer) -> list[dict[str, str]]:
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(answer.content.decode(), newline="")))


def test_only_who_may_read_every_mail_sees_it_and_the_way_to_it(client):
    for address in (TOLD, FILE):
        assert client.get(address).url == f"{reverse('login')}?next={address}"
    for person in (PersonFactory(), person_in_role("Foreman"), person_in_role("Coordinator")):
        client.force_login(person)
        assert [client.get(address).status_code for address in (TOLD, FILE)] == [403, 403]
    assert TOLD not in client.get(NOTICES).content.decode()
    client.force_login(person_in_role("Safety manager"))
    assert TOLD in client.get(NOTICES).content.decode()


def test_everybodys_notices_stand_in_the_time_of_the_job_with_read_and_mailed(show, settings):
    settings.MAIL_SERVER = None
    at = datetime(2026, 11, 5, 19, 0, tzinfo=UTC)
    read = told_at(
        at,
        person__username="wren",
        read_at=datetime(2026, 11, 5, 20, 5, tzinfo=UTC),
        ticket__number="T-1",
        ticket__job__time_zone="America/Denver",
    )
    sent_at = datetime(2026, 11, 5, 19, 2, tzinfo=UTC)
    OutgoingMailFactory(notice=read, kind="alert", digest_on=None, state="sent", sent_at=sent_at)
    shown = show()
    for words in ("wren", "T-1", "12:00 pm MST", "1:05 pm MST", "12:02 pm MST", read.words):
        assert words in shown
    assert "not read" not in shown
    told_at(at, person__username="finch")
    NoticeFactory(words="", person__username="heron")  # not worded, so told to nobody yet
    shown = show()
    assert "finch" in shown
    assert "not read" in shown
    assert "no mail of its own" in shown
    assert "heron" not in shown


def test_an_empty_record_says_how_somebody_comes_to_be_told(show):
    assert "A person is told only of what that person follows" in show()
    assert "Nobody was told anything that fits" in show("?job=Alder")


def test_filters_narrow_by_person_job_ticket_and_the_days_of_the_job(client, show):
    # 03:30 UTC is the evening before in Denver.
    late = told_at(
        datetime(2026, 11, 6, 3, 30, tzinfo=UTC),
        ticket__number="LATE-1",
        ticket__job__name="Alder Street",
        ticket__job__time_zone="America/Denver",
    )
    told_at(datetime(2026, 11, 6, 18, 0, tzinfo=UTC), ticket__number="NEXT-2", ticket__job__name="Birch Lane")
    for query in (
        f"?person={late.person_id}",
        "?job=alder",
        "?ticket=late",
        "?day_to=2026-11-05",
        "?day_from=2026-11-05&day_to=2026-11-05",
    ):
        assert [row["ticket"] for row in rows_of(client.get(f"{FILE}{query}"))] == ["LATE-1"], query
        assert "NEXT-2" not in show(query)
    assert [row["ticket"] for row in rows_of(client.get(f"{FILE}?day_from=2026-11-06"))] == ["NEXT-2"]


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("?day_from=5.11.", "Accepted is a day such as"),
        ("?day_from=2026-11-05&day_to=2026-11-04", "Found 2026-11-04, accepted is 2026-11-05 or later."),
        ("?person=0", "Accepted is somebody of the list"),
        ("?after=nowhere", "This is the first page."),
        ("?after=2026-11-05T00:00:00_6f0d3c52-6a5d-4b1c-8c57-1c6a2b0f7c11", "This is the first page."),
    ],
)
def test_what_cannot_be_read_is_told(client, show, query, words):
    NoticeFactory()
    assert words in show(query)
    if "after" not in query:
        assert client.get(f"{FILE}{query}").status_code == 400


def test_pages_hold_each_notice_once_also_those_of_one_moment(client, show, monkeypatch):
    monkeypatch.setattr(told_sheet, "ROWS_A_PAGE", 2)
    at = datetime(2026, 11, 5, 19, 0, tzinfo=UTC)
    wanted = {told_at(at).pk for _ in range(5)}
    place, seen = "", []
    for _ in range(3):
        page = client.get(TOLD, {"after": place}).context["page"]
        seen += [notice.pk for notice in page.notices]
        place = page.next_place
    assert place == ""
    assert len(seen) == 5
    assert set(seen) == wanted
    assert 'rel="next"' in show()


def test_the_newest_stands_first(client, show):
    old = told_at(datetime(2026, 11, 4, tzinfo=UTC))
    new = told_at(datetime(2026, 11, 5, tzinfo=UTC))
    older = told_at(datetime(2026, 11, 3, tzinfo=UTC))
    assert client.get(TOLD).context["page"].notices == [new, old, older]


def test_the_file_has_all_moments_in_utc_and_no_formula(client, show):
    at = datetime(2026, 11, 5, 19, 0, tzinfo=UTC)
    notice = told_at(at, subject="=1+1", words="@SUM(A1)", read_at=at, ticket__number="-7+2")
    answer = client.get(FILE)
    assert answer["Content-Disposition"] == 'attachment; filename="who_was_told_what.csv"'
    (row,) = rows_of(answer)
    assert row["told_at"] == row["read_at"] == "2026-11-05T19:00:00+00:00"
    assert (row["subject"], row["words"], row["ticket"]) == ("'=1+1", "'@SUM(A1)", "'-7+2")
    assert (row["person"], row["mailed_at"]) == (notice.person.username, "")


def test_an_empty_file_is_not_made(client, show):
    answer = client.get(FILE)
    assert answer.status_code == 400
    assert "No file is made" in answer.content.decode()


def test_the_list_costs_as_many_queries_with_many_notices_as_with_one(show, django_assert_max_num_queries):
    counts = []
    for count in (1, 8):
        for notice in NoticeFactory.create_batch(count)[::2]:
            OutgoingMailFactory(notice=notice, kind="alert", digest_on=None)
        with django_assert_max_num_queries(20) as captured:
            show()
        counts.append(len(captured))
    assert counts[0] == counts[1]
