"""Whether the rig can drill a bore's profile."""

import math

import pytest

from conflicts.assess import assess
from conflicts.models import Bore
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def profile_sentence(bore):
    """What the profile check says, or None where it passes."""
    checks = {check["code"]: check for check in assess(bore, factories.PLANNED_START_AT)["checks"]}
    return checks["profile"]["sentence"] if checks["profile"]["holds"] else None


def change(bore, **values):
    Bore.objects.filter(pk=bore.pk).update(**values)
    bore.refresh_from_db()


def test_the_plain_profile_can_be_drilled(bore):
    assert profile_sentence(bore) is None


def test_limits_that_are_not_recorded_hold_by_name(bore):
    change(bore, bend_radius_m=None, minimum_cover_m=None)
    assert "Not recorded for the rig: bend radius, minimum cover" in profile_sentence(bore)


def test_a_kink_needs_room_for_its_arc(bore):
    # A turn of atan(0.1) at 20 m from the entry, 60 m from the next: on the 20.1 m run before it fits
    # R = run / tan(turn / 2).
    radius_m = math.hypot(20.0, 2.0) / math.tan(0.5 * math.atan(0.1))
    change(bore, bend_radius_m=radius_m - 0.01)
    assert profile_sentence(bore) is None
    change(bore, bend_radius_m=radius_m + 0.01)
    assert "leaves room for a radius of 1322 ft 2 in" in profile_sentence(bore)


def test_entry_and_exit_pitch_are_held_against_their_ranges(bore):
    change(bore, entry_pitch_ratio_min=-0.3, entry_pitch_ratio_max=-0.12)
    assert "The entry pitch is -10.0 %; the rig can do -30.0 % to -12.0 %" in profile_sentence(bore)
    change(bore, entry_pitch_ratio_min=0.05, entry_pitch_ratio_max=0.2)  # written as how steeply down
    assert profile_sentence(bore) is None
    change(bore, exit_pitch_ratio_max=0.08)
    assert "The exit pitch is 10.0 %" in profile_sentence(bore)


def test_rods_that_leave_an_end_of_the_alignment_unassessed_hold():
    # 100 m of alignment: rods may end short of it by the steering allowance of 0.30 m, or beyond it.
    bore = factories.RodBoreFactory()
    limits = {"entry_pitch_ratio_max": 0.0, "exit_pitch_ratio_min": 0.0, "minimum_cover_m": 0.0}
    change(bore, **limits, rod_lengths_m=[0.0, 50.0, bore.alignment_length_m - 50.0 - 0.29])
    assert profile_sentence(bore) is None
    change(bore, rod_lengths_m=[0.0, 50.0, bore.alignment_length_m - 50.0 - 0.31])
    assert "The rods end 1 ft 0 1/4 in before the alignment does" in profile_sentence(bore)
    change(bore, rod_lengths_m=[0.0, 50.0, bore.alignment_length_m - 50.0 + 2.0])
    assert profile_sentence(bore) is None


def test_cover_counts_between_where_it_is_first_and_last_reached(bore):
    change(
        bore,
        profile_stations_m=[0.0, 20.0, 50.0, 80.0, bore.alignment_length_m],
        profile_values_m=[0.0, 2.0, 0.9, 2.0, 0.0],
        minimum_cover_m=1.0,
    )
    assert "The cover at station 1+64.0 is 2 ft 7 3/8 in" in profile_sentence(bore)  # 0.9 m less 0.1 m
    change(bore, minimum_cover_m=0.8)
    assert profile_sentence(bore) is None


def test_a_ridge_in_the_ground_does_not_hide_a_lack_of_cover(bore):
    change(
        bore,
        ground_stations_m=[0.0, 45.0, 50.0, 55.0],
        ground_elevations_m=[0.0, 0.0, -1.5, 0.0],
        profile_by="elevation",
        profile_values_m=[0.0, -2.0, -2.0, 0.0],
    )
    assert "The cover at station 1+64.0 is 1 ft 3 5/8 in" in profile_sentence(bore)  # 0.5 m less 0.1 m


def test_a_rod_is_held_to_its_turn_in_three_dimensions():
    job = factories.JobFactory()
    # 3 m rods turning 0.05 rad in pitch and 0.05 rad in heading each: R = 3 / 0.0707 = 42.4 m.
    count = 34
    bore = factories.RodBoreFactory(
        job=job,
        rod_lengths_m=[0.0] + [3.0] * count,
        rod_pitches_ratio=[0.0, -0.05] + [-0.05, 0.0] * ((count - 1) // 2) + [0.0],
        rod_headings_rad=[math.pi / 2, math.pi / 2 + 0.05] + [math.pi / 2] * (count - 1),
        entry_pitch_ratio_min=-0.5, entry_pitch_ratio_max=0.5,
        exit_pitch_ratio_min=-0.5, exit_pitch_ratio_max=0.5, minimum_cover_m=0.0,
    )  # fmt: skip
    change(bore, bend_radius_m=50.0)
    assert "leaves room for a radius of 139 ft 3" in profile_sentence(bore)
    change(bore, bend_radius_m=42.0)
    assert profile_sentence(bore) is None
