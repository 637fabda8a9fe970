"""The pull estimate: its page, what bears the pull, and forces as people write them."""

import re
from html import unescape
from math import atan, degrees

import numpy as np
import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from conflicts.assess import compute_bores, store_assessment
from conflicts.engine.path import path_of_profile
from conflicts.models import Bore
from conflicts.pass_questions import hole_pulled_through
from conflicts.pullback.bundle import Bundle
from conflicts.pullback.forces import ForceError, format_force, parse_force_n
from conflicts.pullback.held_against import held_against
from conflicts.pullback.pull import Gear, Pull
from conflicts.pullback.pull_load import Frictions, parts_of_hole, pull_loads
from conflicts.pullback.sheet import PulledThrough, planned_bends, pull_sheet, way_of
from tests.factories import DrilledRodFactory, HolePassFactory, person_in_role, small_job

TAG = re.compile(r"<[^>]*>")
STRONG = Gear(30e3, 40e3, 25e3, 0.08, 0.1)
ENTERED = {
    "count": "1",
    "outside_diameter_m": "4.5 in",
    "dimension_ratio": "11",
    "relative_density": "0.955",
    "mud_relative_density": "1.5",
    "on_ground": "0.5",
    "in_hole": "0.3",
    "above_ground_m": "0 ft",
    "rod_diameter_m": "2 in",
    "safe_pull_n": "7524 lb",
    "swivel_n": "10,000 lb",
    "break_away_n": "7 kip",
    "grip_least_m": "3.5 in",
    "grip_greatest_m": "4 in",
}


def pull(gear: Gear = STRONG, count: int = 1) -> Pull:
    return Pull(Bundle(count, 0.1143, 11.0, 0.955), 1.5, Frictions(0.5, 0.3), 0.0, 0.0508, gear)


class TestPage:
    """The sheet that a person sees."""

    pytestmark = pytest.mark.django_db

    @pytest.fixture
    def bore(self) -> Bore:
        stored = small_job().bores.get()
        store_assessment(stored.id)
        return stored

    def ask(self, client, bore, status=200, **entered) -> str:
        client.force_login(person_in_role("Foreman"))
        response = client.get(reverse("conflicts:pullback", args=[bore.pk]), entered)
        assert response.status_code == status
        return " ".join(unescape(TAG.sub(" ", response.content.decode())).split())

    def test_it_first_asks_what_is_pulled(self, client, bore):
        text = self.ask(client, bore)
        assert "Estimate the pull" in text
        assert "Every step" not in text

    def test_a_pull_that_everything_bears_is_told_with_the_weakest_link(self, client, bore):
        text = self.ask(client, bore, **ENTERED)
        assert re.search(
            r"lb of pull; the weakest is the break-away link, with 7,000 lb: \d+\.\d\d times", text
        )
        assert "Conduits of PE4710 bear 6,992 lb" in text

    @pytest.mark.parametrize(
        ("rods", "words"),
        [
            (6, ["by the planned profile", "by the hole as drilled so far, and as planned from there on"]),
            (20, ["by the planned profile", "by the hole as drilled so far"]),
        ],
    )
    def test_a_hole_that_was_drilled_in_waves_is_not_answered_for_by_its_plan(
        self, client, bore, rods, words
    ):
        planned = self.ask(client, bore, **ENTERED)
        needed_lb = float(re.search(r"([\d,]+) lb of pull", planned)[1].replace(",", ""))
        entered = ENTERED | {"break_away_n": f"{1.1 * needed_lb:.0f} lb"}
        assert "1.10 times as much" in self.ask(client, bore, **entered)
        after = None
        for number in range(rods):
            # Rods of 5 m, 10 % down and up in turn: each turns by 11 degrees.
            after = DrilledRodFactory(
                bore=bore,
                after=after,
                length_m=5.0,
                pitch_ratio=-0.1 if number % 2 == 0 else 0.1,
                depth_m=None,
            )
        text = self.ask(client, bore, **entered)
        assert re.findall(r"Every step, ([^A]*?) ASTM", text) == words
        assert "Not as described here" in text
        assert "times as much" not in text
        assert re.search(r"the weakest is the break-away link, with [\d,]+ lb: too little", text)

    def test_rods_that_give_no_path_are_never_a_yes(self, client, bore):
        first = DrilledRodFactory(bore=bore, length_m=5.0, heading_rad=0.0)
        DrilledRodFactory(bore=bore, after=first, length_m=5.0, heading_rad=np.pi)
        text = self.ask(client, bore, **ENTERED)
        assert "Nothing is estimated: the rods that are logged give no path" in text
        assert "times as much" not in text

    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("safe_pull_n", "Nobody entered what the conduit can bear"),
            ("swivel_n", "Nobody entered what the swivel can bear"),
            ("break_away_n", "Nobody entered what the break-away link can bear"),
            ("grip_least_m", "Nobody entered which inside diameters"),
        ],
    )
    def test_what_nobody_entered_is_never_a_yes(self, client, bore, name, words):
        text = self.ask(client, bore, **ENTERED | {name: ""})
        assert words in text
        assert "Not as described here" in text
        assert "times as much" not in text

    @pytest.mark.parametrize(
        ("name", "typed", "words"),
        [
            ("outside_diameter_m", "4.5", "write it as 4'7"),
            ("outside_diameter_m", "4.5 m", "at most 2 m"),
            ("count", "13", "less than or equal to 12"),
            ("dimension_ratio", "nan", "Enter a number"),
            ("swivel_n", "10 tons", "accepted is a force with its unit"),
            ("grip_greatest_m", "3 in", "least inside diameter or more"),
            ("above_ground_m", "-1 ft", "0 or more"),
        ],
    )
    def test_what_cannot_be_is_refused_beside_its_field(self, client, bore, name, typed, words):
        text = self.ask(client, bore, status=400, **ENTERED | {name: typed})
        assert words in text
        assert "Every step" not in text


