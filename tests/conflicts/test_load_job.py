"""A job file into the database: all of it as it stands, or nothing."""

import threading
import uuid

import pytest
from django.core.exceptions import ObjectDoesNotExist
from django.db import connection, transaction
from django.utils import timezone

from conflicts.exchange.whole_job import DEFAULT_ORGANISATION, export_job, load_job
from conflicts.models import Assessment, Bore, Pit
from locates import changes
from locates.errors import JobFileError
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    Organisation,
    Photo,
    Response,
    ResponsePaper,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from tests.factories import (
    DailyWalkFactory,
    JurisdictionRuleFactory,
    PhotoFactory,
    ResponsePaperFactory,
)
from tests.job_documents import (
    BORE,
    HOLE,
    MARK,
    PIT,
    TICKET,
    job_bytes,
    job_document,
    place,
    with_id,
)

RECORDS = (
    Organisation,
    Job,
    FacilityOperator,
    ClearanceRequirement,
    Ticket,
    Response,
    Mark,
    TestHole,
    SurfaceFeature,
    GroundPoint,
    Linework,
    Bore,
    Pit,
    Assessment,
)


def everything():
    """Every row of every record, to see that nothing changed."""
    return {model.__name__: sorted(model.objects.values_list(), key=str) for model in RECORDS}


def load(document, **options):
    return load_job(job_bytes(document), **options)


def refusal(document, **options):
    before = everything()
    with pytest.raises(JobFileError) as refused:
        load(document, **options)
    assert everything() == before
    return refused.value


@pytest.mark.django_db
def test_a_job_is_stored_with_every_member_of_its_file():
    job = load(job_document())
    job.refresh_from_db()
    assert (job.name, job.organisation.name) == ("Larkspur Lane", "Quillfeather Boring")
    assert (job.jurisdiction.code, job.time_zone, job.show_units) == ("MO", "America/Chicago", "metric")
    assert (job.mean_height_m, job.tolerance_zone_m, job.expose_reach_m) == (247.5, 0.6096, 1.0)
    assert (job.bore_horizontal_m, job.slope_ratio, job.test_hole_spacing_m) == (0.31, 0.015, 15.24)
    assert job.default_outside_m == {"electric": 0.1, "sewer_drain": 0.35}
    ticket = job.tickets.get()
    assert ticket.expires_at.isoformat() == "2026-03-26T04:59:59+00:00"
    assert (ticket.white_lined, ticket.boring_declared) == (True, False)
    responses = [
        (one.operator.name, one.response, one.sequence) for one in ticket.responses.order_by("sequence")
    ]
    assert responses == [
        ("Marrow Gas", "awaiting", 0),
        ("Marrow Gas", "marked", 1),
        ("Tallgrass Water", "extension_asked", 2),
    ]
    gas = job.marks.get(ref="G-1")
    assert (gas.operator.emergency_phone, gas.ticket, gas.is_intact) == ("555-0100", ticket, True)
    assert [list(position) for position in gas.geometry.coords] == job_document()["features"][MARK][
        "geometry"
    ]["coordinates"]
    assert job.test_holes.get(ref="TH-1").mark == gas
    assert job.test_holes.get(ref="TH-2").found is False
    assert job.surface_features.get().explained_by_mark == gas
    assert job.ground_points.get().elevation_m == 100.125
    assert job.linework.get().label == "north curb"
    bore = job.bores.get(name="B-1")
    assert bore.profile_stations_m == [0.0, 15.5, bore.alignment_length_m]
    assert (bore.profile_by, bore.profile_values_m, bore.rod_lengths_m) == ("depth", [0.0, 2.25, 0.75], [])
    assert bore.pits.get().end == "entry"
    rods = job.bores.get(name="B-2")
    assert (rods.rods_entry_elevation_m, rods.rod_headings_rad) == (100.0, [None, None, 1.5708, None])
    assert (rods.profile_by, rods.profile_stations_m) == ("", [])


