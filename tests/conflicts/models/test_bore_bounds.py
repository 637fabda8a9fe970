"""The database itself refuses bores, pits and figures that cannot be."""

from datetime import timedelta
from math import inf, nan

import pytest
from django.apps import apps
from django.contrib.gis.geos import LineString, Point, Polygon
from django.contrib.postgres.fields import ArrayField
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F, FloatField

from tests import factories

pytestmark = pytest.mark.django_db

BOW_TIE = Polygon(((0, 0), (1, 1), (1, 0), (0, 1), (0, 0)), srid=4326)
EARLIER = factories.PLANNED_START_AT - timedelta(hours=1)
SOUTH_OF_THE_POLE = LineString((-78.5, -89.9), (-78.5, -90.1), srid=4326)

FACTORIES = {
    "bore": factories.BoreFactory,
    "rod_bore": factories.RodBoreFactory,
    "pit": factories.PitFactory,
    "route_joint": factories.RouteJointFactory,
    "assessment": factories.AssessmentFactory,
    "crossing": factories.CrossingFactory,
    "drilled_alone": factories.DrilledAloneCrossingFactory,
}
NO_PROFILE = {"profile_by": "", "profile_stations_m": [], "profile_values_m": []}
NO_RODS = {
    "rods_entry_elevation_m": None,
    "rod_lengths_m": [],
    "rod_pitches_ratio": [],
    "rod_headings_rad": [],
}