@pytest.mark.parametrize(
    ("gear", "words"),
    [
        (Gear(4e3, 40e3, 3e3, 0.08, 0.1), "too little"),
        (Gear(30e3, 40e3, 31e3, 0.08, 0.1), "after the conduit would have been overloaded"),
        (Gear(30e3, 40e3, 25e3, 0.02, 0.03), "take another"),
    ],
)
def test_what_speaks_against_a_pull_is_told_and_nothing_else_is_said(gear, words):
    faults, answer = held_against(pull(gear), 5e3, 0.2, "metric")
    assert words in " ".join(faults)
    assert answer == ""


def test_a_bundle_that_is_wider_than_the_hole_does_not_go_in():
    assert held_against(pull(), 5e3, 0.12, "metric")[0] == []
    faults, _ = held_against(pull(Gear(30e3, 40e3, 25e3, 0.08, 0.1), count=2), 5e3, 0.2286, "metric")
    assert "does not go in" in faults[0]


def test_conduits_of_a_bundle_bear_together():
    _, answer = held_against(pull(Gear(10e3, 90e3, 20e3, 0.08, 0.1), count=2), 5e3, 0.3, "metric")
    assert answer.endswith("4.00 times as much.")


def test_the_way_of_the_conduits_begins_at_the_exit_of_the_bore():
    stations, elevations = [0.0, 20.0, 60.0, 80.0], [10.0, 6.0, 6.0, 9.0]
    path = path_of_profile(np.array([[0.0, 0.0], [80.0, 0.0]]), stations, elevations)
    way = way_of(path, 5.0)
    assert (way.falls_m, way.rises_m) == pytest.approx((3.0, 4.0))
    assert (way.entry_rad, way.exit_rad) == pytest.approx((atan(3.0 / 20.0), atan(4.0 / 20.0)))
    assert way.hole_m == pytest.approx(np.hypot(20.0, 4.0) + 40.0 + np.hypot(20.0, 3.0))
    turned_deg = degrees(atan(0.2)) + degrees(atan(0.15))
    assert planned_bends(path) == pytest.approx(turned_deg / 90.0)


def test_a_level_bore_from_pit_to_pit_is_level_throughout():
    way = parts_of_hole(50.0, (0.0, 0.0), (0.0, 0.0), 0.0)
    assert (way.falling_m, way.level_m, way.rising_m) == (0.0, 50.0, 0.0)
    loads = pull_loads(way, Frictions(0.5, 0.3), 10.0, 100.0)
    # On the ground 0.5 of the weight, less what has gone in; in the hole 0.3 of the buoyancy.
    assert loads.rising == pytest.approx(0.3 * 100.0 * 50.0)


