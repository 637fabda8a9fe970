"""The pages of the past: marked as such, of their moment alone, with nothing to write."""

import re
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import resolve, reverse
from django.utils import timezone

from conflicts.models import Bore
from locates.desk.retire import retire
from locates.exchange.moments import write_moment
from locates.models import Mark, RecordEvent, TestHole
from locates.past_moments import database_clock
from locates.roles import COORDINATOR, FOREMAN, SAFETY_MANAGER
from tests import factories
from tests.rewriting import rewriting_allowed

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

# What a page of the past may lead to: other moments, the page of now, lists, the way out.
MAY_LEAD_TO = {
    "roles",
    "home", "jobs", "job", "bore", "job-as-of", "bore-as-of", "map-as-of", "job-history", "board", "rules",
    "calendar", "notices", "index", "search", "logout", "coverage", "ledger", "photo-facts",
}  # fmt: skip


@pytest.fixture
def job():
    return factories.small_job(name="Alder Street")


@pytest.fixture
def looking(client):
    client.force_login(factories.person_in_role(COORDINATOR, first_name="Wren"))
    return client


def page(record, at=None):
    name = "conflicts:bore-as-of" if isinstance(record, Bore) else "conflicts:job-as-of"
    return reverse(name, args=[record.pk], query={"at": write_moment(at)} if at else None)


def shown(client, address, status=200):
    response = client.get(address)
    assert response.status_code == status
    return response.content.decode()


def test_a_bore_shows_the_hole_as_wide_as_its_passes_had_left_it_then(looking, job):
    bore = job.bores.get()
    untouched = database_clock()
    wide = factories.HolePassFactory(bore=bore, diameter_m=0.254)
    reamed = database_clock()
    factories.HolePassWithdrawalFactory(hole_pass=wide)
    assert "Hole as made" not in shown(looking, page(bore, untouched))
    words = shown(looking, page(bore, reamed))
    assert "reamed 10 in" in words
    assert "10 in where it is widest, 7 7/8 in as planned" in words
    assert "Hole as made" not in shown(looking, page(bore, database_clock()))


def test_a_job_shows_what_was_there_and_not_what_came_after(looking, job):
    hole = job.test_holes.get()
    before = database_clock()
    TestHole.objects.filter(pk=hole.pk).update(ref="LATER-NAME")
    factories.MarkFactory(job=job, ref="LATER-MARK")
    words = shown(looking, page(job, before))
    assert hole.ref in words
    assert "LATER-" not in words
    now = shown(looking, page(job))
    assert "LATER-NAME" in now
    assert "LATER-MARK" in now


def test_a_bore_shows_the_crossings_checks_and_digest_of_then(looking, job):
    bore = job.bores.get()
    before, live = database_clock(), looking.get(reverse("conflicts:assessment", args=[bore.pk])).json()
    job.test_holes.all().delete()
    words = shown(looking, page(bore, before))
    assert live["inputs_digest"] in words
    assert "clear" in words
    after = shown(looking, page(bore))
    assert live["inputs_digest"] not in after
    assert "unexposed" in after


@pytest.mark.parametrize("role", [COORDINATOR, FOREMAN, SAFETY_MANAGER])
def test_every_screen_says_that_it_is_of_the_past_and_leads_to_nothing_that_writes(client, job, role):
    client.force_login(factories.person_in_role(role))
    for record in (job, job.bores.get()):
        words = shown(client, page(record, database_clock()))
        assert "The past: as the records stood" in words
        assert re.search(r"Alder Street|Nothing can be changed here", words)
        assert [
            one for one in re.findall(r'<form[^>]*method="post"[^>]*>', words) if "logout" not in one
        ] == []
        for link in re.findall(r'<a [^>]*href="([^"#?][^"]*)"', words):
            if not link.startswith("tel:"):
                assert resolve(urlsplit(link).path).url_name in MAY_LEAD_TO, link


def test_the_map_of_then_comes_with_its_crossings_and_leads_to_the_past(looking, job):
    bore, at = job.bores.get(), database_clock()
    Mark.objects.filter(job=job).update(ref="LATER")
    for name, record in (("job_id", job), ("bore_id", bore)):
        address = reverse("conflicts:map-as-of", kwargs={name: record.pk}, query={"at": write_moment(at)})
        response = looking.get(address)
        assert response.status_code == 200
        assert b"LATER" not in response.content
        assert f"/bores/{bore.pk}/as-of/?at=".encode() in response.content
        assert looking.get(address, {"at": "never"}).status_code == 400


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ("tomorrow", "write the day and the time as"),
        ("2026-02-30 10:00", "there is no such day or hour"),
        ("2199-01-01 10:00", "it has not come yet: it is "),
        ("2025-03-09 02:30", "the clocks go forward then"),
        ("2025-11-02 01:30", "comes twice on that day"),
        ("<b>", "&lt;b&gt;"),
    ],
)
def test_a_moment_that_cannot_be_is_told_with_what_is_accepted_and_stays_typed(looking, job, asked, words):
    answer = looking.get(page(job), {"at": asked})
    assert answer.status_code == 400
    text = answer.content.decode()
    assert words in text
    assert f'value="{asked.replace("<", "&lt;").replace(">", "&gt;")}"' in text
    assert "What held then" not in text


def test_the_job_before_it_was_there_and_a_bore_before_it_was_planned(looking, job):
    assert "The job was not there yet: it was added" in shown(
        looking, page(job, timezone.now() - timedelta(1))
    )
    before = database_clock()
    bore = factories.BoreFactory(job=job)
    assert "This bore was not there at that moment" in shown(looking, page(bore, before))


def test_what_came_before_the_record_began_is_not_known_and_not_shown_as_nothing(looking, job):
    with rewriting_allowed():
        RecordEvent.objects.filter(job_id=job.pk).update(source="migration")
    words = shown(looking, page(job, timezone.now() - timedelta(1)))
    assert "How it stood at that moment is not known: the record of changes of this job begins" in words


def test_a_job_that_is_retired_by_now_still_shows_how_it_stood(looking, job):
    before, bore = database_clock(), job.bores.get()
    retire(job, by=factories.PersonFactory())
    assert "By now it is retired." in shown(looking, page(job, before))
    assert "What held then" in shown(looking, page(bore, before))
    assert "or it was retired then" in shown(looking, page(job))


def test_the_moments_beside_it_name_who_and_from_where_and_lead_there(looking, job):
    mark = job.marks.get()
    looking.post(reverse("locates:mark-retire", args=[mark.pk]))
    words = shown(looking, page(job))
    assert f"by Wren, page /marks/{mark.pk}/retire/" in words
    [address] = re.findall(r'href="\?at=([^"]+)" aria-current="true"', words)
    assert mark.ref not in shown(
        looking, f"{reverse('conflicts:job-as-of', args=[job.pk])}?at={address}#marks"
    )


def test_asking_needs_a_role_and_more_records_ask_no_more_of_the_database(client, looking, job):
    asked = []
    for number in range(3):
        factories.MarkFactory(job=job, ref=f"N{number}")
        factories.TestHoleFactory(job=job, mark=job.marks.first(), ref=f"T{number}")
        with CaptureQueriesContext(connection) as queries:
            shown(looking, page(job, database_clock()))
        asked.append(len(queries))
    assert asked[0] == asked[1] == asked[2] < 80
    client.force_login(factories.PersonFactory())
    assert client.get(page(job)).status_code == 403
