"""What the database accepts of a bore."""

from django.db.models import (
    BooleanField,
    CheckConstraint,
    F,
    FloatField,
    Func,
    IntegerField,
    Q,
)
from django.db.models.functions import Abs
from django.db.models.lookups import Exact, GreaterThanOrEqual, LessThanOrEqual

from conflicts.engine.path import END_STATION_M
from locates.models.bounds import finite, in_order, not_negative, on_the_globe, positive, written
from locates.models.retirable import once_among_live

# Farther ahead of its antenna is no bit, m (common practice, no source).
LONGEST_LEAD_M = 15.0


def _count(field: str) -> Func:
    return Func(F(field), function="cardinality", output_field=IntegerField())


def _every_element(function: str, field: str) -> Q:
    # The functions are made by the first migration: a CHECK cannot walk an array by itself.
    return Q(Exact(Func(F(field), function=function, output_field=BooleanField()), True))


def _end_element(which: str, field: str) -> Func:
    # Django's index transform does in the CHECK, but not where an instance's own values stand for the column.
    return Func(F(field), function=f"conflicts_{which}_element", output_field=FloatField())


def _empty(*fields: str) -> Q:
    return Q(*(Exact(_count(field), 0) for field in fields))


def _bound(name: str, condition: Q, accepted: str) -> CheckConstraint:
    return CheckConstraint(
        condition=condition, name=f"bore_{name}", violation_error_message=f"{name}: accepted is {accepted}."
    )


def _as_many(name: str, first: str, second: str) -> CheckConstraint:
    return _bound(name, Q(Exact(_count(first), _count(second))), f"as many values in {second} as in {first}")


_ONE_OF_PROFILE_AND_RODS = (
    Q(profile_by__in=("depth", "elevation"), rods_entry_elevation_m__isnull=True)
    & Q(GreaterThanOrEqual(_count("profile_stations_m"), 2))
    & _empty("rod_lengths_m", "rod_pitches_ratio", "rod_headings_rad")
) | (
    Q(profile_by="", rods_entry_elevation_m__isnull=False)
    & Q(GreaterThanOrEqual(_count("rod_lengths_m"), 2))
    & _empty("profile_stations_m", "profile_values_m")
)


BORE_CONSTRAINTS = (
    once_among_live(
        "job",
        "name",
        name="bore_name_once",
        accepted="name: accepted is a name that no other bore of the job has.",
    ),
    *written("bore", "name"),
    *positive(
        "bore", "alignment_length_m", "pilot_diameter_m", "final_diameter_m", "rod_length_m", "bend_radius_m"
    ),
    *not_negative("bore", "minimum_cover_m"),
    _bound("bit_lead_m", Q(bit_lead_m__range=(0.0, LONGEST_LEAD_M)), f"0 to {LONGEST_LEAD_M:g} m"),
    *finite(
        "bore",
        "rods_entry_elevation_m",
        "entry_pitch_ratio_min",
        "entry_pitch_ratio_max",
        "exit_pitch_ratio_min",
        "exit_pitch_ratio_max",
    ),
    in_order("bore", "pilot_diameter_m", "final_diameter_m"),
    in_order("bore", "entry_pitch_ratio_min", "entry_pitch_ratio_max"),
    in_order("bore", "exit_pitch_ratio_min", "exit_pitch_ratio_max"),
    in_order("bore", "planned_start_at", "planned_finish_at"),
    on_the_globe("bore", "alignment"),
    _bound(
        "one_of_profile_and_rods", _ONE_OF_PROFILE_AND_RODS, "one of profile and rods, of two points or more"
    ),
    _as_many("ground_pairs", "ground_stations_m", "ground_elevations_m"),
    _as_many("profile_pairs", "profile_stations_m", "profile_values_m"),
    _as_many("rod_pitches", "rod_lengths_m", "rod_pitches_ratio"),
    _as_many("rod_headings", "rod_lengths_m", "rod_headings_rad"),
    _bound(
        "ground_stations_m",
        _every_element("conflicts_increasing", "ground_stations_m")
        & (
            _empty("ground_stations_m")
            | Q(GreaterThanOrEqual(_end_element("first", "ground_stations_m"), 0.0))
        ),
        "stations from 0 up, each beyond the one before",
    ),
    _bound(
        "ground_elevations_m",
        _every_element("conflicts_finite", "ground_elevations_m"),
        "a list of finite numbers",
    ),
    _bound(
        "profile_stations_m",
        _every_element("conflicts_increasing", "profile_stations_m")
        & (_empty("profile_stations_m") | Q(Exact(_end_element("first", "profile_stations_m"), 0.0))),
        "stations from 0, each beyond the one before",
    ),
    _bound(
        "profile_to_the_end",
        _empty("profile_stations_m")
        | Q(
            LessThanOrEqual(
                Abs(_end_element("last", "profile_stations_m") - F("alignment_length_m")),
                END_STATION_M,
            )
        ),
        "a last station within 1 cm of the alignment's length",
    ),
    _bound(
        "profile_values_m", _every_element("conflicts_finite", "profile_values_m"), "a list of finite numbers"
    ),
    _bound(
        "rod_lengths_m",
        _every_element("conflicts_not_negative", "rod_lengths_m")
        & (_empty("rod_lengths_m") | Q(Exact(_end_element("first", "rod_lengths_m"), 0.0))),
        "lengths, 0 or more, the first 0",
    ),
    _bound(
        "rod_pitches_ratio",
        _every_element("conflicts_finite", "rod_pitches_ratio"),
        "a list of finite numbers",
    ),
    _bound(
        "rod_headings_rad",
        _every_element("conflicts_finite_or_null", "rod_headings_rad"),
        "a list of finite numbers, with nothing where the bore follows its alignment",
    ),
)
