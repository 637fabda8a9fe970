"""The record says who wrote, and from which page, command or task; nobody is taken for somebody else."""

import io
import os
import subprocess
import sys

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.urls import include, path, reverse

import locates.tasks  # noqa: F401 - a worker has it, and with it what tells of tasks
from config.celery import app
from locates.acting import acting
from locates.models import Mark, RecordEvent
from locates.roles import COORDINATOR
from tests import factories

PERSON = {"first_name": "Wren", "last_name": "Aldous"}


def last(record):
    return RecordEvent.objects.filter(record_id=record.pk).latest("id")


def renamed(mark, words):
    """Write over a mark in SQL, past the models."""
    with connection.cursor() as cursor:
        cursor.execute("UPDATE locates_mark SET located_by = %s WHERE id = %s", [words, mark.pk])
    return last(mark)


@pytest.fixture
def mark(db):
    return factories.MarkFactory()


def retire_page(mark):
    return reverse("locates:mark-retire", args=[mark.pk])


def test_a_page_is_recorded_with_the_person_and_its_address(client, mark):
    person = factories.person_in_role(COORDINATOR, **PERSON)
    client.force_login(person)
    page = retire_page(mark)
    assert client.post(page).status_code == 302
    event = last(mark)
    assert (event.person_id, event.person_name, event.source) == (person.pk, "Wren Aldous", f"page {page}")
    assert event.before["retired_at"] is None
    assert event.after["retired_at"] is not None


def test_two_people_on_one_kept_connection_are_told_apart_and_the_console_after_them_is_nobody(client, mark):
    pages = []
    for name in ("Wren", "Odell"):
        other = factories.MarkFactory(job=mark.job)
        client.force_login(factories.person_in_role(COORDINATOR, first_name=name))
        client.post(retire_page(other))
        pages.append(last(other).person_name)
        client.get(reverse("conflicts:job", args=[mark.job_id]))
        assert renamed(mark, f"after {name}").person_name == ""
    assert pages == ["Wren", "Odell"]
    event = last(mark)
    assert (event.person_id, event.source, event.database_role) == (
        None,
        "",
        connection.settings_dict["USER"],
    )


def boom(request):
    with transaction.atomic():
        Mark.objects.update(located_by="half of it")
        raise ValueError("in the middle")


urlpatterns = [path("boom/", boom), path("", include("config.urls"))]


@pytest.mark.urls("tests.locates.history.test_who_writes")
def test_a_page_that_fails_leaves_nobody_behind(client, mark, settings):
    settings.MIDDLEWARE = [one for one in settings.MIDDLEWARE if "LoginAgain" not in one]
    client.force_login(factories.person_in_role(COORDINATOR))
    client.raise_request_exception = False
    assert client.post("/boom/").status_code == 500
    event = renamed(mark, "afterwards")
    assert (event.person_name, event.source) == ("", "")


def test_whoever_acts_inside_of_another_gives_back_to_him(mark):
    with acting("page /outer/", factories.PersonFactory(**PERSON)):
        with acting("task inner"):
            assert (renamed(mark, "a").source, last(mark).person_name) == ("task inner", "")
        assert (renamed(mark, "b").source, last(mark).person_name) == ("page /outer/", "Wren Aldous")
    assert renamed(mark, "c").source == ""


def test_a_transaction_that_broke_is_left_as_it_is(mark):
    broken = (pytest.raises(Exception, match="division"), transaction.atomic(), acting("page /broken/"))
    with broken[0], broken[1], broken[2], connection.cursor() as cursor:
        cursor.execute("SELECT 1 / 0")
    assert renamed(mark, "afterwards").source == ""


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_session_that_breaks_in_the_middle_is_replaced_by_one_that_knows_who_acts():
    mark = factories.MarkFactory()
    with acting("page /long/", factories.PersonFactory(**PERSON)):
        connection.close()
        event = renamed(mark, "over a new session")
        assert (event.person_name, event.source) == ("Wren Aldous", "page /long/")
        with connection.copy().cursor() as cursor:
            cursor.execute("SELECT current_setting('crosswatch.source')")
            assert cursor.fetchone() == ("page /long/",)
            cursor.connection.close()
        with pytest.raises(Exception, match="terminating connection"), connection.cursor() as cursor:
            cursor.execute("SELECT pg_terminate_backend(pg_backend_pid())")
    connection.close()
    assert renamed(mark, "at last").source == ""


def test_a_command_stands_with_its_name(db, tmp_path):
    logins = tmp_path / "logins.json"
    logins.write_text("{}")
    call_command("demo_data", logins=logins, stdout=io.StringIO())
    assert set(RecordEvent.objects.exclude(source="migration").values_list("source", flat=True)) == {
        "command demo_data"
    }


def test_a_task_stands_with_its_name_and_the_next_does_not(mark):
    @app.task(name="tests.rename")
    def rename():
        renamed(mark, "by a task")

    rename.apply()
    assert last(mark).source == "task tests.rename"
    assert renamed(mark, "by hand").source == ""


ASKED = """
import atexit, runpy, sys
from locates import acting
atexit.register(lambda: print(acting._actor.get()))
sys.argv[1:] = ["check"]
runpy.run_path("manage.py", run_name="__main__")
"""


def test_commands_that_are_not_ours_stand_with_their_name_too():
    nowhere = os.environ | {"DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"}
    ran = subprocess.run(
        [sys.executable, "-c", ASKED], capture_output=True, text=True, env=nowhere, check=False
    )
    assert "source='command check'" in ran.stdout, ran.stderr
