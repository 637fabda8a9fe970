"""The database refuses rods, withdrawals and checks of the device that cannot be."""

from math import inf, nan, tau

import pytest
from django.db import IntegrityError, transaction

from conflicts.models import DrilledRod, LocatorCheck, RodWithdrawal
from tests import factories

pytestmark = pytest.mark.django_db

ROD, WITHDRAWAL, CHECK = (
    factories.DrilledRodFactory,
    factories.RodWithdrawalFactory,
    factories.LocatorCheckFactory,
)
DOT = {"dot_longitude_deg": -93.0, "dot_latitude_deg": 44.0}

# Constraint, record, with what it is added.
REFUSED = [
    *(("rod_length_m_positive", ROD, {"length_m": value}) for value in (0.0, -3.0, inf, nan)),
    *(("rod_depth_m_not_negative", ROD, {"depth_m": value}) for value in (-0.1, inf, nan)),
    *(("rod_dot_error_m_not_negative", ROD, {**DOT, "dot_error_m": value}) for value in (-1.0, nan)),
    *(("rod_pitch_ratio_finite", ROD, {"pitch_ratio": value}) for value in (inf, nan)),
    ("rod_dot_station_m_finite", ROD, {**DOT, "dot_station_m": nan, "dot_offset_m": 0.0}),
    ("rod_dot_offset_m_finite", ROD, {**DOT, "dot_station_m": 5.0, "dot_offset_m": inf}),
    ("rod_logged_by_name_written", ROD, {"logged_by_name": " "}),
    ("rod_first_follows_none", ROD, {"number": 2}),
    ("rod_roll_rad_in_a_turn", ROD, {"roll_rad": tau}),
    ("rod_roll_rad_in_a_turn", ROD, {"roll_rad": nan}),
    ("rod_heading_rad_in_a_turn", ROD, {"heading_rad": -0.1}),
    ("rod_dot_has_a_place", ROD, {"dot_longitude_deg": -93.0, "dot_latitude_deg": None}),
    ("rod_dot_has_a_place", ROD, {"dot_longitude_deg": -93.0, "dot_latitude_deg": 91.0}),
    ("rod_dot_has_a_place", ROD, {"dot_longitude_deg": None, "dot_latitude_deg": None, "dot_error_m": 2.0}),
    ("rod_dot_station_with_offset", ROD, {**DOT, "dot_station_m": 5.0}),
    ("rod_withdrawal_kind_known", WITHDRAWAL, {"kind": "lost"}),
    ("rod_withdrawal_withdrawn_by_name_written", WITHDRAWAL, {"withdrawn_by_name": ""}),
    ("rod_withdrawal_pull_back_has_reason", WITHDRAWAL, {"reason": " "}),
    ("locator_check_read_depth_m_not_negative", CHECK, {"read_depth_m": -0.1}),
    ("locator_check_measured_depth_m_positive", CHECK, {"measured_depth_m": 0.0}),
    ("locator_check_device_written", CHECK, {"device": "\t"}),
    ("locator_check_checked_by_name_written", CHECK, {"checked_by_name": ""}),
]

# What lies at the edge, and is a fact.
SOUND = [
    (ROD, {"depth_m": None, "roll_rad": 0.0, "heading_rad": 0.0}),
    (ROD, {"depth_m": 0.0, **DOT, "dot_error_m": 0.0}),
    (ROD, {**DOT, "dot_station_m": -0.5, "dot_offset_m": -1.0}),
    (WITHDRAWAL, {"kind": "undo", "reason": ""}),
    (CHECK, {"read_depth_m": 0.0}),
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


def test_a_rod_is_withdrawn_once():
    there = factories.RodWithdrawalFactory()
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.RodWithdrawalFactory(rod=there.rod, kind="undo")


def test_every_constraint_of_these_records_has_a_case_here():
    models = (DrilledRod, RodWithdrawal, LocatorCheck)
    assert {one.name for model in models for one in model._meta.constraints} == {case[0] for case in REFUSED}
