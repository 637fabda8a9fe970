"""A job's history: who, when, from where, before and after in people's words, a page by key at a time."""

import re
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from locates.acting import acting
from locates.desk.history_sheet import ROWS_A_PAGE
from locates.desk.retire import retire
from locates.models import Mark
from locates.roles import COORDINATOR, FOREMAN
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return factories.JobFactory(show_units="feet")


@pytest.fixture
def reader(client):
    client.force_login(factories.person_in_role(FOREMAN))
    return client


def history(client, job, status=200, **query):
    response = client.get(reverse("locates:job-history", args=[job.pk]), query)
    assert response.status_code == status
    return response.content.decode()


def test_a_change_is_told_in_words_of_the_form(reader, job):
    mark = factories.MarkFactory(job=job, ref="G-7", is_intact=None, stated_width_m=None)
    with acting("page /marks/", factories.PersonFactory(first_name="Wren", last_name="Aldous")):
        mark.is_intact, mark.stated_width_m, mark.facility_type = True, 0.3048, "electric"
        mark.geometry = factories.point(10, 0)
        mark.save()
    words = history(reader, job, kind="locates_mark")
    assert "Mark G-7: changed" in words
    assert "by Wren Aldous; page /marks/" in words
    for before, after in (
        ("nothing", "yes"),
        ("nothing", "1 ft 0 in (0.3048 m)"),
        ("gas/oil/steam", "electric"),
    ):
        pattern = rf"<del>{re.escape(before)}</del> <span[^>]*>became</span> <ins>{re.escape(after)}</ins>"
        assert re.search(pattern, words), after
    assert re.search(
        r"<del>line [^<]+</del> <span[^>]*>became</span> <ins>38\.\d{8}, -78\.\d{8}</ins>", words
    )
    assert "Version" not in words


def test_where_a_photo_was_taken_is_told_to_whoever_may_open_the_original(client, job):
    factories.PhotoFactory(job=job, position=factories.point(50, 0))
    told = {}
    for role in (FOREMAN, COORDINATOR):
        client.force_login(factories.person_in_role(role))
        told[role] = history(client, job, kind="locates_photo")
        assert "hole.jpg" in told[role]
    place = re.compile(r"38\.0\d{7}, -78\.\d{8}")
    assert [bool(place.search(told[role])) for role in (FOREMAN, COORDINATOR)] == [False, True]


def test_plain_sql_names_no_person_and_the_role(reader, job):
    mark = factories.MarkFactory(job=job)
    Mark.objects.filter(pk=mark.pk).update(located_by="<script>")
    words = history(reader, job, record=mark.pk)
    assert f"by plain SQL, as role {connection.settings_dict['USER']}" in words
    assert "<ins>&lt;script&gt;</ins>" in words


def test_what_a_record_names_goes_by_its_name_also_where_it_is_gone(reader, job):
    hole = factories.TestHoleFactory(job=job, mark=factories.MarkFactory(job=job, ref="W-3"))
    mark = hole.mark
    assert "W-3" in history(reader, job, record=hole.pk)
    key = hole.pk
    hole.delete()
    mark.delete()
    assert "a record that is gone" in history(reader, job, record=key)


def test_the_list_is_narrowed_to_a_kind_a_record_and_a_person(reader, job):
    first, second = factories.MarkFactory(job=job, ref="M-1"), factories.MarkFactory(job=job, ref="M-2")
    with acting("page /x/", factories.PersonFactory(first_name="Odell")):
        Mark.objects.filter(pk=second.pk).update(is_intact=False)
    assert "M-2" not in history(reader, job, record=first.pk)
    odell = history(reader, job, person="odel")
    assert "M-2" in odell
    assert "M-1" not in odell
    assert "M-1" not in history(reader, job, kind="conflicts_bore")


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"kind": "auth_user"}, "Accepted is a kind of the list."),
        ({"record": "mine"}, "Accepted is the id of a record"),
        ({"after": "-1"}, "-1"),
        ({"after": "9" * 40}, "999"),
    ],
)
def test_what_cannot_be_read_is_told(reader, job, query, words):
    assert words in history(reader, job, status=400, **query)


def test_pages_follow_each_other_by_key_and_ask_the_same_of_the_database(reader, job):
    operator = factories.FacilityOperatorFactory(job=job)
    factories.MarkFactory(job=job, operator=operator)
    asked = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            history(reader, job)
        asked.append(len(queries))
        for _ in range(ROWS_A_PAGE):
            factories.MarkFactory(job=job, operator=operator)
    assert asked[1] <= asked[0]
    seen, query = [], {"kind": "locates_mark"}
    while query:
        words = history(reader, job, **query)
        seen += re.findall(r"<h3>Mark (\S+): added</h3>", words)
        following = re.search(r"after=(\d+)", words)
        query = query | {"after": following[1]} if following else {}
    assert len(seen) == len(set(seen)) == 2 * ROWS_A_PAGE + 1


def test_a_job_that_is_retired_keeps_its_history_and_one_that_never_was_has_none(reader, job):
    retire(job, by=factories.PersonFactory())
    assert "Job" in history(reader, job)
    assert reader.get(reverse("locates:job-history", args=[uuid4()])).status_code == 404


def test_it_is_in_reach_of_the_job_the_bore_and_every_form(client, job):
    client.force_login(factories.person_in_role("Coordinator"))
    mark = factories.MarkFactory(job=job)
    bore = factories.BoreFactory(job=job)
    address = reverse("locates:job-history", args=[job.pk])
    assert f'href="{address}"' in client.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    form = client.get(reverse("locates:mark-edit", args=[mark.pk])).content.decode()
    assert f'href="{address}?record={mark.pk}"' in form
    edit = client.get(reverse("conflicts:bore-edit", args=[bore.pk])).content.decode()
    assert f'href="{address}?record={bore.pk}"' in edit
    assert address not in client.get(reverse("locates:mark-add", args=[job.pk])).content.decode()


def test_it_asks_for_a_role(client, job):
    client.force_login(factories.PersonFactory())
    history(client, job, status=403)
