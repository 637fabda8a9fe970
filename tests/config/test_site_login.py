"""Logged in as the site's role, for itself: no row of a job goes, and a job is replaced all the same."""

import io
import json
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from config.serving_role import grant_after_migrating
from conflicts.assess import assess
from conflicts.exchange.whole_job import export_job, load_job
from locates.exchange.job_documents import document_text
from locates.exchange.moments import write_moment
from locates.kept_records import TAKEN_AWAY
from locates.models import Mark, RecordEvent
from locates.past_moments import database_clock
from locates.roles import COORDINATOR
from tests import factories
from tests.job_documents import job_bytes, job_document

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

TABLES = {
    model._meta.db_table: model._meta.label_lower
    for model in apps.get_models(include_auto_created=True)
    if model._meta.managed
} | {"django_migrations": "migrations"}


def run(*statements):
    with connection.cursor() as cursor:
        for one in statements:
            cursor.execute(one)


def refused(statement):
    """Whether the database says that this role may not; nothing else counts as a refusal."""
    try:
        with transaction.atomic():
            run(statement)
            transaction.set_rollback(True)
    except DatabaseError as error:
        if "permission denied" not in str(error):
            raise
        return True
    return False


@pytest.fixture
def logged_in(settings):
    """The connection, made anew with the name and password of the site's role."""
    name = f"site_{uuid4().hex}"
    settings.SERVING_DATABASE = {"USER": name, "PASSWORD": "invented"}
    grant_after_migrating()
    as_owner = dict(connection.settings_dict)
    connection.close()
    connection.settings_dict.update(USER=name, PASSWORD="invented")  # noqa: S106 - of a role of this test
    yield name
    connection.close()
    connection.settings_dict.update(as_owner)
    run(f"DROP OWNED BY {name}", f"DROP ROLE {name}")


def test_it_takes_rows_from_no_table_but_those_that_are_named_and_empties_none(logged_in):
    taken = {label for table, label in TABLES.items() if not refused(f"DELETE FROM {table}")}  # noqa: S608
    assert taken == set(TAKEN_AWAY)
    assert [table for table in TABLES if not refused(f"TRUNCATE {table} CASCADE")] == []


def test_a_job_is_replaced_found_as_it_stood_and_proven(logged_in, client):
    job = load_job(job_bytes(job_document()))
    client.force_login(factories.person_in_role(COORDINATOR, organisation=job.organisation))
    bore, [gas, water] = job.bores.get(name="B-1"), job.marks.order_by("ref")
    before = database_clock()
    document = json.loads(document_text(export_job(job)))
    document["features"] = [
        one
        for one in document["features"]
        if one["id"] == str(water.pk) or one["properties"]["kind"] in ("ticket", "ground_point", "linework")
    ]
    [feature] = [one for one in document["features"] if one["id"] == str(water.pk)]
    feature["properties"]["ref"] = "W-RENAMED"
    load_job(job_bytes(document), replace=True)
    assert [mark.ref for mark in job.marks.all()] == ["W-RENAMED"]

    def shown(name, at, **record):
        address = reverse(f"conflicts:{name}", kwargs=record, query={"at": write_moment(at)})
        response = client.get(address)
        assert response.status_code == 200
        return response

    then, now = (shown("job-as-of", at, job_id=job.pk).content.decode() for at in (before, database_clock()))
    assert gas.ref in then
    assert "W-RENAMED" not in then
    assert "W-RENAMED" in now
    assert gas.ref not in now
    assert bore.name in shown("bore-as-of", before, bore_id=bore.pk).content.decode()
    marks_then = json.dumps(shown("map-as-of", before, job_id=job.pk).json())
    assert gas.ref in marks_then
    assert "W-RENAMED" not in marks_then
    assert Mark.with_retired.get(pk=gas.pk).retired_at is not None
    assert not RecordEvent.objects.filter(action="delete").exists()
    call_command("verify_ledger", stdout=io.StringIO())


def test_what_it_exports_it_puts_back_to_the_same_digests(logged_in):
    job = load_job(job_bytes(job_document()))
    at = database_clock()
    before = {bore.name: assess(bore, at)["inputs_digest"] for bore in job.bores.all()}
    last = RecordEvent.objects.latest("id").pk
    load_job(document_text(export_job(job)).encode(), replace=True)
    assert {bore.name: assess(bore, at)["inputs_digest"] for bore in job.bores.all()} == before
    # The same file changes no record, only the job's own row, on which the moment is noted.
    assert set(RecordEvent.objects.filter(pk__gt=last).values_list("table_name", flat=True)) == {
        "locates_job"
    }
