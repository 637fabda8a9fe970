"""What becomes of a job's records where a file takes their place: none goes, and none stands twice."""

import json
import threading

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.sign_walk import sign_walk
from conflicts.exchange.whole_job import REPLACED, export_job, load_job
from conflicts.models import DailyWalk, DamageReport, RouteJoint
from locates.desk.restore import restore
from locates.desk.retire import retire
from locates.errors import JobFileError, TakenMeanwhileError
from locates.exchange.job_documents import document_text
from locates.models import FacilityOperator, Mark, RecordEvent, Response, Retirement
from locates.models.retirable import Retirable
from locates.roles import COORDINATOR
from tests import factories
from tests.database_sessions import waiting_sessions
from tests.job_documents import MARK, TICKET, WATER_MARK, job_bytes, job_document, with_id

pytestmark = pytest.mark.django_db

KINDS = [model for model in apps.get_models() if issubclass(model, Retirable) and model in REPLACED]


def replace(document):
    return load_job(job_bytes(document), replace=True)


def exported(job):
    return json.loads(document_text(export_job(job)))


def counts(manager):
    return {model.__name__: getattr(model, manager).count() for model in KINDS}


@pytest.fixture
def job():
    return load_job(job_bytes(job_document()))


def test_replaced_twice_a_job_has_each_record_live_once_and_all_others_retired_under_a_token(job):
    live = counts("objects")
    for times in (1, 2):
        assert replace(job_document()).pk == job.pk
        assert counts("objects") == live
        assert Retirement.objects.filter(job=job, restored_at=None).count() == times
    without_ids = ("Ticket", "Mark", "TestHole", "SurfaceFeature", "GroundPoint", "Linework", "Bore", "Pit")
    kept = counts("with_retired")
    assert {name: kept[name] for name in without_ids} == {name: 3 * live[name] for name in without_ids}
    for model in KINDS:
        assert not model.with_retired.filter(retired_at__isnull=False, retirement=None).exists()
    assert not RecordEvent.objects.filter(action="delete").exists()


def test_the_same_file_again_changes_nothing(job):
    last = RecordEvent.objects.latest("id").pk
    rows = {model: list(model.with_retired.order_by("pk").values_list()) for model in KINDS}
    load_job(document_text(export_job(job)).encode(), replace=True)
    assert {model: list(model.with_retired.order_by("pk").values_list()) for model in KINDS} == rows
    assert set(RecordEvent.objects.filter(pk__gt=last).values_list("table_name", flat=True)) == {
        "locates_job"
    }
    assert not Retirement.objects.exists()


def test_a_record_that_the_file_names_stays_itself_and_says_what_the_file_says(job):
    mark = job.marks.get(ref="W-1")
    document = exported(job)
    for one in document["features"]:
        if one["id"] == str(mark.pk):
            one["properties"] |= {"ref": "W-9", "stated_depth_m": 1.75}
        if one["properties"].get("mark_ref") == "W-1":
            one["properties"]["mark_ref"] = "W-9"
    replace(document)
    after = Mark.objects.get(pk=mark.pk)
    assert (after.ref, after.stated_depth_m, after.version) == ("W-9", 1.75, mark.version + 1)
    event = RecordEvent.objects.filter(record_id=mark.pk).latest("id")
    assert (event.action, event.after["ref"]) == ("update", "W-9")


def test_what_the_file_has_no_room_for_is_unknown_afterwards_and_kept_in_the_record(job):
    ticket = job.tickets.get()
    type(ticket).objects.filter(pk=ticket.pk).update(called_by="Wren", stated_depth_m=2.0)
    replace(exported(job))
    after = job.tickets.get()
    assert (after.pk, after.called_by, after.stated_depth_m) == (ticket.pk, "", None)
    event = RecordEvent.objects.filter(record_id=ticket.pk).latest("id")
    assert (event.before["called_by"], event.after["called_by"]) == ("Wren", "")


def test_two_records_change_names_with_each_other(job):
    gas, water = job.marks.order_by("ref")
    document = exported(job)
    swapped = {gas.ref: water.ref, water.ref: gas.ref}
    for one in document["features"]:
        if one["properties"]["kind"] == "mark":
            one["properties"]["ref"] = swapped[one["properties"]["ref"]]
    replace(document)
    assert dict(job.marks.values_list("ref", "pk")) == {gas.ref: water.pk, water.ref: gas.pk}
    assert job.test_holes.get(ref="TH-1").mark_id == water.pk


def test_a_mark_that_the_file_left_out_comes_back_with_its_token(job, client):
    gas = job.marks.get(ref="G-1")
    document = exported(job)
    document["features"] = [one for one in document["features"] if one["properties"]["kind"] == "ticket"]
    replace(document)
    assert not job.marks.exists()
    token = Retirement.objects.get(restored_at=None)
    client.force_login(factories.person_in_role(COORDINATOR, organisation=job.organisation))
    page = client.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    assert "What a job file took the place of" in page
    assert "2 marks" in page
    # The job itself was never retired.
    assert client.get(reverse("locates:retired-jobs")).context["retirements"].count() == 0
    restore(token, by=factories.PersonFactory())
    assert job.marks.get(ref="G-1").operator == FacilityOperator.objects.get(pk=gas.operator_id)


def test_what_was_replaced_does_not_come_back_beside_what_took_its_name(job):
    replace(job_document())
    with pytest.raises(TakenMeanwhileError):
        restore(Retirement.objects.get(), by=factories.PersonFactory())


