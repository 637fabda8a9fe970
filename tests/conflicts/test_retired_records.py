"""What is retired takes no part in an assessment or a job file, and a file may bring it back."""

import json

import pytest

from conflicts.candidates import farthest_hole_offsets_m, marked_operators, widest_lines_m
from conflicts.exchange.whole_job import export_job, load_job
from conflicts.gather import gather
from conflicts.models import Reassessment
from locates.changes import job_changed
from locates.errors import JobFileError
from locates.models import Job, Mark
from tests.factories import PitFactory, TestHoleFactory, point, small_job, stand_aside

pytestmark = pytest.mark.django_db

CHILDREN = ("tickets", "marks", "test_holes", "surface_features", "ground_points", "requirements")


@pytest.fixture
def job():
    return small_job()


def inputs_of(job):
    (inputs,) = gather(job.bores.values_list("pk", flat=True)).values()
    return inputs


def test_an_assessment_reads_live_records_only(job):
    before = inputs_of(job)
    assert before.marks
    assert before.tickets
    assert before.surface_features
    assert before.ground_points
    assert before.job.requirements
    assert len(before.pits) == 2
    for children in CHILDREN:
        stand_aside(getattr(job, children).get())
    stand_aside(job.bores.get().pits.first())
    after = inputs_of(job)
    assert (after.marks, after.tickets, after.surface_features, after.ground_points) == ((), (), (), ())
    assert after.job.requirements == ()
    assert len(after.pits) == 1


def test_a_retired_hole_exposes_nothing_and_widens_no_search(job):
    hole = TestHoleFactory(job=job, mark=job.marks.get(), outside_width_m=3.0, position=point(58, 0))
    assert farthest_hole_offsets_m([job.pk])[job.pk] == pytest.approx(8.0, abs=0.01)
    assert widest_lines_m([job.pk])[job.pk] == 3.0
    stand_aside(hole)
    assert farthest_hole_offsets_m([job.pk])[job.pk] == pytest.approx(0.0, abs=0.01)
    assert widest_lines_m([job.pk])[job.pk] == 0.1
    assert [one.ref for one in inputs_of(job).marks[0].holes] == [job.test_holes.get().ref]


def test_a_retired_answer_gives_way_to_the_one_before_it(job):
    ticket = job.tickets.get()
    awaiting = ticket.responses.get()
    later = ticket.responses.create(operator=awaiting.operator, response="no_facilities", sequence=1)
    stand_aside(later)
    assert [one.response for one in inputs_of(job).tickets[0].responses] == ["marked"]


def test_a_retired_mark_speaks_for_no_operator(job):
    assert marked_operators([job.pk])
    stand_aside(job.marks.get())
    assert marked_operators([job.pk]) == set()


def test_a_retired_bore_is_not_read_and_not_queued(job):
    bore = job.bores.get()
    stand_aside(bore)
    assert gather([bore.pk]) == {}
    job_changed(job.pk)
    assert not Reassessment.objects.exists()


def test_an_export_holds_live_records_only(job):
    stand_aside(job.surface_features.get())
    stand_aside(job.bores.get().pits.first())
    kinds = [feature["properties"]["kind"] for feature in export_job(job)["features"]]
    assert "surface_feature" not in kinds
    assert kinds.count("pit") == 1


def test_a_replacement_takes_back_the_ids_of_retired_records(job):
    raw = json.dumps(export_job(job)).encode()
    mark = job.marks.get()
    stand_aside(mark)
    loaded = load_job(raw, replace=True)
    assert loaded.pk == job.pk
    assert loaded.marks.get().pk == mark.pk
    assert Mark.with_retired.count() == 1


def test_a_retired_job_leaves_its_name_to_a_file_but_not_the_ids_of_its_records(job):
    document = export_job(job)
    stand_aside(job)
    with pytest.raises(JobFileError, match="or a retired one"):
        load_job(json.dumps(document).encode())
    for feature in document["features"]:
        del feature["id"]
    loaded = load_job(json.dumps(document).encode())
    assert loaded.pk != job.pk
    assert Job.objects.get(name=job.name) == loaded


def test_a_pit_can_be_dug_where_one_was_retired(job):
    bore = job.bores.get()
    stand_aside(bore.pits.get(end="entry"))
    PitFactory(bore=bore)
    assert bore.pits.count() == 2
