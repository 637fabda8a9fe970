"""The invented jobs of the demo: what they promise to show."""

import json
from collections import Counter
from datetime import UTC, datetime
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command

from conflicts.assess import assess
from conflicts.demo.load import FINISHED_JOB, RUNNING_JOB, WRITTEN_FOR, load_demo_jobs
from conflicts.exchange.whole_job import export_job, load_job
from conflicts.models import CloseOut, CrossingWatch, DailyWalk, Release, Variance
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_margins import margin_figures
from conflicts.models.audit_unwatched import unwatched
from conflicts.release import standing_of
from locates.acting import acting
from locates.exchange.job_documents import document_text
from locates.exchange.positions import positions_of
from locates.models import FacilityType, Job, LedgerEntry, Photo, TestHole, Ticket

pytestmark = pytest.mark.django_db

EASTERN = ZoneInfo("America/New_York")
DRILLING_DAY = datetime(2026, 4, 21, 15, 0, tzinfo=UTC)


def noon(day):
    return datetime(day.year, day.month, day.day, 12, 0, tzinfo=EASTERN)


def documents(job, at):
    return {bore.name: assess(bore, at) for bore in job.bores.all()}


def holding(document):
    return {check["code"] for check in document["checks"] if check["holds"]}


def sentence(document, code):
    return next(check["sentence"] for check in document["checks"] if check["code"] == code)


def features(path, kind):
    document = json.loads(path.read_bytes())
    return [one["properties"] for one in document["features"] if one["properties"]["kind"] == kind]


@pytest.fixture
def jobs():
    with acting("command demo_data"):
        return load_demo_jobs(WRITTEN_FOR)


@pytest.fixture
def running(jobs):
    return jobs[0]


@pytest.fixture
def finished(jobs):
    return jobs[1]


@pytest.fixture
def main_run(running):
    return documents(running, noon(WRITTEN_FOR))["Main run"]


def crossings_of(document, ref):
    return [one for one in document["crossings"] if one["mark_ref"] == ref]


@pytest.mark.parametrize("path", [RUNNING_JOB, FINISHED_JOB], ids=lambda path: path.stem)
def test_a_file_is_small_and_its_positions_are_rounded_to_a_millimetre(path):
    assert len(path.read_bytes()) < 200_000
    for feature in json.loads(path.read_bytes())["features"]:
        for position in positions_of(feature["geometry"]):
            assert position == [round(degrees, 8) for degrees in position]


@pytest.mark.parametrize("path", [RUNNING_JOB, FINISHED_JOB], ids=lambda path: path.stem)
def test_the_telephone_numbers_are_those_kept_for_fiction(path):
    operators = json.loads(path.read_bytes())["job"]["operators"]
    assert operators
    for operator in operators:
        assert "-555-01" in operator["emergency_phone"]


def test_about_250_m_of_bore_meet_lines_of_every_type(running, main_run):
    assert main_run["length_m"] == pytest.approx(248.0, abs=0.01)
    assert running.bores.get(name="Street crossing").alignment_length_m == pytest.approx(21.6, abs=0.01)
    assert running.marks.count() >= 14
    assert {mark.facility_type for mark in running.marks.all()} == set(FacilityType)
    assert {one["facility_type"] for one in main_run["crossings"]} == set(FacilityType)


def test_every_verdict_is_there(main_run):
    verdicts = Counter(one["verdict"] for one in main_run["crossings"])
    assert verdicts == {"clear": 17, "unexposed": 4, "stale": 2, "short": 1, "overlap": 1}


def test_a_gas_main_runs_alongside_and_its_test_holes_keep_it_exposed(main_run):
    (crossing,) = crossings_of(main_run, "G-1")
    assert (crossing["kind"], crossing["verdict"]) == ("alongside", "clear")
    assert crossing["to_m"] - crossing["from_m"] > 60.0
    assert len([one for one in features(RUNNING_JOB, "test_hole") if one.get("mark_ref") == "G-1"]) == 4