def test_a_retired_record_that_the_file_names_is_live_again_and_its_token_closed(job):
    mark, person = job.marks.get(ref="W-1"), factories.PersonFactory()
    document = exported(job)
    token = retire(mark, by=person)
    replace(document)
    after = Mark.objects.get(pk=mark.pk)
    assert (after.retired_at, after.retired_by, after.retirement, after.version) == (None, None, None, 3)
    assert Retirement.objects.get(pk=token.pk).restored_at is not None
    assert not job.retirements.not_undone().exists()


def test_a_token_is_closed_only_where_nothing_is_left_under_it(job):
    document = exported(job)
    without_marks = dict(document, features=[
        one for one in document["features"] if one["properties"]["kind"] in ("ticket", "bore", "pit")
    ])  # fmt: skip
    replace(without_marks)
    some = [one for one in document["features"] if one["properties"].get("ref") not in ("G-1", "TH-1")]
    for one in some:
        one["properties"].pop("explained_by_mark_ref", None)
    replace(dict(document, features=some))
    token = Retirement.objects.get()
    assert token.restored_at is None
    assert Mark.with_retired.get(ref="G-1").retirement == token
    replace(document)
    token.refresh_from_db()
    assert token.restored_at is not None
    assert exported(job) == document


def test_answers_that_say_the_same_stay_and_others_come_after_all_that_were_given(job):
    ticket = job.tickets.get()
    first, second, third = ticket.responses.order_by("sequence")
    document = exported(job)
    [feature] = [one for one in document["features"] if one["properties"]["kind"] == "ticket"]
    answers = feature["properties"]["responses"]
    answers[1] |= {"response": "no_facilities"}
    replace(document)
    live = list(ticket.responses.order_by("sequence"))
    assert [one.response for one in live] == ["awaiting", "no_facilities", "extension_asked"]
    assert live[0].pk == first.pk
    assert [one.sequence for one in live] == [0, 3, 4]
    retired = Response.with_retired.filter(ticket=ticket, retired_at__isnull=False)
    assert {one.pk for one in retired} == {second.pk, third.pk}
    answers.pop()
    replace(document)
    assert [one.pk for one in ticket.responses.order_by("sequence")] == [live[0].pk, live[1].pk]


def test_a_joint_of_the_route_for_which_the_file_has_no_room_is_retired(job):
    first, second = job.bores.order_by("name")
    RouteJoint.objects.create(
        job=job, first_bore=first, first_end="exit", second_bore=second, second_end="entry", how="pit"
    )
    replace(exported(job))
    assert not RouteJoint.objects.exists()
    assert RouteJoint.with_retired.get().retirement == Retirement.objects.get()


def test_an_operator_keeps_its_id_by_its_name_and_a_requirement_by_what_it_is_for(job):
    operators = dict(job.operators.values_list("name", "pk"))
    requirements = set(job.requirements.values_list("pk", flat=True))
    document = job_document()
    document["job"]["requirements"][0] |= {"crossing_m": 0.75}
    document["features"][MARK]["properties"]["operator"] = "Another Gas"
    replace(document)
    after = dict(job.operators.values_list("name", "pk"))
    assert after.pop("Another Gas") not in operators.values()
    assert after == operators
    assert set(job.requirements.values_list("pk", flat=True)) == requirements
    assert job.requirements.get(operator__name="Marrow Gas").crossing_m == 0.75


def test_damage_reported_of_the_job_alone_keeps_it_from_being_replaced(job):
    person = factories.PersonFactory()
    DamageReport.objects.create(
        job=job,
        kind="near_miss",
        happened_at=timezone.now(),
        facility_type="electric",
        what_happened="The reamer scraped a cable.",
        reported_by=person,
        reported_by_name="R. Pell",
    )
    with pytest.raises(JobFileError, match="signed or kept for good"):
        replace(job_document())


def test_what_hangs_on_a_retired_record_keeps_the_job_too(job):
    bore = job.bores.get(name="B-1")
    factories.DailyWalkFactory(bore=bore)
    factories.stand_aside(bore)
    with pytest.raises(JobFileError, match=r"kept for good \(daily walk"):
        replace(job_document())


def test_an_id_of_another_job_is_refused_where_the_other_was_replaced_since():
    document = job_document()
    document["features"][WATER_MARK]["id"] = with_id(1)
    load_job(job_bytes(document))
    del document["features"][WATER_MARK]["id"]
    replace(document)
    other = job_document()
    other["job"]["name"] = "Second"
    other["features"][WATER_MARK]["id"] = with_id(1)
    with pytest.raises(JobFileError, match="of another job has, or a retired one"):
        load_job(job_bytes(other))


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_walk_signed_at_the_same_moment_is_waited_for_and_keeps_the_job():
    job = load_job(job_bytes(job_document()))
    bore, person, outcomes = job.bores.get(name="B-1"), factories.PersonFactory(), []

    def run():
        try:
            replace(job_document())
            outcomes.append("replaced")
        except JobFileError as error:
            outcomes.append(str(error))
        finally:
            connection.close()

    loading = threading.Thread(target=run)
    with transaction.atomic():
        sign_walk(factories.DailyWalkFactory.build(bore=bore, walked_by=person), by=person)
        loading.start()
        while loading.is_alive() and not waiting_sessions():
            pass
    loading.join()
    assert len(outcomes) == 1
    assert "signed or kept for good (daily walk" in outcomes[0]
    assert DailyWalk.objects.get().bore.retired_at is None
    assert job.tickets.get().number == job_document()["features"][TICKET]["properties"]["number"]
