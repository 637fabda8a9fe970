"""The page of the ledger: its entries by job, and its proof when somebody asks."""

import re
from hashlib import sha256
from uuid import uuid4

import pytest
from django.db import connection
from django.urls import reverse

from conflicts.views.ledger import ENTRIES_A_PAGE
from locates.models import LedgerEntry
from tests.factories import (
    DailyWalkFactory,
    JobFactory,
    LedgerEntryFactory,
    OrganisationFactory,
    PersonFactory,
    person_in_role,
)
from tests.rewriting import rewriting_allowed
from tests.signed_walks import sign_walks

pytestmark = pytest.mark.django_db

ADDRESS = "/ledger/"


@pytest.fixture
def manager(client):
    client.force_login(person_in_role("Safety manager"))
    return client


def shown(client, status=200, **query):
    response = client.get(ADDRESS, query)
    assert response.status_code == status
    return response.content.decode()


def words(page):
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


def test_entries_stand_with_their_digests_and_what_was_signed(manager):
    assert reverse("conflicts:ledger") == ADDRESS
    chain = sign_walks(2)
    page = shown(manager)
    for walk, entry in chain:
        for digest in (entry.entry_sha256, entry.content_sha256, entry.previous_sha256):
            assert digest in page
        assert f"&quot;remarks&quot;: &quot;{walk.remarks}&quot;" in page
    assert "2 daily walk" in words(page)


def test_where_a_photo_was_taken_is_told_to_whoever_may_open_the_original(client):
    content = '{"file_name":"hole.jpg","position":[-78.25,38.125],"position_error_m":4.5}'
    digest = sha256(content.encode()).hexdigest()
    LedgerEntryFactory(kind="photo", content=content, content_sha256=digest)
    told = {}
    for role in ("Foreman", "Safety manager"):
        client.force_login(person_in_role(role))
        told[role] = shown(client)
        assert "hole.jpg" in told[role]
    assert ["-78.25" in one for one in told.values()] == [False, True]
    assert "kept with the original, which your role does not open" in told["Foreman"]


def test_an_empty_ledger_says_so(manager):
    page = words(shown(manager))
    assert "Nothing was signed yet." in page
    assert "Head now, entry 0" in page


def test_entries_of_one_job_can_be_chosen(manager):
    [(_, one)], [(_, other)] = sign_walks(1), sign_walks(1)
    page = shown(manager, job=other.job_id)
    assert f'id="entry-{other.sequence}"' in page
    assert f'id="entry-{one.sequence}"' not in page
    assert f"Ledger of {other.job.name}" in words(page)


@pytest.mark.parametrize("job", ["all", uuid4()])
def test_what_is_no_job_of_the_list_is_refused(manager, job):
    sign_walks(1)
    page = words(shown(manager, status=400, job=job))
    assert "Accepted is a job of the list" in page
    assert "1 daily walk" in page


def test_nothing_is_proven_until_somebody_asks(manager):
    sign_walks(3)
    assert "Proven" not in words(shown(manager))
    assert "Proven: 3 entries and their records" in words(shown(manager, prove="1"))


def test_another_company_is_shown_none_of_them_and_proves_the_whole_chain(client):
    _, entry = sign_walks(1)[0]
    client.force_login(person_in_role("Safety manager", organisation=OrganisationFactory()))
    page = shown(client, prove="1")
    assert 'id="entry-1"' not in page
    assert entry.job.name not in page
    assert "Nothing was signed yet." in words(page)
    assert "Proven: 1 entry" in words(page)
    assert "Accepted is a job of the list" in words(shown(client, status=400, job=entry.job_id))


def told_to(client, person):
    client.force_login(person)
    page = shown(client, prove="1")
    return page, words(page[page.index('<h2 id="proof"') : page.index('<h2 id="entries"')])


def assert_only_the_reason_is_told(client, walk, reason):
    page, said = told_to(client, person_in_role("Safety manager", organisation=OrganisationFactory()))
    assert f"{reason} Somebody changed the database" in said
    assert str(walk.pk) not in page
    assert walk.bore.job.name not in page
    for telling in ("walk", "remarks", "marks_intact", "device", "nothing to see"):
        assert telling not in said.lower(), telling
    return said


def test_of_another_companys_record_only_the_number_and_the_reason_are_told(client):
    walk, _ = sign_walks(1)[0]
    with rewriting_allowed():
        type(walk).objects.filter(pk=walk.pk).update(remarks="Nothing to see.")
    reason = "Its record says otherwise now than when it was signed."
    said = assert_only_the_reason_is_told(client, walk, reason)
    assert "Not proven. The first bad entry is 1." in said
    _, said = told_to(client, person_in_role("Safety manager"))
    assert f"Daily walk {walk.pk} . Its record says otherwise now than when it was signed: remarks." in said


def test_of_another_companys_record_without_an_entry_only_the_reason_is_told(client):
    walk = DailyWalkFactory()
    assert_only_the_reason_is_told(client, walk, "A signed record has no entry.")
    _, said = told_to(client, person_in_role("Safety manager"))
    assert f"Daily walk {walk.pk} . A signed record has no entry." in said