def test_a_power_line_alongside_has_too_few_holes_and_the_next_one_is_wanted_far_down(main_run):
    (crossing,) = crossings_of(main_run, "E-4")
    assert (crossing["kind"], crossing["verdict"]) == ("alongside", "unexposed")
    assert crossing["separation_m"] > 0.0
    assert "station 6+16.8 is not exposed. Dig a test hole at station 7+44.7" in crossing["sentence"]


def test_the_duct_bank_is_wider_than_it_is_high(running, main_run):
    hole = running.test_holes.get(mark__ref="E-2")
    assert hole.outside_width_m > hole.outside_height_m
    assert crossings_of(main_run, "E-2")[0]["verdict"] == "clear"


def test_power_lies_under_telephone_in_one_trench(running, main_run):
    upper, lower = running.marks.get(ref="C-3"), running.marks.get(ref="E-3")
    assert upper.geometry.equals(lower.geometry)
    tops = [mark.test_holes.get().depth_to_top_m for mark in (upper, lower)]
    assert tops[0] + upper.test_holes.get().outside_width_m < tops[1]
    assert [crossings_of(main_run, ref)[0]["verdict"] for ref in ("C-3", "E-3")] == ["clear", "clear"]


def test_a_fiber_line_crosses_twice_round_an_oak(main_run):
    found = crossings_of(main_run, "C-2")
    assert [(one["kind"], one["verdict"]) for one in found] == [("crossing", "clear")] * 2


def test_the_alignment_is_curved_and_the_street_slopes(running):
    bore = running.bores.get(name="Main run")
    assert len(bore.alignment) > 5
    assert max(bore.ground_elevations_m) - min(bore.ground_elevations_m) > 5.0
    assert running.ground_points.count() >= 5  # the ground of the bore that has none of its own


def test_a_painted_dot_of_unknown_source_is_a_line_to_expose(running, main_run):
    assert running.marks.get(ref="U-1").geometry.geom_type == "Point"
    (crossing,) = crossings_of(main_run, "U-1")
    assert crossing["verdict"] == "unexposed"
    assert crossing["separation_m"] is None


def test_a_storm_drain_deeper_than_it_was_said_is_met(main_run):
    (crossing,) = crossings_of(main_run, "S-6")
    assert (crossing["verdict"], crossing["separation_m"] < 0.0) == ("overlap", True)


def test_the_bore_passes_over_a_sewer_and_under_the_rest(main_run):
    over = [one["mark_ref"] for one in main_run["crossings"] if one["passes"] == "over"]
    assert over == ["S-4"]


def test_both_ways_of_going_stale_are_there(main_run):
    stale = {one["mark_ref"]: one["sentence"] for one in main_run["crossings"] if one["verdict"] == "stale"}
    assert list(stale) == ["W-3", "G-3"]
    assert "reported gone" in stale["W-3"]
    assert "re-marked since" in stale["G-3"]


def test_one_hole_missed_its_line_for_good_and_one_until_the_next(main_run):
    missed = [one for one in features(RUNNING_JOB, "test_hole") if not one["found"]]
    assert [one["mark_ref"] for one in missed] == ["S-3", "W-5"]
    words = sentence(main_run, "surface")
    assert missed[0]["ref"] in words
    assert missed[1]["ref"] not in words


def test_some_holes_are_open_and_one_that_is_needed_was_filled(main_run):
    assert {one["is_open"] for one in features(RUNNING_JOB, "test_hole")} == {True, False}
    assert "S-5" in sentence(main_run, "watch_holes")


def test_a_pedestal_of_the_operator_who_has_not_answered_has_no_mark(main_run):
    assert "SF-12" in sentence(main_run, "surface")
    assert "Mossgate Cable" in sentence(main_run, "responses")
    assert sentence(main_run, "responses").count("awaiting") == 1


def test_one_ticket_runs_out_before_the_finish_and_a_stretch_has_none(running, main_run):
    ends = running.bores.get(name="Main run").planned_finish_at
    expiries = {ticket.number: ticket.expires_at for ticket in running.tickets.all()}
    assert expiries["HB-26-0914"] < ends < expiries["HB-26-0922"]
    gaps = [(gap["from_m"], gap["to_m"]) for gap in main_run["coverage_gaps"]]
    assert gaps[0] == pytest.approx((0.0, 112.0), abs=0.02)
    assert gaps[1] == pytest.approx((186.4, 191.9), abs=0.02)
    assert "HB-26-0914 expires" in sentence(main_run, "tickets")


