"""A profile as the text of an address: read back it is the same, and nothing else is read."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from conflicts.engine.profile_arcs import RodProfile
from conflicts.plan_text import (
    PitchEdit,
    PlanTextError,
    edited,
    read_edits,
    read_plan,
    written_edits,
    written_plan,
)

# A rod's length in micrometres and the pitch at its far end in ten-millionths.
rods_drawn = st.lists(
    st.tuples(st.integers(50_000, 9_000_000), st.integers(-10_000_000, 10_000_000)), min_size=1, max_size=40
)


@given(rods_drawn, st.integers(-50_000_000, 90_000_000), st.integers(-90_000_000, 4_000_000_000))
def test_a_text_read_and_written_again_is_the_same_text(drawn, station, elevation):
    lengths, pitches = np.array(drawn, dtype=float).T
    angles = np.arctan(np.array([pitches[0], *pitches]) / 1e7)
    rods = RodProfile(station / 1e6, elevation / 1e6, lengths / 1e6, angles)
    text = written_plan(rods)
    again = read_plan(text)
    assert written_plan(again) == text
    assert again.lengths_m == pytest.approx(rods.lengths_m, abs=1e-6)
    assert again.angles_rad == pytest.approx(rods.angles_rad, abs=1e-7)


def test_the_longest_bore_still_fits_into_an_address():
    count = 150
    rods = RodProfile(0.0, 100.0, np.full(count, 3.048), np.linspace(-0.28765431, 0.2912345, count + 1))
    # What gunicorn takes as a first line by default, with room for the path and a second profile's start.
    assert 2 * len(written_plan(rods)) < 4094 - 400


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "0~0~3000000~0",
        "0~0~3000000x2~0.0",
        "0~0~3000000~0.0.0",
        "0~0~0~0.0",
        "0~0~40000000~0.0",
        "0~0~3000000~0.10000001",
        "0~0~3000000x401~0.0",
        "0~99999999999~3000000~0.0",
        "0~0~3000000~--1.0",
        "\N{ARABIC-INDIC DIGIT ZERO}~0~3000000~0.0",
    ],
)
def test_other_texts_are_refused_with_what_is_accepted(text):
    with pytest.raises(PlanTextError, match="accepted is"):
        read_plan(text)


@pytest.mark.parametrize("text", ["1", "9~0", "1~x", "1~0.", "1~10000001", ".".join(["1~0"] * 201)])
def test_other_changes_are_refused(text):
    with pytest.raises(PlanTextError, match="accepted is"):
        read_edits(text, 4)


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(-10_000_000, 10_000_000)), max_size=20))
def test_changes_read_and_written_again_are_the_same(changes):
    edits = tuple(PitchEdit(rod, pitch / 1e7) for rod, pitch in changes)
    assert read_edits(written_edits(edits), 5) == edits


def level(count=10):
    return RodProfile(0.0, -2.0, np.full(count, 3.0), np.zeros(count + 1))


def test_a_changed_pitch_moves_all_that_lies_ahead_and_nothing_behind():
    rods = level()
    changed = edited(rods, [PitchEdit(4, -0.02)], 30.0)
    (_, before), (_, after) = rods.joints_m(), changed.joints_m()
    assert after[:4] == pytest.approx(before[:4])
    # Along an arc from level to a pitch and back, of one rod each: half of the angle's climb on each.
    assert after[4:-1] == pytest.approx([-2.0 - 3.0 * 0.01, *[-2.0 - 6.0 * 0.01] * 5], abs=2e-5)


def test_the_last_rod_ends_at_the_exit_again():
    changed = edited(level(), [PitchEdit(4, -0.2), PitchEdit(5, -0.2)], 30.0)
    assert changed.lengths_m[:-1] == pytest.approx(np.full(9, 3.0))
    stations, _ = changed.joints_m()
    # 30 m of run take more than ten rods then; a rod is no longer than the others.
    assert stations[-1] < 30.0
    shorter = edited(level(), [PitchEdit(4, -0.2)], 29.0)
    assert shorter.joints_m()[0][-1] == pytest.approx(29.0, abs=1e-9)


def test_of_the_same_rod_the_last_change_counts():
    rods = edited(level(), [PitchEdit(2, 0.1), PitchEdit(2, 0.05)], 30.0)
    assert np.tan(rods.angles_rad[2]) == pytest.approx(0.05)