# Constraint, record, what is written over a valid record.
REFUSED = [
    ("bore_name_written", "bore", {"name": ""}),
    ("bore_alignment_length_m_positive", "rod_bore", {"alignment_length_m": 0.0}),
    ("bore_pilot_diameter_m_positive", "bore", {"pilot_diameter_m": 0.0}),
    ("bore_final_diameter_m_positive", "bore", {"pilot_diameter_m": None, "final_diameter_m": 0.0}),
    ("bore_rod_length_m_positive", "bore", {"rod_length_m": 0.0}),
    ("bore_bend_radius_m_positive", "bore", {"bend_radius_m": 0.0}),
    ("bore_minimum_cover_m_not_negative", "bore", {"minimum_cover_m": -0.1}),
    ("bore_bit_lead_m", "bore", {"bit_lead_m": -0.1}),
    ("bore_bit_lead_m", "bore", {"bit_lead_m": 15.1}),
    ("bore_bit_lead_m", "bore", {"bit_lead_m": nan}),
    ("bore_rods_entry_elevation_m_finite", "rod_bore", {"rods_entry_elevation_m": inf}),
    ("bore_entry_pitch_ratio_min_finite", "bore", {"entry_pitch_ratio_min": -inf}),
    ("bore_entry_pitch_ratio_max_finite", "bore", {"entry_pitch_ratio_max": nan}),
    ("bore_exit_pitch_ratio_min_finite", "bore", {"exit_pitch_ratio_min": -inf}),
    ("bore_exit_pitch_ratio_max_finite", "bore", {"exit_pitch_ratio_max": inf}),
    ("bore_pilot_diameter_m_not_after_final_diameter_m", "bore", {"pilot_diameter_m": 0.201}),
    (
        "bore_entry_pitch_ratio_min_not_after_entry_pitch_ratio_max",
        "bore",
        {"entry_pitch_ratio_min": -0.1, "entry_pitch_ratio_max": -0.2},
    ),
    (
        "bore_exit_pitch_ratio_min_not_after_exit_pitch_ratio_max",
        "bore",
        {"exit_pitch_ratio_min": 0.2, "exit_pitch_ratio_max": 0.1},
    ),
    ("bore_planned_start_at_not_after_planned_finish_at", "bore", {"planned_finish_at": EARLIER}),
    ("bore_alignment_on_the_globe", "bore", {"alignment": SOUTH_OF_THE_POLE}),
    ("bore_one_of_profile_and_rods", "bore", NO_PROFILE),
    ("bore_one_of_profile_and_rods", "rod_bore", NO_RODS),
    ("bore_one_of_profile_and_rods", "bore", {"rods_entry_elevation_m": -2.0}),
    ("bore_one_of_profile_and_rods", "bore", {"profile_by": "feel"}),
    ("bore_one_of_profile_and_rods", "bore", {"profile_by": ""}),
    (
        "bore_one_of_profile_and_rods",
        "bore",
        {"rod_lengths_m": [0.0, 3.0], "rod_pitches_ratio": [0.0, 0.0], "rod_headings_rad": [None, None]},
    ),
    (
        "bore_one_of_profile_and_rods",
        "rod_bore",
        {"rod_lengths_m": [0.0], "rod_pitches_ratio": [0.0], "rod_headings_rad": [None]},
    ),
    ("bore_ground_pairs", "bore", {"ground_stations_m": [0.0, 5.0], "ground_elevations_m": [0.0]}),
    ("bore_profile_pairs", "bore", {"profile_values_m": [0.0, 2.0, 0.0]}),
    ("bore_rod_pitches", "rod_bore", {"rod_pitches_ratio": [0.0, 0.0]}),
    ("bore_rod_headings", "rod_bore", {"rod_headings_rad": [None, None]}),
    (
        "bore_ground_stations_m",
        "bore",
        {"ground_stations_m": [-1.0, 5.0], "ground_elevations_m": [0.0, 0.0]},
    ),
    ("bore_ground_stations_m", "bore", {"ground_stations_m": [5.0, 5.0], "ground_elevations_m": [0.0, 0.0]}),
    ("bore_ground_elevations_m", "bore", {"ground_stations_m": [0.0], "ground_elevations_m": [nan]}),
    ("bore_profile_stations_m", "bore", {"profile_stations_m": [0.0, 80.0, 20.0, 100.0]}),
    ("bore_profile_stations_m", "bore", {"profile_stations_m": [0.0, 20.0, 20.0, 100.0]}),
    ("bore_profile_stations_m", "bore", {"profile_stations_m": [0.0, nan, 80.0, 100.0]}),
    ("bore_profile_stations_m", "bore", {"profile_stations_m": [0.0, None, 80.0, 100.0]}),
    ("bore_profile_stations_m", "bore", {"profile_stations_m": [0.1, 20.0, 80.0, 100.0]}),
    ("bore_profile_to_the_end", "bore", {"profile_stations_m": [0.0, 20.0, 80.0, 99.98]}),
    ("bore_profile_to_the_end", "bore", {"profile_stations_m": [0.0, 20.0, 80.0, 100.02]}),
    ("bore_profile_to_the_end", "bore", {"alignment_length_m": F("alignment_length_m") + 0.02}),
    ("bore_profile_values_m", "bore", {"profile_values_m": [0.0, inf, 2.0, 0.0]}),
    ("bore_profile_values_m", "bore", {"profile_values_m": [0.0, None, 2.0, 0.0]}),
    ("bore_rod_lengths_m", "rod_bore", {"rod_lengths_m": [0.5, 50.0, 50.0]}),
    ("bore_rod_lengths_m", "rod_bore", {"rod_lengths_m": [0.0, -50.0, 150.0]}),
    ("bore_rod_lengths_m", "rod_bore", {"rod_lengths_m": [0.0, None, 50.0]}),
    ("bore_rod_pitches_ratio", "rod_bore", {"rod_pitches_ratio": [0.0, None, 0.0]}),
    ("bore_rod_headings_rad", "rod_bore", {"rod_headings_rad": [None, nan, None]}),
    ("pit_end_known", "pit", {"end": "middle"}),
    ("pit_depth_m_not_negative", "pit", {"depth_m": -0.1}),
    ("pit_area_on_the_globe", "pit", {"area": Polygon(srid=4326)}),
    ("pit_area_sound", "pit", {"area": BOW_TIE}),
    ("route_joint_first_end_known", "route_joint", {"first_end": "middle"}),
    ("route_joint_second_end_known", "route_joint", {"second_end": ""}),
    ("route_joint_how_known", "route_joint", {"how": "magic"}),
    ("route_joint_of_two_bores", "route_joint", {"second_bore": F("first_bore")}),
    ("assessment_inputs_digest_sound", "assessment", {"inputs_digest": "0123"}),
    ("assessment_drilled_digest_sound", "assessment", {"drilled_digest": "0123"}),
    ("assessment_length_m_positive", "assessment", {"length_m": 0.0}),
    ("crossing_inputs_digest_sound", "crossing", {"inputs_digest": "X" * 64}),
    ("crossing_mark_ref_written", "crossing", {"mark_ref": ""}),
    ("crossing_operator_written", "crossing", {"operator": ""}),
    ("crossing_sentence_written", "crossing", {"sentence": ""}),
    ("crossing_facility_type_known", "crossing", {"facility_type": "pneumatic"}),
    ("crossing_kind_known", "crossing", {"kind": "near"}),
    ("crossing_passes_known", "crossing", {"passes": "through"}),
    ("crossing_verdict_known", "crossing", {"verdict": "fine"}),
    ("crossing_from_m_not_negative", "crossing", {"from_m": -0.1}),
    ("crossing_to_m_not_negative", "crossing", {"to_m": inf}),
    ("crossing_station_m_not_negative", "crossing", {"station_m": -0.1}),
    ("crossing_horizontal_m_not_negative", "crossing", {"horizontal_m": -0.1}),
    ("crossing_required_m_not_negative", "crossing", {"required_m": -0.1}),
    ("crossing_angle_deg_finite", "crossing", {"angle_deg": nan}),
    ("crossing_vertical_m_finite", "crossing", {"vertical_m": nan}),
    ("crossing_separation_m_finite", "crossing", {"separation_m": nan}),
    ("crossing_worst_case_m_finite", "crossing", {"worst_case_m": nan}),
    ("crossing_likely_m_finite", "crossing", {"likely_m": nan}),
    ("crossing_longitude_deg_finite", "crossing", {"longitude_deg": nan}),
    ("crossing_latitude_deg_finite", "crossing", {"latitude_deg": nan}),
    ("crossing_from_m_not_after_to_m", "crossing", {"from_m": 52.0}),
    ("crossing_clear_is_known", "crossing", {"exposed": False}),
    ("crossing_clear_is_known", "crossing", {"worst_case_m": None}),
    ("crossing_clear_is_known", "crossing", {"required_m": None}),
    ("drilled_alone_mark_ref_written", "drilled_alone", {"mark_ref": ""}),
    ("drilled_alone_operator_written", "drilled_alone", {"operator": ""}),
    ("drilled_alone_drilled_by_name_written", "drilled_alone", {"drilled_by_name": " "}),
    ("drilled_alone_facility_type_known", "drilled_alone", {"facility_type": "pneumatic"}),
    ("drilled_alone_kind_known", "drilled_alone", {"kind": "near"}),
    ("drilled_alone_verdict_known", "drilled_alone", {"verdict": ""}),
    ("drilled_alone_from_m_not_negative", "drilled_alone", {"from_m": -0.1}),
    ("drilled_alone_to_m_not_negative", "drilled_alone", {"to_m": inf}),
    ("drilled_alone_station_m_not_negative", "drilled_alone", {"station_m": -0.1}),
    ("drilled_alone_required_m_not_negative", "drilled_alone", {"required_m": -0.1}),
    ("drilled_alone_worst_case_m_finite", "drilled_alone", {"worst_case_m": nan}),
    ("drilled_alone_from_m_not_after_to_m", "drilled_alone", {"from_m": 72.0}),
    ("drilled_alone_clear_is_known", "drilled_alone", {"verdict": "clear", "worst_case_m": None}),
]