@pytest.mark.django_db
def test_what_the_file_leaves_out_takes_its_default_or_stays_unknown():
    document = job_document()
    document["job"] = {"name": "Bare", "jurisdiction": "MO", "time_zone": "America/Chicago"}
    document["features"] = [document["features"][MARK]]
    properties = document["features"][0]["properties"]
    document["features"][0]["properties"] = {
        name: properties[name] for name in ("kind", "ref", "operator", "facility_type", "marked_at")
    }
    job = load(document)
    job.refresh_from_db()
    assert job.organisation.name == DEFAULT_ORGANISATION
    assert (job.mean_height_m, job.tolerance_zone_m, job.show_units) == (None, None, "feet")
    assert (job.bore_horizontal_m, job.bore_vertical_m, job.test_hole_m) == (0.30, 0.15, 0.03)
    assert (job.drilled_fixed_m, job.drilled_depth_ratio, job.slope_ratio) == (0.05, 0.05, 0.01)
    mark = job.marks.get()
    assert (mark.is_intact, mark.stated_width_m, mark.ticket, mark.re_marked_at) == (None, None, None, None)


@pytest.mark.django_db
def test_the_ids_of_the_file_are_kept_and_missing_ones_made():
    document = job_document()
    document["features"][MARK]["id"] = with_id(7)
    job = load(document)
    assert job.marks.get(ref="G-1").id == uuid.UUID(with_id(7))
    assert job.marks.get(ref="W-1").id.version == 4


@pytest.mark.django_db
def test_the_newest_version_of_the_rule_is_taken():
    old = JurisdictionRule.objects.get(code="MO")
    new = JurisdictionRuleFactory(code="MO", version=old.version + 1)
    assert load(job_document()).jurisdiction == new


@pytest.mark.django_db
def test_an_unknown_jurisdiction_is_refused_with_the_known_codes():
    document = job_document()
    document["job"]["jurisdiction"] = "Missouri"
    refused = refusal(document)
    assert (refused.field, refused.found) == ("job.jurisdiction", '"Missouri" (text)')
    assert "the code of a known rule: AL, AZ, " in refused.accepted


@pytest.mark.django_db
def test_a_job_without_any_tolerance_zone_is_refused():
    JurisdictionRuleFactory(code="ZZ", version=1, tolerance_zone_m=None, tolerance_is_sure=False)
    document = job_document()
    document["job"]["jurisdiction"] = "ZZ"
    assert load(document)
    document["job"] |= {"name": "Another"}
    del document["job"]["tolerance_zone_m"]
    refused = refusal(document)
    assert (refused.field, refused.found) == ("job.tolerance_zone_m", "nothing")
    assert "the rule of ZZ gives no width" in refused.accepted


@pytest.mark.django_db
def test_a_name_that_is_there_is_refused_and_the_job_stays():
    load(job_document())
    document = job_document()
    document["features"].pop(PIT)
    refused = refusal(document)
    assert refused.field == "job.name"
    assert refused.found == '"Larkspur Lane" (text), which a job of Quillfeather Boring has already'
    assert "--replace" in refused.accepted


@pytest.mark.django_db
def test_the_same_name_in_another_organisation_is_another_job():
    load(job_document())
    document = job_document()
    document["job"]["organisation"] = "Ninebark Utilities"
    load(document)
    assert Job.objects.filter(name="Larkspur Lane").count() == 2