def test_requirements_are_told_by_operator_and_by_type(running, main_run):
    scopes = {(one.operator is None, one.facility_type == "") for one in running.requirements.all()}
    assert scopes == {(True, True), (True, False), (False, True), (False, False)}
    required = {one["mark_ref"]: one["required_m"] for one in main_run["crossings"]}
    assert (required["C-2"], required["E-2"], required["S-2"]) == (0.3048, 0.4572, 0.3048)


@pytest.mark.parametrize("path", [RUNNING_JOB, FINISHED_JOB], ids=lambda path: path.stem)
def test_the_base_of_the_map_is_drawn_and_every_bore_has_its_pits_and_rig(path):
    drawn = {one["feature_type"] for one in features(path, "linework")}
    assert drawn >= {"curb", "edge_of_pavement", "sidewalk", "building", "property_line", "fence"}
    pits = Counter(one["bore_name"] for one in features(path, "pit"))
    bores = features(path, "bore")
    assert pits == {bore["name"]: 2 for bore in bores}
    assert all(len(bore["rig"]) == 7 for bore in bores)


def test_all_but_the_profile_of_the_main_run_holds(main_run):
    assert holding(main_run) == {
        "tickets",
        "responses",
        "crossings",
        "surface",
        "day",
        "watch_holes",
        "duties",
    }


def test_the_street_crossing_waits_for_an_answer_and_one_test_hole(running):
    document = documents(running, noon(WRITTEN_FOR))["Street crossing"]
    verdicts = {one["mark_ref"]: one["verdict"] for one in document["crossings"]}
    assert verdicts == {"C-2": "clear", "W-1": "clear", "S-1": "clear", "C-1": "unexposed", "G-1": "clear"}
    assert holding(document) == {"responses", "crossings", "day", "watch_holes", "duties"}
    assert document["coverage_gaps"] == []


def test_the_finished_job_has_every_crossing_clear_its_holes_filled_and_its_tickets_run_out(finished):
    document = documents(finished, noon(WRITTEN_FOR))["Loop run"]
    assert finished.show_units == "metric"
    assert finished.jurisdiction.code == "OR"
    assert finished.bores.get().rod_lengths_m
    assert {one["verdict"] for one in document["crossings"]} == {"clear"}
    assert {one["kind"] for one in document["crossings"]} == {"crossing", "alongside"}
    assert holding(document) == {"tickets", "responses", "day", "watch_holes"}
    assert not finished.test_holes.exclude(is_open=False).exists()
    assert not Ticket.objects.filter(job=finished, expires_at__gt=noon(WRITTEN_FOR)).exists()
    chain = {ticket.number: ticket.previous_number for ticket in finished.tickets.all()}
    assert chain == {"VP-26-0217": "", "VP-26-0401": "VP-26-0217"}


def test_with_its_holes_still_open_the_finished_bore_was_free_to_drill_on_its_day(finished):
    TestHole.objects.filter(job=finished).update(is_open=True)
    assert holding(documents(finished, DRILLING_DAY)["Loop run"]) == set()
    # Nothing raised: the command leaves with 0.
    call_command("assess", "Tinder Loop", "Loop run", at=DRILLING_DAY.isoformat(), stdout=StringIO())


@pytest.mark.parametrize(
    ("job", "bore"),
    [("Quillmark Street", "Main run"), ("Quillmark Street", "Street crossing"), ("Tinder Loop", "Loop run")],
)
@pytest.mark.usefixtures("jobs")
def test_the_command_leaves_with_1_where_something_holds(job, bore):
    with pytest.raises(SystemExit) as left:
        call_command("assess", job, bore, at=noon(WRITTEN_FOR).isoformat(), stdout=StringIO())
    assert left.value.code == 1


