"""The checks behind a release: each passes on a job with nothing missing, and holds on what it is for."""

from datetime import timedelta

import pytest

from conflicts.assess import assess
from tests import factories
from tests.factories import box, line, point

AT = factories.PLANNED_START_AT

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    job = factories.small_job()
    factories.DailyWalkFactory(bore=job.bores.get(), walked_at=AT)
    return job


def held(job, at=AT):
    """Sentences of the checks that hold, by code."""
    document = assess(job.bores.get(), at)
    return {check["code"]: check["sentence"] for check in document["checks"] if check["holds"]}


def passed(job, at=AT):
    """Sentences of the checks that pass, by code."""
    document = assess(job.bores.get(), at)
    return {check["code"]: check["sentence"] for check in document["checks"] if not check["holds"]}


def change(record, **values):
    for field, value in values.items():
        setattr(record, field, value)
    record.save()


def test_nothing_holds_where_nothing_is_missing(job):
    assert held(job) == {}


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"legal_start_at": None}, "has no known legal start"),
        ({"expires_at": None}, "has no known expiry"),
        (
            {"legal_start_at": AT + timedelta(minutes=1)},
            "does not start before Tue Nov 10, 2026, 8:01 am EST",
        ),
        ({"expires_at": AT}, "expired Tue Nov 10, 2026, 8:00 am EST"),
        ({"expires_at": factories.PLANNED_FINISH_AT - timedelta(minutes=1)}, "before the planned finish"),
    ],
)
def test_a_ticket_that_is_not_in_force_to_the_planned_finish_holds(job, values, words):
    change(job.tickets.get(), **values)
    holding = held(job)
    assert words in holding["tickets"]
    assert "0+00.0 to 3+28.1" in holding["tickets"]
    assert "No ticket is in force" in holding["responses"]


def test_a_ticket_to_the_very_moment_of_the_planned_finish_is_enough(job):
    change(job.tickets.get(), expires_at=factories.PLANNED_FINISH_AT)
    assert held(job) == {}


def test_a_job_without_a_ticket_holds(job):
    job.tickets.get().responses.all().delete()
    job.tickets.get().delete()
    assert "No work area at all covers stations 0+00.0 to 3+28.1: call a ticket in" in held(job)["tickets"]


def test_a_ticket_of_another_stretch_neither_covers_nor_is_asked_for_answers(job):
    elsewhere = factories.TicketFactory(job=job, area=factories.MultiPolygon(box(0, 30, 100, 60)))
    factories.ResponseFactory(ticket=elsewhere, operator__name="Lowmoor Water", response="awaiting")
    assert held(job) == {}


def test_an_unknown_planned_finish_holds(job):
    change(job.bores.get(), planned_finish_at=None)
    assert "planned finish is not recorded" in held(job)["tickets"]


def test_a_planned_finish_that_is_past_holds_as_an_unknown_one_does(job):
    factories.DailyWalkFactory(bore=job.bores.get(), walked_at=factories.PLANNED_FINISH_AT)
    assert held(job, at=factories.PLANNED_FINISH_AT) == {}
    sentence = held(job, at=factories.PLANNED_FINISH_AT + timedelta(minutes=1))["tickets"]
    assert "The planned finish Wed Nov 11, 2026, 4:00 pm EST is past: enter a new one" in sentence


def test_the_uncovered_stations_are_named(job):
    change(job.tickets.get(), area=factories.MultiPolygon(box(-20, -20, 60, 20), box(70, -20, 120, 20)))
    document = assess(job.bores.get(), AT)
    (gap,) = document["coverage_gaps"]
    assert (gap["from_m"], gap["to_m"]) == pytest.approx((60.0, 70.0), abs=0.002)
    assert "covers stations 1+96.9 to 2+29.7" in held(job)["tickets"]


def test_a_pit_outside_the_work_area_holds(job):
    change(job.bores.get().pits.get(end="exit"), area=box(119, -1, 122, 1))
    assert "exit pit is not inside the work area" in held(job)["tickets"]


@pytest.mark.parametrize("answer", ["awaiting", "partly_marked", "extension_asked", "standing_by"])
def test_an_answer_that_is_not_final_holds(job, answer):
    change(job.tickets.get().responses.get(), response=answer)
    assert f"{answer.replace('_', ' ')}. Get its final answer" in held(job)["responses"]


@pytest.mark.parametrize("answer", ["awaiting", "extension_asked"])
def test_an_answer_that_is_not_final_tells_of_a_deadline_that_has_passed(job, answer):
    """The check holds before and after alike; only its words say that the operator is late."""
    ticket = job.tickets.get()
    change(ticket.responses.get(), response=answer)
    said = answer.replace("_", " ")
    change(ticket, response_due_at=AT + timedelta(minutes=1))
    assert f": {said}. Get its final answer" in held(job)["responses"]
    change(ticket, response_due_at=AT)
    assert (
        f": {said}, and the deadline passed Tue Nov 10, 2026, 8:00 am EST. Get its final answer"
        in held(job)["responses"]
    )