@given(
    st.floats(10.0, 500.0), st.tuples(st.floats(0.0, 20.0), st.floats(0.0, 20.0)),
    st.tuples(st.floats(0.0, 0.6), st.floats(0.0, 0.6)), st.floats(0.0, 100.0),
)  # fmt: skip
def test_the_parts_of_a_hole_are_its_length_and_more_friction_never_pulls_less(hole, depths, angles, above):
    way = parts_of_hole(hole, depths, angles, above)
    assert min(way.falling_m, way.rising_m) >= 0.0
    assert way.level_m >= -1e-9 * hole
    assert way.hole_m == pytest.approx(hole)
    smooth, rough = (pull_loads(way, Frictions(0.1, one), 20.0, 60.0) for one in (0.2, 0.4))
    assert rough.falling >= smooth.falling - 1e-6


def test_the_sheet_adds_up_and_rounds_the_pull_up():
    path = path_of_profile(
        np.array([[0.0, 0.0], [80.0, 0.0]]), [0.0, 20.0, 60.0, 80.0], [10.0, 6.0, 6.0, 10.0]
    )
    sheet = pull_sheet(pull(), path, PulledThrough(0.2, 0.2, is_reamed=False), "metric")
    shown = {figure.name: figure.result for figure in sheet.figures}
    assert shown["Pull that is counted on"] == format_force(sheet.pull_n, "metric", "up")
    assert parse_force_n(shown["Pull that is counted on"]) >= sheet.pull_n


@pytest.mark.parametrize(
    ("text", "newtons"),
    [
        ("7524 lb", 33468.42),
        ("7,524 lbf", 33468.42),
        ("7.5 kip", 33361.66),
        ("33.4 kN", 33400.0),
        ("12 N", 12.0),
    ],
)
def test_forces_are_read_as_people_write_them(text, newtons):
    assert parse_force_n(text) == pytest.approx(newtons, abs=0.01)


@pytest.mark.parametrize(
    "text", ["", "7524", "-5 lb", "0 lb", "1e3 lb", "12 tons", "7,52 lb", "9" * 40 + " lb"]
)
def test_what_is_no_force_is_refused(text):
    with pytest.raises(ForceError, match="accepted is a force with its unit"):
        parse_force_n(text)


@pytest.mark.django_db
def test_the_hole_that_is_pulled_through_is_what_was_reamed_and_as_planned_before():
    bore = small_job().bores.get()

    def hole():
        return hole_pulled_through(compute_bores([bore.pk])[bore.pk].scene, 0.1)

    assert hole() == PulledThrough(0.2, 0.2, is_reamed=False)
    HolePassFactory(bore=bore, diameter_m=0.15, from_station_m=0.0, to_station_m=40.0)
    assert hole() == PulledThrough(0.1, 0.15, is_reamed=True)
    HolePassFactory(bore=bore, diameter_m=0.12)
    HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=40.0, to_station_m=60.0)
    assert hole() == PulledThrough(0.12, 0.3, is_reamed=True)


@pytest.mark.django_db
def test_a_hole_reamed_in_part_with_a_pilot_of_no_size_is_of_unknown_width_and_no_yes():
    bore = small_job(show_units="metric").bores.get()
    HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=0.0, to_station_m=20.0)
    scene = compute_bores([bore.pk])[bore.pk].scene
    hole = hole_pulled_through(scene, None)
    assert "No reamer went from station 0+020.0 to 0+100.0" in hole.unknown
    sheet = pull_sheet(pull(), scene.path, hole, "metric")
    assert sheet.faults[0] == hole.unknown
    assert not sheet.answer
    known = pull_sheet(pull(), scene.path, hole_pulled_through(scene, 0.3), "metric")
    assert known.answer
    HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=20.0, to_station_m=scene.path.length_m)
    assert not hole_pulled_through(compute_bores([bore.pk])[bore.pk].scene, None).unknown


def test_a_hole_reamed_too_small_takes_no_bundle_and_a_wide_one_holds_back_more_fluid():
    path = path_of_profile(
        np.array([[0.0, 0.0], [80.0, 0.0]]), [0.0, 20.0, 60.0, 80.0], [10.0, 6.0, 6.0, 10.0]
    )
    wide, planned, narrow = (
        pull_sheet(pull(), path, PulledThrough(least, most, is_reamed=True), "metric")
        for least, most in ((0.2, 0.3), (0.2, 0.2), (0.1, 0.2))
    )
    assert wide.pull_n > planned.pull_n == narrow.pull_n
    assert any("does not go in" in fault for fault in narrow.faults)
    assert not any("does not go in" in fault for fault in planned.faults)
