"""Search by anything: what is found, in which order, for whom, whatever signs are asked for."""

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse
from django.utils.html import escape

from tests.factories import (
    FacilityOperatorFactory,
    JobFactory,
    LineworkFactory,
    MarkFactory,
    PersonFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    TicketFactory,
    person_in_role,
    small_job,
    stand_aside,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def answer(client, text: str):
    response = client.get(reverse("conflicts:search"), {"q": text})
    assert response.status_code == 200
    return response


def found(client, text: str) -> dict[str, list[str]]:
    """Names found, by the title of their kind."""
    lists = answer(client, text).context["lists"]
    return {one.title: [hit.name for hit in one.hits] for one in lists}


def test_search_asks_for_a_login_and_a_role_and_only_reads(client):
    address = reverse("conflicts:search")
    assert client.get(address, {"q": "elm"}).status_code == 302
    client.force_login(PersonFactory())
    assert client.get(address, {"q": "elm"}).status_code == 403
    client.force_login(person_in_role("Foreman"))
    assert client.post(address).status_code == 405


def test_every_kind_of_record_is_found_by_what_it_is_called(foreman):
    job = JobFactory(name="Quillmark Street")
    operator = FacilityOperatorFactory(job=job, name="Tallow Creek Gas", emergency_phone="555-0119")
    mark = MarkFactory(job=job, operator=operator, ref="G-2")
    TestHoleFactory(job=job, mark=mark, ref="TH-11")
    SurfaceFeatureFactory(job=job, ref="SF-12")
    TicketFactory(job=job, number="HB-26-0914", previous_number="HB-26-0800")
    LineworkFactory(job=job, label="Old mill house")
    small_job().bores.update(name="Main run", product="three HDPE ducts")
    assert found(foreman, "quillmark") == {"Jobs": ["Quillmark Street"]}
    assert found(foreman, "tallow") == {"Operators": ["Tallow Creek Gas"]}
    assert found(foreman, "555-0119") == {"Operators": ["Tallow Creek Gas"]}
    assert found(foreman, "G-2") == {"Marks": ["G-2"]}
    assert found(foreman, "th-11") == {"Test holes": ["TH-11"]}
    assert found(foreman, "sf-12") == {"Surface features": ["SF-12"]}
    assert found(foreman, "0914") == {"Tickets": ["HB-26-0914"]}
    assert found(foreman, "0800") == {"Tickets": ["HB-26-0914"]}
    assert found(foreman, "mill") == {"Named on the map": ["Old mill house"]}
    assert found(foreman, "main run") == {"Bores": ["Main run"]}
    assert found(foreman, "hdpe") == {"Bores": ["Main run"]}


def test_each_hit_links_to_where_it_stands_and_names_its_job(foreman):
    ticket = TicketFactory(number="HB-26-0914")
    page = answer(foreman, "HB-26").content.decode()
    assert f'href="{reverse("conflicts:job", args=[ticket.job_id])}#tickets">HB-26-0914</a>' in page
    assert escape(ticket.job.name) in page


def test_of_several_words_each_stands_in_the_record_or_in_its_jobs_name(foreman):
    for name in ("Quillmark Street", "Elder Street"):
        MarkFactory(job=JobFactory(name=name), ref="G-2")
    lists = answer(foreman, "G-2  elder").context["lists"]
    assert [(hit.name, hit.job.name) for one in lists for hit in one.hits] == [("G-2", "Elder Street")]
    assert found(foreman, "G-2 birch") == {}


def test_what_is_called_exactly_so_comes_first_then_what_begins_so(foreman):
    job = JobFactory()
    for ref in ("AG-1", "G-10", "G-1"):
        MarkFactory(job=job, ref=ref)
    assert found(foreman, "g-1") == {"Marks": ["G-1", "G-10", "AG-1"]}


def test_a_long_list_ends_and_says_so(foreman):
    job = JobFactory()
    for number in range(9):
        MarkFactory(job=job, ref=f"LONG-{number}")
    assert len(found(foreman, "LONG")["Marks"]) == 8
    assert "The first 8; write more to narrow it down" in answer(foreman, "LONG").content.decode()


@pytest.mark.parametrize(
    "text", ["50%", "a_b", "x\\y", "O'Hara", 'say "so"', "<b>bold</b>", "'; DROP TABLE--", "{{1}}", "ÄÖ"]
)
def test_every_sign_is_searched_for_as_it_stands_and_shown_escaped(foreman, text):
    job = JobFactory()
    MarkFactory(job=job, ref=f"-{text}-")
    MarkFactory(job=job, ref="-a b 50 axb x y-")
    assert found(foreman, text) == {"Marks": [f"-{text}-"]}
    page = answer(foreman, text).content.decode()
    assert f'value="{escape(text)}"' in page
    assert "<b>bold" not in page


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Write what you look for first."),
        ("   ", "Write what you look for first."),
        ("a", "Write at least 2 letters or digits"),
        ("a" * 101, "Write at most 100 letters"),
        ("a\x00b", "it holds a sign that no record has"),
    ],
)
def test_what_cannot_be_searched_for_is_explained_and_kept_in_the_box(foreman, text, words):
    MarkFactory(ref="aaa")
    response = answer(foreman, text)
    page = response.content.decode()
    assert words in page
    assert response.context["lists"] == []
    assert "Part of a word is enough" in page


def test_nothing_found_says_so_and_what_can_be_found(foreman):
    page = answer(foreman, "zzz").content.decode()
    assert "Nothing is called “zzz”" in page
    assert "Part of a word is enough" in page


def test_a_person_finds_only_records_that_they_may_see(client):
    MarkFactory(job=JobFactory(name="Elm Court"), ref="ELM-1")
    person = PersonFactory()
    allowed = Permission.objects.filter(codename__in=["view_job", "view_bore"])
    person.user_permissions.set(allowed)
    client.force_login(person)
    assert found(client, "elm") == {"Jobs": ["Elm Court"]}


def test_a_retired_record_is_not_found(foreman):
    mark = MarkFactory(ref="GONE-1")
    stand_aside(mark)
    assert found(foreman, "GONE") == {}


def test_a_search_costs_as_many_queries_with_many_hits_as_with_one(foreman, django_assert_max_num_queries):
    def queries() -> int:
        with django_assert_max_num_queries(14) as captured:
            assert found(foreman, "LONG")
        return len(captured)

    job = JobFactory(name="LONG street")
    MarkFactory(job=job, ref="LONG-1")
    one = queries()
    for number in range(2, 7):
        other = JobFactory(name=f"LONG street {number}")
        TicketFactory(job=other, number=f"LONG-{number}")
        MarkFactory(job=other, ref=f"LONG-{number}")
    assert queries() == one


def test_the_box_stands_on_every_page_for_who_may_search_and_on_no_other(foreman, client):
    assert 'id="search-box"' in foreman.get(reverse("locates:rules")).content.decode()
    client.logout()
    assert 'id="search-box"' not in client.get(reverse("login")).content.decode()
    client.force_login(PersonFactory())
    assert 'id="search-box"' not in client.get("/").content.decode()