def but_the_walk(told: dict[str, dict]) -> dict[str, dict]:
    """Documents without what a job file does not carry: who walked the bore on the day."""
    return {
        name: {**one, "checks": [check for check in one["checks"] if check["code"] != "day"]}
        for name, one in told.items()
    }


def test_a_job_written_out_and_loaded_again_is_assessed_alike_to_the_last_digit(jobs):
    for job, at in zip(jobs, (noon(WRITTEN_FOR), DRILLING_DAY), strict=True):
        before = documents(job, at)
        written = export_job(job)
        # What was signed is never deleted: the first stands aside under another name and keeps its ids.
        Job.objects.filter(pk=job.pk).update(name=f"{job.name}, first")
        for feature in written["features"]:
            feature.pop("id", None)
        text = document_text(written)
        after = documents(load_job(text.encode()), at)
        assert but_the_walk(after) == but_the_walk(before)


def test_the_finished_job_tells_its_morning_by_a_signed_walk(finished):
    (walk,) = finished.bores.get().walks.all()
    assert (walk.walked_by_name, walk.marks_intact, walk.holes_open) == ("Ines Pallow", True, True)
    assert walk.walked_at.astimezone(ZoneInfo(finished.time_zone)).date() == DRILLING_DAY.date()
    assert LedgerEntry.objects.filter(kind="walk", record_id=walk.pk).count() == 1


def test_the_finished_job_was_released_by_the_checks_of_that_morning(finished):
    (release,) = Release.objects.filter(bore__job=finished)
    assert [check["code"] for check in release.document["checks"] if check["holds"]] == []
    assert {one["verdict"] for one in release.document["crossings"]} == {"clear"}
    standing = standing_of(release)
    assert not standing.is_in_force
    assert standing.reasons


def test_every_pass_of_every_crossing_of_the_finished_job_was_watched_with_more_than_required(finished):
    chosen = AuditFilters(finished.organisation_id)
    assert CrossingWatch.objects.filter(bore__job=finished).count() == 18
    assert unwatched(chosen, None, 9) == []
    found = margin_figures(chosen)
    at_signing, on_watches = found.releases, found.watches
    assert (at_signing.count, on_watches.count) == (6, 18)
    assert min(at_signing.least_m, on_watches.least_m) > 0.0


def test_the_sewer_that_was_crossed_was_looked_into_by_camera_afterwards(finished):
    (inspection,) = finished.bores.get().camera_inspections.all()
    assert (inspection.mark.ref, inspection.stage, inspection.result) == ("S1", "after", "no_damage")


def test_a_variance_of_the_running_job_is_asked_for_at_its_short_crossing_and_signed_by_nobody(
    running, main_run
):
    (asked,) = Variance.objects.filter(bore__job=running).with_course()
    (short,) = crossings_of(main_run, asked.mark.ref)
    assert short["verdict"] == "short"
    assert short["from_m"] <= asked.station_m <= short["to_m"]
    assert not hasattr(asked, "signature")
    assert not DailyWalk.objects.filter(bore__job=running).exists()


def test_every_hole_of_the_finished_job_has_a_small_drawn_photo(finished):
    for hole in finished.test_holes.all():
        (photo,) = Photo.objects.of(hole)
        assert photo.size_bytes < 40_000
        assert (photo.taken_at, photo.position.coords) == (hole.measured_at, hole.position.coords)


def test_nobody_can_log_in_as_the_people_of_the_finished_job(finished):
    people = User.objects.filter(membership__organisation=finished.organisation)
    assert {person.username for person in people} == {"ines.pallow", "tobin.marl"}
    assert not any(person.is_active or person.has_usable_password() for person in people)


def test_what_the_demo_signed_is_proved_by_the_ledger(jobs):
    call_command("verify_ledger", stdout=StringIO())


def test_the_finished_bore_is_closed_out_by_signature(finished):
    (closed,) = CloseOut.objects.filter(bore__job=finished)
    assert closed.closed_by_name == "Tobin Marl"
    assert {one["seen"] for row in closed.grounds["crossings"] for one in row["passes"]} == {True}
    assert LedgerEntry.objects.filter(kind="close_out", record_id=closed.pk).exists()
