"""The database refuses watches, camera inspections, close-outs and reports of damage that cannot be."""

from math import inf, nan

import pytest
from django.db import IntegrityError, transaction

from conflicts.models import CameraInspection, CloseOut, CrossingWatch, DamageReport
from conflicts.models.crossing_watch import PassMade
from tests import factories
from tests.factories import PLANNED_START_AT

pytestmark = pytest.mark.django_db


def watch(**values):
    bore = factories.BoreFactory()
    sound = {
        "bore": bore,
        "mark": factories.MarkFactory(job=bore.job),
        "kind": "crossing",
        "station_m": 50.0,
        "pass_made": PassMade.PILOT,
        "seen": True,
        "gap_m": 0.9,
        "head_depth_m": 2.0,
        "required_m": 0.3,
        "hole_bottom_m": 2.4,
        "watched_by": factories.PersonFactory(),
        "watched_by_name": "R. Pell",
        "watched_at": PLANNED_START_AT,
    }
    return CrossingWatch.objects.create(**{**sound, **values})


def camera(**values):
    bore = factories.BoreFactory()
    sound = {
        "bore": bore,
        "mark": factories.MarkFactory(job=bore.job),
        "stage": "after",
        "inspected_at": PLANNED_START_AT,
        "inspected_by": "Lark Cameras",
        "result": "no_damage",
        "recorded_by": factories.PersonFactory(),
        "recorded_by_name": "R. Pell",
    }
    return CameraInspection.objects.create(**{**sound, **values})


def close_out(**values):
    sound = {
        "closed_at": PLANNED_START_AT,
        "closed_by": factories.PersonFactory(),
        "closed_by_name": "R. Pell",
        "grounds": {},
    }
    return CloseOut.objects.create(bore=factories.BoreFactory(), **{**sound, **values})


def damage(**values):
    sound = {
        "job": factories.JobFactory(),
        "kind": "damage",
        "happened_at": PLANNED_START_AT,
        "facility_type": "electric",
        "what_happened": "The reamer tore a cable.",
        "reported_by": factories.PersonFactory(),
        "reported_by_name": "R. Pell",
    }
    return DamageReport.objects.create(**{**sound, **values})


# Constraint, record, with what it is added.
REFUSED = [
    ("watch_kind_known", watch, {"kind": "above"}),
    ("watch_pass_made_known", watch, {"pass_made": "washing"}),
    *(
        (f"watch_{column}_not_negative", watch, {column: value})
        for column in ("station_m", "required_m", "head_depth_m", "hole_bottom_m")
        for value in (-0.001, inf, nan)
    ),
    *(("watch_gap_m_finite", watch, {"gap_m": value}) for value in (inf, -inf, nan)),
    ("watch_watched_by_name_written", watch, {"watched_by_name": " "}),
    ("watch_seen_is_measured", watch, {"gap_m": None}),
    ("watch_seen_is_measured", watch, {"seen": False}),
    ("camera_stage_known", camera, {"stage": "during"}),
    ("camera_result_known", camera, {"result": "fine"}),
    ("camera_inspected_by_written", camera, {"inspected_by": ""}),
    ("camera_recorded_by_name_written", camera, {"recorded_by_name": "\t"}),
    ("close_out_closed_by_name_written", close_out, {"closed_by_name": ""}),
    ("damage_report_kind_known", damage, {"kind": "scratch"}),
    ("damage_report_facility_type_known", damage, {"facility_type": "steam"}),
    ("damage_report_what_happened_written", damage, {"what_happened": "\n"}),
    ("damage_report_reported_by_name_written", damage, {"reported_by_name": ""}),
]

# What lies at the edge, and is a fact.
SOUND = [
    (watch, {"gap_m": -0.05}),
    (watch, {"gap_m": 0.0, "station_m": 0.0, "required_m": 0.0, "head_depth_m": 0.0, "hole_bottom_m": 0.0}),
    (watch, {"seen": False, "gap_m": None, "head_depth_m": None, "hole_bottom_m": None}),
    (camera, {"stage": "before", "result": "not_conclusive"}),
    (damage, {"kind": "near_miss", "facility_type": "unknown"}),
]


@pytest.mark.parametrize(("constraint", "make", "values"), REFUSED)
def test_the_database_refuses(constraint, make, values):
    make()
    with pytest.raises(IntegrityError) as refusal, transaction.atomic():
        make(**values)
    assert refusal.value.__cause__.diag.constraint_name == constraint


@pytest.mark.parametrize(("make", "values"), SOUND)
def test_the_database_keeps(make, values):
    stored = make(**values)
    stored.refresh_from_db()
    assert {name: getattr(stored, name) for name in values} == values


def test_a_bore_is_closed_out_once():
    there = close_out()
    with pytest.raises(IntegrityError), transaction.atomic():
        CloseOut.objects.create(
            bore=there.bore,
            closed_at=there.closed_at,
            closed_by=there.closed_by,
            closed_by_name="R. Pell",
            grounds={},
        )


def test_every_constraint_of_these_records_has_a_case_here():
    models = (CrossingWatch, CameraInspection, CloseOut, DamageReport)
    assert {one.name for model in models for one in model._meta.constraints} == {case[0] for case in REFUSED}