# Constraint, record, what its double shares with it.
DOUBLED = [
    ("bore_name_once", "bore", ("job", "name")),
    ("pit_end_once", "pit", ("bore", "end")),
    ("route_joint_once", "route_joint", ("first_bore", "first_end", "second_bore", "second_end")),
    ("conflicts_assessment_bore_id_key", "assessment", ("bore",)),
    ("crossing_sequence_once", "crossing", ("assessment", "sequence")),
    ("drilled_alone_sequence_once", "drilled_alone", ("assessment", "sequence")),
]


def single_numbers():
    """Every column of one number, with a record that has it."""
    return [
        (record, field.name)
        for record, factory in FACTORIES.items()
        for field in factory._meta.model._meta.fields
        if isinstance(field, FloatField)
    ]


def lists_of_numbers():
    """Every column of many numbers."""
    fields = factories.BoreFactory._meta.model._meta.fields
    return [field.name for field in fields if isinstance(field, ArrayField)]


def refusal(action):
    """The words in which the database refuses."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        action()
    return str(caught.value)


def overwrite(record, values):
    """Write over a record in SQL, past every form and every validation."""
    type(record).objects.filter(pk=record.pk).update(**values)


@pytest.mark.parametrize(("constraint", "name", "values"), REFUSED)
def test_the_database_refuses(constraint, name, values):
    record = FACTORIES[name]()
    assert f'"{constraint}"' in refusal(lambda: overwrite(record, values))


@pytest.mark.parametrize(("constraint", "name", "shared"), DOUBLED)
def test_the_database_refuses_a_double(constraint, name, shared):
    record = FACTORIES[name]()
    values = {field: getattr(record, field) for field in shared}
    assert f'"{constraint}"' in refusal(lambda: FACTORIES[name](**values))


@pytest.mark.parametrize("number", [nan, inf, -inf])
@pytest.mark.parametrize(("name", "field"), single_numbers())
def test_no_number_may_be_infinite_or_nan(name, field, number):
    record = FACTORIES[name]()
    assert "violates check constraint" in refusal(lambda: overwrite(record, {field: number}))


@pytest.mark.parametrize("number", [nan, inf, -inf])
@pytest.mark.parametrize("field", lists_of_numbers())
def test_no_number_of_a_list_may_be_infinite_or_nan(field, number):
    record = factories.RodBoreFactory() if field.startswith("rod_") else factories.BoreFactory()
    if field.startswith("ground_"):
        overwrite(record, {"ground_stations_m": [0.0, 1.0], "ground_elevations_m": [0.0, 0.0]})
        record.refresh_from_db()
    values = [*getattr(record, field)[:-1], number]
    assert f'"bore_{field}"' in refusal(lambda: overwrite(record, {field: values}))


def test_every_constraint_of_the_app_has_a_case_here():
    models = {factory._meta.model for factory in FACTORIES.values()}
    assert models <= set(apps.get_app_config("conflicts").get_models())
    declared = {constraint.name for model in models for constraint in model._meta.constraints}
    assert declared == {case[0] for case in REFUSED + DOUBLED} - {"conflicts_assessment_bore_id_key"}


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("bore", {"pilot_diameter_m": 0.2, "final_diameter_m": 0.2}),
        ("bore", {"pilot_diameter_m": None, "minimum_cover_m": 0.0}),
        ("bore", {"profile_by": "elevation", "profile_values_m": [0.0, -2.0, -2.0, 0.0]}),
        ("bore", {"profile_stations_m": [0.0, 20.0, 80.0, 100.009]}),
        ("bore", {"ground_stations_m": [0.0, 120.0], "ground_elevations_m": [0.0, -1.0]}),
        ("bore", {"ground_stations_m": [12.0], "ground_elevations_m": [3.0]}),
        ("bore", {"planned_finish_at": factories.PLANNED_START_AT}),
        ("rod_bore", {"rod_headings_rad": [1.5, None, 1.6]}),
        ("rod_bore", {"rod_lengths_m": [0.0, 0.0, 100.0]}),
        ("crossing", {"verdict": "unexposed", "exposed": False, "vertical_m": None, "worst_case_m": None}),
        ("crossing", {"verdict": "overlap", "separation_m": -0.1, "vertical_m": -0.1, "worst_case_m": -0.6}),
        ("crossing", {"mark": None}),
    ],
)
def test_the_database_takes_what_lies_on_the_bound(name, values):
    record = FACTORIES[name]()
    overwrite(record, values)
    record.refresh_from_db()
    record.full_clean()


def test_a_profile_that_runs_backwards_is_named_before_it_reaches_the_database():
    bore = factories.BoreFactory()
    bore.profile_stations_m = [0.0, 80.0, 20.0, bore.alignment_length_m]
    with pytest.raises(ValidationError, match="each beyond the one before"):
        bore.full_clean()


def test_a_point_is_no_alignment():
    bore = factories.BoreFactory()
    with pytest.raises(TypeError):
        bore.alignment = Point(-78.5, 38.0, srid=4326)
