"""What a bore needs, from the checks behind its release: each matter with the place that settles it."""

import pytest
from django.contrib.gis.geos import MultiPolygon

from conflicts.assess import store_assessment
from conflicts.bore_states import bore_state
from conflicts.models import Bore
from conflicts.needs_today import BoreNow, JobNow, Matter, Need, needs_today
from locates.models import Mark, Response, SurfaceFeature, TestHole, Ticket
from tests.factories import (
    MARKED_AT,
    PLANNED_FINISH_AT,
    MarkFactory,
    ResponseFactory,
    TestHoleFactory,
    box,
    line,
    point,
    small_job,
)

pytestmark = pytest.mark.django_db

NOW = MARKED_AT.replace(day=8)


@pytest.fixture
def bore() -> Bore:
    return small_job().bores.get()


def needs_of(*bores: Bore) -> list[Need]:
    """What bores need, assessed from their records."""
    now = []
    for one in bores:
        store_assessment(one.pk)
        job = JobNow(one.job_id, one.job.name, one.job.time_zone)
        state = bore_state(one, NOW)
        assert state.assessed is not None
        now.append(
            BoreNow(
                job, one.pk, one.name, one.planned_start_at, one.planned_finish_at, assessed=state.assessed
            )
        )
    return [need for subject in needs_today(now, [], NOW) for need in subject.needs]


def matters(*bores: Bore) -> list[Matter]:
    return [need.matter for need in needs_of(*bores)]


def test_a_bore_of_which_everything_is_settled_needs_nothing(bore):
    assert matters(bore) == []


def test_a_line_without_a_hole_is_to_be_dug_with_a_link_to_its_crossing(bore):
    TestHole.objects.all().delete()
    [need] = [need for need in needs_of(bore) if need.matter is Matter.UNEXPOSED]
    assert [(link.words, link.sequence) for link in need.crossings] == [
        (f"{Mark.objects.get().ref} at 1+64.0 ft", 0)
    ]
    assert need.sentence == "Dig a test hole to expose it before the bore."


def test_crossings_of_one_verdict_are_one_matter_in_the_order_of_stations(bore):
    for east_m in (70, 30):
        mark = MarkFactory(job=bore.job, ref=f"X{east_m}", geometry=line((east_m, -15), (east_m, 15)))
        ResponseFactory(ticket=Ticket.objects.get(), operator=mark.operator)
    [need] = [need for need in needs_of(bore) if need.matter is Matter.UNEXPOSED]
    assert [link.words.split()[0] for link in need.crossings] == ["X30", "X70"]
    assert [link.sequence for link in need.crossings] == [0, 2]


def test_a_mark_that_is_gone_makes_its_crossing_stale(bore):
    Mark.objects.update(is_intact=False)
    assert Matter.STALE in matters(bore)


def test_a_lapsed_ticket_is_told_with_what_to_do_and_not_with_every_station(bore):
    Ticket.objects.update(expires_at=PLANNED_FINISH_AT.replace(day=10))
    [need] = [need for need in needs_of(bore) if need.matter is Matter.TICKETS]
    assert need.sentence.endswith("renew it.")
    assert "covers" not in need.sentence


def test_a_pit_outside_every_work_area_is_told_though_nothing_lapsed(bore):
    Ticket.objects.update(area=MultiPolygon(box(-1, -20, 101, 20), srid=4326))
    [need] = [need for need in needs_of(bore) if need.matter is Matter.TICKETS]
    assert need.sentence == (
        "The entry pit is not inside the work area of a ticket in force. "
        "The exit pit is not inside the work area of a ticket in force."
    )


def test_a_planned_finish_that_is_not_recorded_holds(bore):
    Bore.objects.update(planned_finish_at=None)
    bore.refresh_from_db()
    [need] = [need for need in needs_of(bore) if need.matter is Matter.TICKETS]
    assert need.sentence.startswith("The planned finish is not recorded")


def test_an_answer_that_is_missing_names_the_ticket_to_record_it_on(bore):
    Response.objects.update(response="awaiting")
    [need] = [need for need in needs_of(bore) if need.matter is Matter.RESPONSES]
    assert need.ticket == Ticket.objects.get().number


def test_a_matter_of_the_job_is_told_once_of_two_bores_and_a_matter_of_a_bore_of_each(bore):
    Response.objects.update(response="awaiting")
    TestHole.objects.all().delete()
    twin = Bore.objects.get()
    twin.pk, twin.name = None, "Twin"
    twin._state.adding = True
    twin.save()
    found = matters(bore, twin)
    assert found.count(Matter.RESPONSES) == 1
    assert found.count(Matter.UNEXPOSED) == 2


def test_surface_evidence_and_stray_holes_go_to_different_places(bore):
    SurfaceFeature.objects.update(explained_by_mark=None)
    TestHoleFactory(job=bore.job, mark=None, position=point(20, 2))
    found = matters(bore)
    assert Matter.FEATURES in found
    assert Matter.HOLES in found


def test_a_closed_watch_hole_is_told(bore):
    TestHole.objects.update(is_open=False)
    [need] = [need for need in needs_of(bore) if need.matter is Matter.WATCH_HOLES]
    assert need.sentence.startswith("Closed: ")


def test_what_a_bore_needs_stands_by_what_takes_longest_to_settle(bore):
    TestHole.objects.all().delete()
    Response.objects.update(response="awaiting")
    SurfaceFeature.objects.update(explained_by_mark=None)
    Ticket.objects.update(expires_at=PLANNED_FINISH_AT.replace(day=10))
    found = matters(bore)
    assert found == sorted(found, key=list(Matter).index)
    assert found[0] is Matter.TICKETS