def test_a_deadline_changes_no_figure(job):
    before = assess(job.bores.get(), AT)["inputs_digest"]
    change(job.tickets.get(), response_due_at=AT)
    assert assess(job.bores.get(), AT)["inputs_digest"] == before


def test_only_the_latest_answer_of_an_operator_counts(job):
    ticket = job.tickets.get()
    operator = ticket.responses.get().operator
    factories.ResponseFactory(ticket=ticket, operator=operator, response="awaiting")
    assert "responses" in held(job)
    factories.ResponseFactory(ticket=ticket, operator=operator, response="marked")
    assert held(job) == {}


def test_an_answer_dated_after_the_moment_has_not_come_and_holds(job):
    answer = job.tickets.get().responses.get()
    change(answer, responded_at=AT + timedelta(minutes=1))
    assert ": marked, but answered Tue Nov 10, 2026, 8:01 am EST, later than now." in held(job)["responses"]
    change(answer, responded_at=AT)
    assert held(job) == {}


def test_a_final_answer_without_a_time_is_a_caution_beside_the_yes(job):
    ticket = job.tickets.get()
    change(ticket.responses.get(), responded_at=None)
    sentence = passed(job)["responses"]
    operator = ticket.responses.get().operator.name
    assert (
        f"Caution: {operator} on ticket {ticket.number} answered marked, at a time that is not recorded."
        in sentence
    )
    change(ticket.responses.get(), responded_at=AT)
    assert "not recorded" not in passed(job)["responses"]


def test_an_answer_without_a_time_that_is_not_final_holds(job):
    change(job.tickets.get().responses.get(), response="partly_marked", responded_at=None)
    assert "partly marked. Get its final answer." in held(job)["responses"]


def test_a_ticket_that_names_no_operator_holds(job):
    job.tickets.get().responses.all().delete()
    assert "names no operator" in held(job)["responses"]


def test_marked_without_a_mark_and_no_facilities_with_one_both_hold(job):
    ticket = job.tickets.get()
    change(ticket.responses.get(), response="no_facilities")
    factories.ResponseFactory(ticket=ticket, operator__name="Lowmoor Water", response="marked")
    sentence = held(job)["responses"]
    assert 'answered "no facilities", but a mark of it is logged' in sentence
    assert "Lowmoor Water on ticket" in sentence
    assert 'answered "marked", but no mark of it is logged' in sentence


def test_a_crossing_that_is_not_clear_holds_by_name(job):
    change(job.marks.get(), ref="G-5")
    change(job.test_holes.get(), depth_to_top_m=1.6)
    assert "Short: G-5 at 1+64.0." in held(job)["crossings"]


def test_no_line_at_all_is_no_pass_while_operators_are_silent(job):
    job.test_holes.all().delete()
    job.surface_features.all().delete()
    job.marks.all().delete()
    change(job.tickets.get().responses.get(), response="awaiting")
    assert "No line is logged near the bore" in held(job)["crossings"]
    change(job.tickets.get().responses.get(), response="no_facilities")
    assert held(job) == {}


def test_a_surface_feature_needs_a_mark_of_its_type_or_a_reason(job):
    feature = job.surface_features.get()
    change(feature, explained_by_mark=None)
    assert "explained by no mark of its type" in held(job)["surface"]
    other = factories.MarkFactory(
        job=job,
        operator=job.operators.get(),
        facility_type="potable_water",
        geometry=line((10, 15), (12, 15)),
    )
    change(feature, explained_by_mark=other)
    assert "surface" in held(job)
    change(feature, signed_off_reason="Abandoned, confirmed by its operator")
    assert held(job) == {}


def test_a_surface_feature_far_from_bore_and_pits_is_not_asked_about(job):
    change(job.surface_features.get(), explained_by_mark=None, position=point(50, 3.2))
    assert held(job) == {}
    change(job.surface_features.get(), position=point(105, 0.0))
    assert "surface" in held(job)  # 3 m beyond the exit pit


def test_a_surface_feature_whose_place_may_be_off_is_asked_about_farther_away(job):
    feature = job.surface_features.get()
    change(feature, explained_by_mark=None, position=point(50, 9.0))
    assert held(job) == {}
    change(feature, error_m=6.0)
    assert "surface" in held(job)  # 9 m less the 6 m that it may be off is within 10 ft


def test_a_line_that_nobody_marked_holds(job):
    factories.TestHoleFactory(job=job, ref="H-7", mark=None, position=point(60, 10))
    assert "H-7 found a line that nobody marked" in held(job)["surface"]


