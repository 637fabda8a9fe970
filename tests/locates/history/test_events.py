"""Every insert, change and deletion stands in the record, to the last digit, and in the job's."""

from datetime import UTC, datetime
from hashlib import sha256

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.models import Bore
from locates.changes import job_changed
from locates.kept_records import kept_models
from locates.models import Job, Mark, RecordEvent, Response
from tests import factories

pytestmark = pytest.mark.django_db


def events(record):
    return list(RecordEvent.objects.filter(record_id=record.pk).order_by("id"))


def test_a_life_of_a_record_from_its_first_line_to_its_deletion():
    mark = factories.MarkFactory(located_by="first")
    mark.located_by = "second"
    mark.save()
    key = mark.pk
    mark.delete()
    added, changed, deleted = RecordEvent.objects.filter(record_id=key).order_by("id")
    assert [one.action for one in (added, changed, deleted)] == ["insert", "update", "delete"]
    assert (added.before, deleted.after) == (None, None)
    assert added.after == changed.before
    assert changed.after == deleted.before
    assert (changed.before["located_by"], changed.after["located_by"]) == ("first", "second")
    assert (changed.before["version"], changed.after["version"]) == (1, 2)
    assert added.job_id == changed.job_id == deleted.job_id == mark.job_id
    assert added.happened_at <= changed.happened_at <= deleted.happened_at


def test_many_rows_at_once_are_an_event_each():
    job = factories.JobFactory()
    operator = factories.FacilityOperatorFactory(job=job)
    made = [factories.MarkFactory.build(job=job, operator=operator, ref=f"B{n}") for n in range(40)]
    with CaptureQueriesContext(connection) as asked:
        Mark.objects.bulk_create(made)
        Mark.objects.filter(job=job).update(is_intact=False)
    assert len(asked) == 2
    kept = RecordEvent.objects.filter(job_id=job.pk, table_name="locates_mark")
    assert kept.filter(action="insert").count() == kept.filter(action="update").count() == 40
    assert {one.after["is_intact"] for one in kept.filter(action="update")} == {False}


def test_every_kind_of_record_of_a_job_is_found_by_the_job():
    job = factories.small_job()
    paper = factories.ResponsePaperFactory(response=Response.objects.get(ticket__job=job))
    factories.DailyWalkFactory(bore=job.bores.get())
    of_job = set(RecordEvent.objects.filter(job_id=job.pk).values_list("table_name", flat=True))
    shared = set(RecordEvent.objects.filter(job_id=None).values_list("table_name", flat=True))
    assert (
        of_job
        == {
            model._meta.db_table
            for model in (type(paper), Response, *kept_models())
            if RecordEvent.objects.filter(table_name=model._meta.db_table).exists()
        }
        - shared
    )
    assert {"locates_responsepaper", "locates_response", "conflicts_pit", "conflicts_dailywalk"} <= of_job
    assert {"locates_organisation", "locates_jurisdictionrule"} <= shared


def test_of_a_part_whose_owner_went_before_it_the_job_is_still_known():
    pit = factories.PitFactory()
    job_id, bore_id = pit.bore.job_id, pit.bore_id
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        cursor.execute("DELETE FROM conflicts_bore WHERE id = %s", [bore_id])
        cursor.execute("DELETE FROM conflicts_pit WHERE id = %s", [pit.pk])
    assert events(pit)[-1].job_id == job_id


def test_a_moment_noted_on_the_job_alone_is_no_change_of_it():
    job = factories.JobFactory()
    job_changed(job.pk)
    Job.objects.filter(pk=job.pk).update(name=job.name)
    assert [one.action for one in events(job)] == ["insert"]


def test_a_file_is_told_by_its_length_and_digest():
    paper = factories.ResponsePaperFactory()
    assert events(paper)[0].after["content"] == {
        "bytes": paper.size_bytes,
        "sha256": sha256(bytes(paper.content)).hexdigest(),
    }


numbers = st.floats(allow_nan=False, allow_infinity=False)


@pytest.mark.parametrize("zone", ["UTC", "Asia/Kathmandu"])
@settings(max_examples=40, deadline=None)
@given(
    heights=st.lists(numbers, min_size=1, max_size=4),
    latitude=st.floats(-80, 80),
    moment=st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1)),
    words=st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=20),
)
def test_what_is_kept_gives_the_row_back_to_the_last_bit(zone, heights, latitude, moment, words):
    with connection.cursor() as cursor:
        # However the connection that writes shows numbers and moments.
        cursor.execute(
            "SELECT set_config('extra_float_digits', '-15', true), set_config('timezone', %s, true)", [zone]
        )
        cursor.execute("SET LOCAL datestyle TO 'German'")
    bore = factories.BoreFactory.build(
        job=factories.JobFactory(),
        ground_stations_m=list(range(len(heights))),
        ground_elevations_m=heights,
        entry_pitch_ratio_min=-0.0,
        entry_pitch_ratio_max=0.0,
        product=words,
        planned_start_at=None,
        planned_finish_at=moment.replace(tzinfo=UTC),
    )
    bore.alignment = factories.line((0, 0), (50, latitude), (100, 0.1))
    Bore.objects.bulk_create([bore])
    with connection.cursor() as cursor:
        cursor.execute("RESET extra_float_digits; RESET datestyle; RESET timezone")
        cursor.execute(
            "SELECT live *= kept FROM conflicts_bore live, locates_recordevent e,"
            " jsonb_populate_record(NULL::conflicts_bore, e.after) kept"
            " WHERE live.id = %s AND e.record_id = live.id",
            [bore.pk],
        )
        assert cursor.fetchall() == [(True,)]