@pytest.mark.django_db
def test_replacing_leaves_nothing_of_the_old_job_live_but_its_id():
    old = load(job_document())
    Assessment.objects.create(
        bore=old.bores.get(name="B-1"), inputs_digest="0" * 64, length_m=1.0, assessed_at=timezone.now()
    )
    document = job_document()
    del document["job"]["mean_height_m"], document["job"]["tolerance_zone_m"], document["job"]["requirements"]
    document["features"] = [document["features"][TICKET], document["features"][MARK]]
    new = load(document, replace=True)
    assert new.id == old.id
    new.refresh_from_db()
    assert (new.created_at, new.mean_height_m, new.tolerance_zone_m) == (old.created_at, None, None)
    assert new.changed_at > old.changed_at
    assert [mark.ref for mark in new.marks.all()] == ["G-1"]
    emptied = (
        new.bores,
        new.test_holes,
        new.surface_features,
        new.ground_points,
        new.linework,
        new.requirements,
    )
    assert [records.count() for records in emptied] == [0] * 6
    assert (Pit.objects.count(), Job.objects.count()) == (0, 1)
    # The figures of a retired bore stay with it.
    assert Assessment.objects.get().bore.retired_at is not None


@pytest.mark.django_db
def test_replacing_a_job_that_is_not_there_stores_it():
    assert load(job_document(), replace=True).bores.count() == 2


@pytest.mark.django_db
def test_a_file_with_ids_replaces_the_job_that_has_them():
    document = export_job(load(job_document()))
    assert load(document, replace=True).marks.count() == 2


@pytest.mark.django_db
@pytest.mark.parametrize("index", [TICKET, MARK, HOLE, BORE, PIT])
def test_an_id_of_another_job_is_refused(index):
    document = job_document()
    document["features"][index]["id"] = with_id(index)
    load(document)
    document["job"]["name"] = "Second"
    refused = refusal(document)
    assert (refused.feature, refused.field) == (index, "id")
    assert "of another job has" in refused.found


@pytest.mark.django_db
def test_an_id_of_another_job_is_refused_in_a_replacement_too():
    document = job_document()
    document["features"][MARK]["id"] = with_id(1)
    load(document)
    other = job_document()
    other["job"]["name"] = "Second"
    load(other)
    other["features"][MARK]["id"] = with_id(1)
    assert refusal(other, replace=True).feature == MARK


@pytest.mark.django_db
def test_whoever_listens_hears_of_the_load_inside_its_transaction(monkeypatch):
    heard = []
    monkeypatch.setattr(changes, "_handlers", [])
    changes.on_job_changed(
        lambda job_id: heard.append((job_id, transaction.get_connection().in_atomic_block))
    )
    job = load(job_document())
    assert heard == [(job.id, True)]
    load(job_document(), replace=True)
    assert heard == [(job.id, True)] * 2


@pytest.mark.django_db
def test_a_fault_after_the_records_are_stored_takes_them_all_back(monkeypatch):
    monkeypatch.setattr(changes, "_handlers", [])

    def fails(job_id):
        raise ObjectDoesNotExist(job_id)

    changes.on_job_changed(fails)
    before = everything()
    with pytest.raises(ObjectDoesNotExist):
        load(job_document())
    assert everything() == before


@pytest.mark.django_db
def test_the_length_of_an_alignment_is_that_on_the_ground_at_the_job_s_height():
    document = job_document()
    del document["job"]["mean_height_m"]
    vertices = document["features"][BORE]["properties"]["profile"]["vertices"]
    low = load(document).bores.get(name="B-1").alignment_length_m
    document["job"] |= {"name": "High", "mean_height_m": 1609.344}
    vertices[-1][0] = low * (1 + 1609.344 / 6371008.7714)
    high = load(document).bores.get(name="B-1").alignment_length_m
    assert high / low - 1 == pytest.approx(252.6e-6, abs=0.1e-6)