def test_a_hole_that_missed_its_line_holds_until_a_later_one_beside_it_found_it(job):
    mark = job.marks.get()
    factories.TestHoleFactory(
        job=job, ref="H-8", mark=mark, found=False, depth_to_top_m=None, dug_depth_m=1.5,
        position=point(50, 2.0), measured_at=factories.MEASURED_AT,
    )  # fmt: skip
    assert "H-8 did not find" in held(job)["surface"]
    factories.TestHoleFactory(
        job=job, ref="H-9", mark=mark, position=point(50.1, 2.3),
        measured_at=factories.MEASURED_AT + timedelta(hours=1),
    )  # fmt: skip
    assert held(job) == {}


def test_a_hole_near_the_bore_that_missed_a_line_beside_it_holds(job):
    mark = factories.MarkFactory(
        job=job, ref="W-1", operator=job.operators.get(), geometry=line((0, 15), (100, 15))
    )
    missed = factories.TestHoleFactory(
        job=job,
        ref="H-8",
        mark=mark,
        found=False,
        depth_to_top_m=None,
        dug_depth_m=1.5,
        position=point(50, 15),
    )
    assert "H-8 did not find" in held(job)["surface"]
    change(missed, position=point(50, 15.5))  # farther from the bore than 50 ft
    assert held(job) == {}


def test_heights_of_a_hole_and_of_the_bore_in_two_datums_hold(job):
    hole = job.test_holes.get()
    change(hole, ground_elevation_m=1.4)
    assert "surface" not in held(job)
    change(hole, ground_elevation_m=100.0)  # the bore's ground is flat at 0
    sentence = held(job)["surface"]
    assert (
        f"The ground is at 328 ft 1 in by test hole {hole.ref} and at 0 in by the bore beside it" in sentence
    )
    assert job.bores.get().ground_stations_m == []


def test_a_line_found_outside_the_tolerance_zone_of_its_mark_holds(job):
    hole = job.test_holes.get()
    change(hole, position=point(50.6, 0))
    assert "surface" not in held(job)
    change(hole, position=point(50.7, 0))
    assert "2 ft 3 1/2 in from its mark, outside the tolerance zone" in held(job)["surface"]


def test_a_hole_dated_after_the_moment_holds(job):
    change(job.test_holes.get(), measured_at=AT + timedelta(minutes=1))
    assert "later than now. Correct it." in held(job)["surface"]


def test_a_hole_that_is_closed_or_not_known_to_be_open_holds(job):
    change(job.test_holes.get(), is_open=False)
    assert "Open them for the crossing watch" in held(job)["watch_holes"]
    change(job.test_holes.get(), is_open=None)
    assert "Not known to be open" in held(job)["watch_holes"]


def test_a_width_from_a_doubtful_rule_holds_until_the_job_states_its_own(job):
    change(job, jurisdiction=factories.seeded_rule("GA"))
    assert "tolerance zone in GA is not sure" in held(job)["duties"]
    change(job, tolerance_zone_m=0.6096)
    assert held(job) == {}


def test_boring_must_be_declared_where_the_law_asks(job):
    change(job, jurisdiction=factories.seeded_rule("IL"), tolerance_zone_m=0.6096)
    change(job.tickets.get(), boring_declared=None)
    assert "does not declare the boring, as IL asks" in held(job)["duties"]
    change(job.tickets.get(), boring_declared=True)
    assert held(job) == {}


def test_every_line_must_be_exposed_where_the_law_asks(job):
    factories.MarkFactory(
        job=job, ref="S-1", operator=job.operators.get(), facility_type="sewer_drain",
        geometry=line((70, -15), (70, 15)),
    )  # fmt: skip
    sentence = held(job)["duties"]
    assert "VA asks that every line in the path is exposed" in sentence
    assert "Gravity sewer not exposed: S-1." in sentence


def test_an_operator_of_a_line_at_the_bore_whom_no_ticket_names_is_a_caution_and_holds_nothing(job):
    ghost = factories.FacilityOperatorFactory(job=job, name="Ghost Gas")
    mark = factories.MarkFactory(job=job, operator=ghost, ref="G-9", geometry=line((80, -15), (80, 15)))
    factories.TestHoleFactory(job=job, mark=mark, position=point(80, 0), depth_to_top_m=0.4)
    [check] = [one for one in assess(job.bores.get(), AT)["checks"] if one["code"] == "responses"]
    assert not check["holds"]
    assert "Caution: Ghost Gas, whose G-9 the bore meets, is on no ticket in force." in check["sentence"]
    assert "ask that it be notified" in check["sentence"]
    factories.ResponseFactory(ticket=job.tickets.get(), operator=ghost)
    [check] = [one for one in assess(job.bores.get(), AT)["checks"] if one["code"] == "responses"]
    assert check["sentence"] == "Every operator on the tickets in force has answered."
