"""The plan_profile command: its document, its table, its words where there is no profile, its exit status."""

import json

import pytest
from django.core.management import CommandError, call_command

from conflicts.assess import compute_bores
from conflicts.gather import gather
from conflicts.models import Bore
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job(name="Alder Street").bores.get()


def run(*arguments):
    """Exit status of the command."""
    try:
        call_command("plan_profile", *arguments)
    except SystemExit as stop:
        return stop.code
    except CommandError as error:
        return error.returncode
    return 0


def document(capsys, bore, *arguments, status=0):
    assert run("Alder Street", bore.name, "--format", "json", *arguments) == status
    return json.loads(capsys.readouterr().out)


def line_across(bore, station_m, **changes):
    """A mark square to the bore."""
    return factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        geometry=factories.line((station_m, -15), (station_m, 15)),
        **changes,
    )


def store_as_rods(bore, found):
    """Enter a profile that was found as the bore's rods."""
    rods = found["rods"]
    entry = gather([bore.pk])[bore.pk]
    first = rods[0]
    bore.profile_by, bore.profile_stations_m, bore.profile_values_m = "", [], []
    bore.rods_entry_elevation_m = (
        first["elevation_m"]
        - first["length_m"] * first["pitch_ratio"] / (1.0 + first["pitch_ratio"] ** 2) ** 0.5
    )
    bore.rod_lengths_m = [0.0, *(one["length_m"] for one in rods)]
    bore.rod_pitches_ratio = [first["pitch_ratio"], *(one["pitch_ratio"] for one in rods)]
    bore.rod_headings_rad = [None] * (len(rods) + 1)
    bore.save()
    assert entry.name == bore.name


def test_the_profile_found_has_the_printed_margins_when_it_is_entered_and_assessed(bore, capsys):
    line_across(bore, 70.0)
    factories.TestHoleFactory(
        job=bore.job, mark=bore.job.marks.last(), position=factories.point(70, 0), depth_to_top_m=1.2
    )
    found = document(capsys, bore)
    assert found["found"]
    assert found["profile_faults"] == []
    store_as_rods(bore, found)
    assessed = compute_bores([bore.pk])[bore.pk]
    theirs = [one.clearance.worst_case_m for one in assessed.crossings]
    assert [one["worst_case_m"] for one in found["crossings"]] == pytest.approx(theirs, abs=1e-5)
    assert found["least_margin_m"] == pytest.approx(
        min(one.clearance.worst_case_m - one.required_m for one in assessed.crossings), abs=1e-5
    )


def test_no_rod_turns_more_than_the_rig_can_and_the_ends_are_where_they_are_wanted(bore, capsys):
    found = document(capsys, bore)
    assert max(abs(one["turn_rad"]) / one["length_m"] for one in found["rods"]) <= 1.0 / bore.bend_radius_m
    assert found["rods"][0]["change_ratio"] == pytest.approx(0.0, abs=1e-9)
    last = found["rods"][-1]
    assert (last["station_m"], last["depth_m"]) == pytest.approx((bore.alignment_length_m, 0.0), abs=2e-3)
    assert bore.exit_pitch_ratio_min <= last["pitch_ratio"] <= bore.exit_pitch_ratio_max + 1e-6


def test_the_table_fits_and_says_that_it_is_no_release(bore, capsys):
    assert run("Alder Street", bore.name) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 100
    assert "It is no release" in out
    assert "Rod  Station" in out


def test_a_line_of_unknown_depth_is_never_guessed(bore, capsys):
    mark = line_across(bore, 70.0, ref="W-9")
    found = document(capsys, bore, status=1)
    assert found["none_is_proven"]
    assert found["rods"] == []
    assert "W-9 is unknown, which blocks every depth" in found["why_none"][0]
    assert [one["kind"] for one in found["relaxations"]] == ["expose"]
    assert found["relaxations"][0]["mark_refs"] == [mark.ref]


def test_a_depth_stated_for_unexposed_lines_is_kept_below_and_they_stay_unexposed(bore, capsys):
    line_across(bore, 50.0, ref="W-9")
    found = document(capsys, bore, "--unexposed-above", "1.5 m")
    crossing = next(one for one in found["crossings"] if one["mark_ref"] == "W-9")
    assert (crossing["margin_m"], crossing["verdict"]) == (None, "unexposed")
    beside = [one["depth_m"] for one in found["rods"] if 48.0 < one["station_m"] < 52.0]
    # Its lowest point at 1.5 m, then the radius, what is required and both errors.
    assert min(beside) >= 1.5 + 0.5 * bore.final_diameter_m + crossing["required_m"]


def test_too_near_a_line_says_the_setback_and_how_far_back_the_rig_must_go(bore, capsys):
    # The gas line at 8 m lies from the surface down: only a bore that is deep enough there gets by.
    mark = line_across(bore, 8.0, ref="G-8")
    factories.TestHoleFactory(
        job=bore.job,
        mark=mark,
        position=factories.point(8, 0),
        depth_to_top_m=0.4,
        outside_width_m=2.0,
        outside_height_m=2.0,
    )
    found = document(capsys, bore, status=1)
    assert found["none_is_proven"]
    words = " ".join(found["why_none"])
    assert "G-8" in words
    assert "cannot all hold" in words
    back = next(one for one in found["relaxations"] if one["kind"] == "rig_back")
    assert 0.1 < back["back_m"] < 30.0
    again = document(capsys, bore, "--rig-back", f"{back['back_m'] + 0.01:.2f} m")
    assert again["entry_station_m"] < 0.0
    assert again["least_margin_m"] >= 0.0


def test_limits_that_are_not_recorded_are_asked_for(bore):
    Bore.objects.filter(pk=bore.pk).update(bend_radius_m=None)
    with pytest.raises(CommandError, match="not recorded for the rig: bend radius") as refusal:
        call_command("plan_profile", "Alder Street", bore.name)
    assert refusal.value.returncode == 2


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--exit-depth", "2 m", "1 m"), "--exit-depth: found '2 m 1 m'; accepted is one length"),
        (("--steepest", "30"), "--steepest: "),
        (("--rig-back", "12"), "--rig-back: "),
        (("--rig-back", "90 m"), "the rig can be put from 30 m behind"),
    ],
)
def test_bad_input_says_what_is_accepted_and_ends_with_2(bore, arguments, words):
    with pytest.raises(CommandError, match=words) as refusal:
        call_command("plan_profile", "Alder Street", bore.name, *arguments)
    assert refusal.value.returncode == 2


def test_looking_for_a_profile_writes_nothing(bore, django_assert_max_num_queries):
    before = Bore.objects.values().get(pk=bore.pk)
    with django_assert_max_num_queries(80):
        run("Alder Street", bore.name)
    assert Bore.objects.values().get(pk=bore.pk) == before