@pytest.mark.django_db
def test_a_large_job_costs_as_many_queries_as_a_small_one(django_assert_max_num_queries):
    document = job_document()
    document["features"] += [
        {
            "type": "Feature",
            "id": with_id(1000 + number),
            "geometry": {
                "type": "LineString",
                "coordinates": [place(number / 10, -9), place(number / 10, 9)],
            },
            "properties": {
                "kind": "mark",
                "ref": f"M-{number}",
                "operator": f"Operator {number % 7}",
                "facility_type": "electric",
                "marked_at": "2026-03-04T09:00:00-06:00",
            },
        }
        for number in range(300)
    ]
    with django_assert_max_num_queries(40):
        job = load(document)
    assert job.marks.count() == 302


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_of_two_loads_at_once_one_wins_and_the_other_is_told():
    together = threading.Barrier(2)
    outcomes = []

    def run():
        together.wait()
        try:
            outcomes.append(load(job_document()).name)
        except JobFileError as error:
            outcomes.append(error.field)
        finally:
            connection.close()

    loads = [threading.Thread(target=run) for _ in range(2)]
    for one in loads:
        one.start()
    for one in loads:
        one.join()
    assert sorted(outcomes) == ["Larkspur Lane", "job.name"]
    assert (Job.objects.count(), Mark.objects.count()) == (1, 2)


@pytest.mark.django_db(transaction=True, serialized_rollback=True)
def test_a_load_that_finds_the_name_taken_at_the_last_moment_is_told():
    """The other load commits after this one looked for the name and before it stores its own."""
    started, stored = threading.Event(), threading.Event()
    outcomes = []

    def run():
        started.wait()
        try:
            outcomes.append(load(job_document()).name)
        except JobFileError as error:
            outcomes.append(str(error))
        finally:
            connection.close()
            stored.set()

    second = threading.Thread(target=run)
    second.start()
    Organisation.objects.create(name="Quillfeather Boring")
    with transaction.atomic():
        load(job_document())
        started.set()
        # The other waits for this name; PostgreSQL says so, and only then is it let go.
        while not (_someone_waits() or stored.is_set()):
            pass
    second.join()
    assert len(outcomes) == 1
    assert "another load stored at this very moment" in outcomes[0]
    assert Job.objects.count() == 1


def _someone_waits():
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_stat_clear_snapshot()")  # else a transaction sees what it saw first
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity"
            " WHERE datname = current_database() AND wait_event_type = 'Lock'"
        )
        return cursor.fetchone()[0] > 0


@pytest.mark.django_db
def test_a_job_file_has_no_room_for_what_a_call_gave_and_leaves_it_unknown():
    load(job_document())
    ticket = Ticket.objects.get()
    assert (ticket.dates_rule, ticket.computed_dates, ticket.called_by) == (None, {}, "")
    for name in ("wanted_start_at", "response_due_at", "latest_start_at", "renew_by", "work_finished_at"):
        assert getattr(ticket, name) is None
    assert ticket.legal_start_at is not None


@pytest.mark.django_db
def test_a_job_about_which_something_is_signed_is_never_replaced():
    job = load(job_document())
    DailyWalkFactory(bore=job.bores.first())
    before = everything()
    error = refusal(job_document(), replace=True)
    assert error.field == "job.name"
    assert "signed or kept for good (daily walk)" in str(error)
    assert everything() == before


@pytest.mark.django_db
def test_a_job_that_holds_the_paper_of_an_operator_is_never_replaced():
    job = load(job_document())
    paper = ResponsePaperFactory(response=Response.objects.filter(ticket__job=job).first())
    error = refusal(job_document(), replace=True)
    assert error.field == "job.name"
    assert "kept for good (response paper)" in str(error)
    # A paper that was struck out is a record as well.
    ResponsePaper.objects.filter(pk=paper.pk).update(retired_at=timezone.now())
    assert "kept for good (response paper)" in str(refusal(job_document(), replace=True))
    assert ResponsePaper.with_retired.get(pk=paper.pk).content


@pytest.mark.django_db
def test_a_job_to_which_somebody_put_a_photo_is_never_replaced():
    job = load(job_document())
    PhotoFactory(job=job, subject_id=job.test_holes.first().pk)
    assert "kept for good (photo)" in str(refusal(job_document(), replace=True))
    assert Photo.objects.count() == 1
