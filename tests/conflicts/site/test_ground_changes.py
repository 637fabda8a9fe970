"""Which changes end a release: of what it rests on, near its bore, and no others; and how they are worded."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.desk.sign_walk import sign_walk
from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.ground_changes import NAMES, NEAR_M, changes_since, last_event_id
from conflicts.models import (
    Bore,
    CameraInspection,
    CloseOut,
    CrossingWatch,
    DailyWalk,
    DamageReport,
    HolePass,
    HolePassWithdrawal,
    Pit,
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.release import sign_release, standing_of
from locates.acting import acting
from locates.models import (
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    Response,
    SurfaceFeature,
    TestHole,
    Ticket,
)
from tests import factories
from tests.factories import line, point
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

NOW = factories.PLANNED_START_AT
NEAR = NEAR_M - 0.2  # the plane of the tests and the ellipsoid agree to millimetres at this distance
FAR = NEAR_M + 0.2
PILOT = {"pass_made": "pilot"}
ALL_WELL = {"marks_intact": True, "device_checked": True, "device": "receiver 7", "holes_open": True}


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


@pytest.fixture
def person():
    return factories.PersonFactory(first_name="Wren", last_name="Aldous")


@pytest.fixture
def told(bore):
    """What has changed since the last question, as "what done"."""
    known = [last_event_id()]

    def since(of=bore):
        found = changes_since(of, known[0])
        known[0] = last_event_id()
        return [f"{one.what} {one.done}" for one in found]

    return since


def asked(bore, by, **values):
    what = {"subject": "check", "check_code": "watch_holes", "reason": "Two people look."}
    return request_variance(Variance(bore=bore, **{**what, **values}), by=by)


def sign(variance):
    until = timezone.now() + timedelta(days=1)
    signature = VarianceSignature(variance=variance, valid_until=until)
    return sign_variance(signature, by=factories.PersonFactory())


def look(bore, by):
    return CameraInspection.objects.create(
        bore=bore, mark=bore.job.marks.first(), stage="before", inspected_at=NOW, inspected_by="Lowmoor Pipe",
        recorded_by=by, recorded_by_name="R. Pell", result="no_damage",
    )  # fmt: skip


def close(bore, by):
    return CloseOut.objects.create(
        bore=bore, closed_by=by, closed_by_name="R. Pell", closed_at=NOW, grounds={}
    )


@pytest.mark.parametrize(
    ("model", "values", "words"),
    [
        (Job, {"name": "Birch Street"}, "the job changed"),
        (ClearanceRequirement, {"crossing_m": 0.9}, "a required clearance changed"),
        (FacilityOperator, {"name": "Sedge Gas"}, "operator Sedge Gas changed"),
        (Ticket, {"number": "T-7"}, "ticket T-7 changed"),
        (Response, {"response": "awaiting"}, "an operator\N{RIGHT SINGLE QUOTATION MARK}s answer changed"),
        (Mark, {"ref": "M-7"}, "mark M-7 changed"),
        (TestHole, {"ref": "H-7"}, "test hole H-7 changed"),
        (SurfaceFeature, {"ref": "S-7"}, "surface feature S-7 changed"),
        (GroundPoint, {"elevation_m": 0.2}, "a ground point changed"),
        (Bore, {"final_diameter_m": 0.25}, "the bore changed"),
        (Mark, {"retired_at": NOW, "ref": "M-7"}, "mark M-7 retired"),
    ],
)
def test_a_change_of_what_the_bore_rests_on_is_told_by_its_name(told, model, values, words):
    model.objects.update(**values)
    assert told() == [words]


def test_what_is_added_retired_brought_back_and_deleted_is_told_so(bore, told):
    hole = factories.TestHoleFactory(job=bore.job, ref="H-9")
    assert told() == ["test hole H-9 added"]
    factories.stand_aside(hole)
    assert told() == ["test hole H-9 retired"]
    TestHole.with_retired.filter(pk=hole.pk).update(retired_at=None)
    assert told() == ["test hole H-9 brought back"]
    TestHole.objects.filter(pk=hole.pk).delete()
    assert told() == ["test hole H-9 deleted"]


def test_the_rule_of_the_job_counts_and_no_other(bore, told):
    JurisdictionRule.objects.exclude(pk=bore.job.jurisdiction_id).update(citation="Another Code 2")
    assert told() == []
    JurisdictionRule.objects.filter(pk=bore.job.jurisdiction_id).update(citation="Another Code 2")
    assert told() == ["the rule changed"]


def test_the_pits_of_the_bore_count_and_not_those_of_another(bore, told):
    other = factories.BoreFactory(job=bore.job)
    factories.PitFactory(bore=other)
    Pit.objects.filter(bore=other).update(area=factories.box(-9, -1, 0, 1))
    assert told() == []
    Pit.objects.filter(bore=bore, end="entry").update(area=factories.box(-9, -1, 0, 1))
    assert told() == ["a pit changed"]
    assert told(other) == []


def test_a_pass_counts_that_left_the_hole_wider_than_planned_and_its_withdrawal(bore, told):
    planned_m = bore.final_diameter_m
    as_planned = factories.HolePassFactory(bore=bore, diameter_m=planned_m + 0.0005)
    factories.PullbackFactory(bore=bore)
    factories.HolePassWithdrawalFactory(hole_pass=as_planned)
    factories.HolePassFactory(bore=factories.BoreFactory(job=bore.job), diameter_m=planned_m + 0.05)
    assert told() == []
    wider = factories.HolePassFactory(bore=bore, diameter_m=planned_m + 0.0006)
    assert told() == ["a pass that left the hole wider than planned logged"]
    factories.HolePassWithdrawalFactory(hole_pass=wider)
    assert told() == ["a pass that left the hole wider than planned withdrawn"]


@pytest.fixture
def of_the_ground(bore):
    """A ground point of the job so far north of the bore, or where it says."""
    return lambda north, east=50: factories.GroundPointFactory(job=bore.job, position=point(east, north))


def test_a_ground_point_counts_within_100_ft_of_the_bore_and_not_beyond(told, of_the_ground):
    far = of_the_ground(FAR)
    assert told() == []
    GroundPoint.objects.filter(pk=far.pk).update(version=9)
    assert told() == []
    of_the_ground(NEAR)
    assert told() == ["a ground point added"]


def test_a_ground_point_that_is_moved_to_the_bore_or_away_from_it_counts(told, of_the_ground):
    made = of_the_ground(FAR)
    for north, count in ((NEAR, 1), (FAR, 1), (FAR + 9, 0)):
        told()
        GroundPoint.objects.filter(pk=made.pk).update(position=point(50, north))
        assert len(told()) == count


def test_past_the_ends_of_the_bore_a_ground_point_is_as_near_as_the_end(told, of_the_ground):
    of_the_ground(0, east=-NEAR)
    of_the_ground(0, east=-FAR)
    assert told() == ["a ground point added"]


def test_a_mark_a_test_hole_and_a_feature_count_however_far_they_lie(bore, told):
    factories.MarkFactory(
        job=bore.job, ref="M-9", operator=bore.job.operators.get(), geometry=line((50, 900), (50, 940))
    )
    factories.TestHoleFactory(job=bore.job, ref="H-9", position=point(50, 900))
    factories.SurfaceFeatureFactory(job=bore.job, ref="S-9", position=point(50, 900))
    assert told() == ["mark M-9 added", "test hole H-9 added", "surface feature S-9 added"]


def test_a_ticket_and_an_answer_count_however_far_the_work_area_lies(bore, told):
    far = factories.MultiPolygon(factories.box(0, 3000, 100, 3100), srid=4326)
    ticket = factories.TicketFactory(job=bore.job, number="T-9", area=far)
    factories.ResponseFactory(ticket=ticket, operator=bore.job.operators.get())
    assert told() == ["ticket T-9 added", "an operator\N{RIGHT SINGLE QUOTATION MARK}s answer added"]


def test_the_same_records_of_another_job_are_none_of_its_business(told):
    other = factories.small_job()
    for model in (Ticket, Mark, TestHole, SurfaceFeature, GroundPoint, FacilityOperator):
        model.objects.filter(job=other).update(version=9)
    Response.objects.filter(ticket__job=other).update(version=9)
    Job.objects.filter(pk=other.pk).update(name="Birch Street")
    assert told() == []


def test_a_walk_counts_where_one_of_its_answers_is_no(bore, told, person):
    other = factories.BoreFactory(job=bore.job)
    sign_walk(DailyWalk(bore=bore, **ALL_WELL), by=person)
    sign_walk(DailyWalk(bore=other, **ALL_WELL | {"marks_intact": False}), by=person)
    assert told() == []
    for answer in ("marks_intact", "device_checked", "holes_open"):
        sign_walk(DailyWalk(bore=bore, **ALL_WELL | {answer: False}), by=person)
        assert told() == ["the day\N{RIGHT SINGLE QUOTATION MARK}s walk added"]


def test_a_variance_counts_once_it_is_signed_and_when_it_ends(bore, told, person):
    other = factories.BoreFactory(job=bore.job)
    variance, of_other = asked(bore, person), asked(other, person)
    assert told() == []
    sign(of_other)
    end_variance(VarianceEnd(variance=of_other, reason="Done."), by=person)
    assert told() == []
    sign(variance)
    assert told() == ["a variance signed"]
    end_variance(VarianceEnd(variance=variance, reason="Done."), by=person)
    assert told() == ["a variance ended"]


def test_a_camera_inspection_and_a_close_out_count_for_their_own_bore(bore, told, person):
    other = factories.BoreFactory(job=bore.job)
    look(other, person)
    close(other, person)
    assert told() == []
    look(bore, person)
    close(bore, person)
    assert told() == ["a camera inspection added", "the close-out added"]


def test_a_withdrawal_counts_for_its_own_bore(bore, told, person):
    now = timezone.now()
    of = {"document": {}, "inputs_digest": "0" * 64, "grounds_digest": "0" * 64, "last_event_id": 0}
    of |= {"shift_from": now, "shift_until": now + timedelta(hours=4), "crew": "Crew 2", "rig": "Rig 7"}
    of |= {"signed_by": person, "signed_by_name": "R. Pell", "signed_at": now}
    mine, other = (
        Release.objects.create(bore=one, **of) for one in (bore, factories.BoreFactory(job=bore.job))
    )
    assert told() == []
    withdraw_release(ReleaseWithdrawal(release=other, reason="Leak."), by=person)
    assert told() == []
    withdraw_release(ReleaseWithdrawal(release=mine, reason="Leak."), by=person)
    assert told() == ["a release of the bore withdrawn"]


def test_a_report_of_damage_counts_for_its_bore_and_without_one_for_all_of_the_job(bore, told, person):
    other = factories.BoreFactory(job=bore.job)
    shared = {"job": bore.job, "happened_at": NOW, "facility_type": "gas_oil_steam", "what_happened": "Wire.",
              "reported_by": person, "reported_by_name": "R. Pell"}  # fmt: skip
    DamageReport.objects.create(**shared, bore=other, kind="damage")
    assert told() == []
    DamageReport.objects.create(**shared, bore=bore, kind="damage")
    DamageReport.objects.create(**shared, bore=None, kind="near_miss")
    assert told() == ["damage reported", "a near miss reported"]


def test_what_no_assessment_reads_counts_never(bore, told, person):
    Linework.objects.filter(job=bore.job).update(version=9)
    factories.PhotoFactory(job=bore.job, subject_id=bore.job.test_holes.get().pk)
    CrossingWatch.objects.create(
        bore=bore, mark=bore.job.marks.get(), kind="crossing", station_m=50.0, **PILOT, seen=True, gap_m=0.1,
        required_m=0.305, watched_by=person, watched_by_name="R. Pell", watched_at=NOW,
    )  # fmt: skip
    Job.objects.filter(pk=bore.job_id).update(changed_at=NOW)
    factories.BoreFactory(job=bore.job)
    assert told() == []


def test_every_table_that_counts_is_told_of_somewhere_here():
    """A table that joins `NAMES` needs its case above."""
    shown = {Job, JurisdictionRule, ClearanceRequirement, FacilityOperator, Ticket, Response, Mark, TestHole}
    shown |= {SurfaceFeature, GroundPoint, Bore, Pit, DailyWalk, VarianceSignature, VarianceEnd}
    shown |= {CameraInspection, CloseOut, DamageReport, HolePass, HolePassWithdrawal, ReleaseWithdrawal}
    assert {model._meta.db_table for model in shown} == set(NAMES)


def test_changes_come_in_order_with_who_made_them_and_when(bore, person):
    known, before = last_event_id(), timezone.now()
    with acting("page /x/", person):
        Mark.objects.update(ref="M-7")
    Ticket.objects.update(number="T-7")
    first, second = changes_since(bore, known)
    assert (first.what, first.by, second.what, second.by) == ("mark M-7", "Wren Aldous", "ticket T-7", "")
    assert before - timedelta(minutes=1) < first.happened_at <= second.happened_at
    assert changes_since(bore, last_event_id()) == []


@pytest.mark.parametrize(
    ("count", "last"), [(3, None), (4, "1 more change since."), (6, "3 more changes since.")]
)
def test_a_lapsed_release_tells_the_first_changes_as_sentences_and_counts_the_rest(person, count, last):
    bore, now = bore_of_today(), timezone.now()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    sign_release(release, by=person)
    with acting("page /x/", person):
        for number in range(count):
            Ticket.objects.update(number=f"T-{number}")
    reasons = standing_of(Release.objects.with_course().get()).reasons
    assert [one.startswith(f"Ticket T-{n} was changed ") for n, one in enumerate(reasons[:3])] == [True] * 3
    assert all(one.endswith(" by Wren Aldous.") for one in reasons[:3])
    assert list(reasons[3:]) == ([] if last is None else [last])