def test_of_another_companys_record_that_is_gone_only_the_reason_is_told(client):
    walk, _ = sign_walks(1)[0]
    key = walk.pk
    with rewriting_allowed():
        type(walk).objects.filter(pk=key).delete()
    assert_only_the_reason_is_told(client, walk, "Its record is gone.")
    _, said = told_to(client, person_in_role("Safety manager"))
    assert f"Daily walk {key} . Its record is gone." in said


def test_an_entry_that_was_moved_to_another_companys_job_tells_its_people_of_no_record(client):
    walk, _ = sign_walks(1)[0]
    stranger = person_in_role("Safety manager", organisation=OrganisationFactory())
    elsewhere = JobFactory(organisation=stranger.membership.organisation)
    with rewriting_allowed():
        LedgerEntry.objects.update(job=elsewhere)
    for person in (stranger, person_in_role("Safety manager")):
        _, said = told_to(client, person)
        assert "Not proven. The first bad entry is 1. Its own digest is" in said
        assert str(walk.pk) not in said


def test_a_record_that_cannot_be_read_and_has_no_entry_is_told_of_without_its_name(client):
    walk = DailyWalkFactory()
    with rewriting_allowed(), connection.cursor() as cursor:
        cursor.execute("UPDATE conflicts_dailywalk SET walked_at = 'infinity'")
    _, said = told_to(client, person_in_role("Safety manager", organisation=OrganisationFactory()))
    assert "A signed record has no entry." in said
    assert str(walk.pk) not in said


def test_what_was_changed_behind_the_program_is_told(manager):
    walk, _ = sign_walks(3)[1]
    with rewriting_allowed():
        type(walk).objects.filter(pk=walk.pk).update(marks_intact=False)
    page = words(shown(manager, prove="1"))
    assert "Not proven. The first bad entry is 2." in page
    assert (
        f"Daily walk {walk.pk} . Its record says otherwise now than when it was signed: marks_intact." in page
    )


def test_only_the_last_entries_are_proven(manager, monkeypatch):
    walk, _ = sign_walks(4)[0]
    with rewriting_allowed():
        type(walk).objects.filter(pk=walk.pk).update(marks_intact=False)
    monkeypatch.setattr("conflicts.views.ledger.LAST_PROVEN", 3)
    page = words(shown(manager, prove="1"))
    assert "Of the last 3 entries" in page
    assert "Proven: 3 entries" in page


def test_a_head_that_was_noted_before_has_to_be_there(manager):
    _, entry = sign_walks(1)[0]
    assert "Proven: 1 entry" in words(shown(manager, prove="1", head=f" {entry.entry_sha256} "))
    page = words(shown(manager, prove="1", head="a" * 64))
    assert f"Not proven. No entry has the digest {'a' * 64}, which was noted as the head." in page


@pytest.mark.parametrize("head", ["abc", "A" * 64, "<b>"])
def test_a_head_that_is_no_digest_is_refused_beside_its_box(manager, head):
    sign_walks(1)
    page = shown(manager, status=400, prove="1", head=head)
    assert "Accepted are 64 digits" in page
    assert "Proven" not in words(page)
    assert "<b>&quot;" not in page


def test_a_login_and_a_role_are_asked_for(client):
    assert client.get(ADDRESS).url == f"{reverse('login')}?next={ADDRESS}"
    client.force_login(PersonFactory())
    assert client.get(ADDRESS).status_code == 403


@pytest.mark.parametrize("role", ["Coordinator", "Foreman", "Safety manager"])
def test_every_role_reads_it_and_nobody_writes_it(client, role):
    client.force_login(person_in_role(role))
    assert client.get(ADDRESS, {"prove": "1"}).status_code == 200
    assert client.post(ADDRESS).status_code == 405
    assert not LedgerEntry.objects.exists()


def test_the_number_of_queries_does_not_grow_with_the_entries(manager, django_assert_max_num_queries):
    def queries(**query):
        with django_assert_max_num_queries(40) as made:
            shown(manager, **query)
        return len(made)

    sign_walks(1)
    few, few_proven = queries(), queries(prove="1")
    for _ in range(5):
        sign_walks(4)
    assert (queries(), queries(prove="1")) == (few, few_proven)


def test_long_ledgers_come_in_pages(manager):
    sign_walks(ENTRIES_A_PAGE + 1)
    assert f'id="entry-{ENTRIES_A_PAGE + 1}"' in shown(manager)
    last = shown(manager, page="2")
    assert re.findall(r'id="entry-(\d+)"', last) == ["1"]
    assert "Page 2 of 2" in words(last)


def test_content_that_is_no_json_any_more_is_shown_as_it_stands(manager):
    sign_walks(1)
    content = "<i>gone</i>"
    with rewriting_allowed():
        LedgerEntry.objects.update(content=content, content_sha256=sha256(content.encode()).hexdigest())
    page = shown(manager, prove="1")
    assert "&lt;i&gt;gone&lt;/i&gt;" in page
    assert "no object in canonical JSON" in page
