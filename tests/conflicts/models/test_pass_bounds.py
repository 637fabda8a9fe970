"""The database refuses passes of a hole, and withdrawals of them, that cannot be."""

from datetime import timedelta
from math import inf, nan

import pytest
from django.db import IntegrityError, transaction

from conflicts.models import HolePass, HolePassWithdrawal
from tests import factories
from tests.factories import PLANNED_START_AT

pytestmark = pytest.mark.django_db

REAMER, PULLBACK, WITHDRAWAL = (
    factories.HolePassFactory,
    factories.PullbackFactory,
    factories.HolePassWithdrawalFactory,
)

# Constraint, record, with what it is added.
REFUSED = [
    ("hole_pass_kind_known", REAMER, {"kind": "swab"}),
    ("hole_pass_direction_known", REAMER, {"direction": "down"}),
    *(("hole_pass_diameter_m_positive", REAMER, {"diameter_m": value}) for value in (0.0, -0.2, inf, nan)),
    *(
        ("hole_pass_from_station_m_not_negative", REAMER, {"from_station_m": value, "to_station_m": 20.0})
        for value in (-0.1, -inf)
    ),
    ("hole_pass_to_station_m_not_negative", REAMER, {"from_station_m": 5.0, "to_station_m": inf}),
    ("hole_pass_to_station_m_not_negative", REAMER, {"from_station_m": 5.0, "to_station_m": nan}),
    ("hole_pass_logged_by_name_written", REAMER, {"logged_by_name": " "}),
    (
        "hole_pass_made_at_not_after_logged_at",
        REAMER,
        {"made_at": PLANNED_START_AT + timedelta(seconds=1)},
    ),
    (
        "hole_pass_ended_at_not_after_logged_at",
        REAMER,
        {"ended_at": PLANNED_START_AT + timedelta(seconds=1)},
    ),
    (
        "hole_pass_made_at_not_after_ended_at",
        REAMER,
        {"ended_at": PLANNED_START_AT - timedelta(seconds=1)},
    ),
    ("hole_pass_pullback_has_conduits", PULLBACK, {"conduits": []}),
    ("hole_pass_pullback_has_conduits", REAMER, {"conduits": [[1, 0.06]]}),
    ("hole_pass_pullback_has_conduits", REAMER, {"is_measured": True}),
    ("hole_pass_stations_in_order", REAMER, {"from_station_m": 20.0, "to_station_m": 20.0}),
    ("hole_pass_stations_in_order", REAMER, {"from_station_m": 20.0}),
    ("hole_pass_stations_in_order", REAMER, {"to_station_m": 20.0}),
    ("hole_pass_stations_in_order", PULLBACK, {"from_station_m": 0.0, "to_station_m": 20.0}),
    ("hole_pass_withdrawal_reason_written", WITHDRAWAL, {"reason": "\t"}),
    ("hole_pass_withdrawal_withdrawn_by_name_written", WITHDRAWAL, {"withdrawn_by_name": ""}),
]

# What lies at the edge, and is a fact.
SOUND = [
    (REAMER, {"from_station_m": 0.0, "to_station_m": 0.1, "direction": "to_rig"}),
    (PULLBACK, {"is_measured": True, "direction": "from_rig", "ended_at": PLANNED_START_AT}),
    (WITHDRAWAL, {}),
]


@pytest.mark.parametrize(("constraint", "record", "values"), REFUSED)
def test_what_cannot_be_is_refused(constraint, record, values):
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        record(**values)


@pytest.mark.parametrize(("record", "values"), SOUND)
def test_what_can_be_is_stored(record, values):
    assert record(**values).pk


def test_each_constraint_has_a_case_here():
    tried = {name for name, _, _ in REFUSED}
    assert tried == {one.name for model in (HolePass, HolePassWithdrawal) for one in model._meta.constraints}


def test_a_pass_is_withdrawn_once():
    withdrawal = factories.HolePassWithdrawalFactory()
    with pytest.raises(IntegrityError, match="hole_pass_id"), transaction.atomic():
        factories.HolePassWithdrawalFactory(hole_pass=withdrawal.hole_pass)
