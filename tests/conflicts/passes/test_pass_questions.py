"""What is asked before a pass is kept, and what is not."""

from dataclasses import replace

import pytest

from conflicts.assess import compute
from conflicts.drilled import drilled_path
from conflicts.gather import gather
from conflicts.gather_rods import gather_rods
from conflicts.hole_passes import PassLog
from conflicts.models import Bore
from conflicts.pass_questions import pass_questions
from tests import factories
from tests.conflicts.passes.written_passes import pulled, reamed

pytestmark = pytest.mark.django_db

PILOT = 0.1


@pytest.fixture
def bore():
    """A bore of 0.2 m from a pilot of 0.1 m that passes under one exposed line."""
    return factories.small_job(show_units="metric").bores.get()


def asked(bore, *passes, pilot_m=PILOT):
    """Questions about the last of the passes, by their code."""
    found = compute(gather([bore.pk])[bore.pk])
    site = replace(found.scene.inputs.site, passes=PassLog(passes[:-1]))
    scene = replace(found.scene, inputs=replace(found.scene.inputs, site=site))
    drilled = drilled_path(scene, gather_rods([bore])[bore.pk])
    questions = pass_questions(scene, found.crossings, pilot_m, passes[-1], drilled)
    return {str(one.code): one.sentence for one in questions}


def test_passes_that_follow_the_plan_are_not_asked_about(bore):
    assert asked(bore, reamed(0.15)) == {}
    assert asked(bore, reamed(0.15), reamed(0.2)) == {}
    # A worn reamer is still the same one.
    assert asked(bore, reamed(0.2), reamed(0.198)) == {}
    assert asked(bore, reamed(0.2), pulled(0.13)) == {}
    # Where the pilot is the finished hole nothing is reamed.
    Bore.objects.update(pilot_diameter_m=0.2)
    assert asked(bore, pulled(0.13), pilot_m=0.2) == {}


def test_a_reamer_smaller_than_the_pilot_or_than_one_before_is_asked_about(bore):
    assert asked(bore, reamed(0.08)).keys() == {"under_pilot"}
    assert asked(bore, reamed(0.08), pilot_m=None) == {}
    assert "200 mm" in asked(bore, reamed(0.2), reamed(0.15))["under_last"].replace("0.200 m", "200 mm")
    # Another stretch is another hole.
    assert asked(bore, reamed(0.2, 0.0, 40.0), reamed(0.15, 41.0, 60.0)) == {}


def test_a_wider_reamer_is_asked_about_with_the_crossings_that_turn_short(bore):
    [crossing] = compute(gather([bore.pk])[bore.pk]).crossings
    spare_m = crossing.clearance.worst_case_m - crossing.required_m
    little = asked(bore, reamed(0.2 + 2 * spare_m - 0.01))
    assert little.keys() == {"wider"}
    assert "No crossing turns by it" in little["wider"]
    much = asked(bore, reamed(0.2 + 2 * spare_m + 0.02))["wider"]
    assert f"{crossing.mark.ref} at station 0+050.0 turns short: 0.29" in much
    assert "required" in much
    # Where the line is not passed, nothing turns.
    assert "No crossing" in asked(bore, reamed(0.2 + 2 * spare_m + 0.02, 70.0, 90.0))["wider"]


def test_the_hole_as_drilled_is_asked_about_beside_the_plan(bore):
    [crossing] = compute(gather([bore.pk])[bore.pk]).crossings
    spare_m = crossing.clearance.worst_case_m - crossing.required_m
    rod = None
    for number in range(1, 21):
        # Drilled 10 cm nearer to the line than planned.
        rod = factories.DrilledRodFactory(bore=bore, after=rod, depth_m=min(1.9, 0.3 * number))
    words = asked(bore, reamed(0.2 + 2 * spare_m - 0.01))["wider"]
    assert f"As drilled, {crossing.mark.ref}" in words


def test_a_pullback_through_a_stretch_of_unknown_width_is_asked_about(bore):
    part = reamed(0.2, 0.0, 20.0)
    words = asked(bore, part, pulled(0.13), pilot_m=None)
    assert words.keys() == {"width_unknown"}
    assert "from station 0+020.0 to 0+100.0" in words["width_unknown"]
    assert asked(bore, part, pulled(0.2), pilot_m=None).keys() == {"width_unknown", "bundle_too_wide"}
    assert asked(bore, part, pulled(0.13)).keys() == {"bundle_too_wide"}
    assert asked(bore, part, reamed(0.2, 20.0, 100.0), pulled(0.13), pilot_m=None) == {}


def test_a_pass_beyond_the_last_rod_is_asked_about(bore):
    rod = None
    for number in range(1, 11):
        rod = factories.DrilledRodFactory(bore=bore, after=rod, length_m=3.0, depth_m=min(2.0, 0.3 * number))
    for passes in ((reamed(0.2),), (reamed(0.2, 0.0, 40.0),), (reamed(0.2, 0.0, 29.0), pulled(0.13))):
        words = asked(bore, *passes)["past_head"]
        assert words.startswith("The bit of the last rod in the ground is at station 0+030.")
    assert "goes to station 0+100.0" in asked(bore, reamed(0.2))["past_head"]
    # To the bit, and to what the same place may be off besides.
    assert "past_head" not in asked(bore, reamed(0.2, 0.0, 31.0))
    for _ in range(23):
        rod = factories.DrilledRodFactory(bore=bore, after=rod, length_m=3.0, depth_m=2.0)
    assert asked(bore, reamed(0.2)) == {}


@pytest.mark.parametrize(
    ("passes", "codes"),
    [
        ((pulled(0.13),), {"not_reamed"}),
        ((reamed(0.2), pulled(0.2)), {"bundle_too_wide"}),
        ((reamed(0.2), pulled(0.15)), {"tight"}),
        ((reamed(0.15), pulled(0.11)), {"tight"}),
        # Between the reamed stretches the pilot is all there is.
        ((reamed(0.2, 0.0, 40.0), reamed(0.2, 50.0, 100.0), pulled(0.12)), {"bundle_too_wide"}),
        ((reamed(0.2), pulled(0.25)), {"bundle_too_wide", "wider"}),
        ((reamed(0.2), pulled(0.13), pulled(0.13)), {"after_pullback"}),
    ],
)
def test_a_pullback_that_does_not_fit_the_hole_is_asked_about(bore, passes, codes):
    assert asked(bore, *passes).keys() == codes


def test_a_reamer_after_the_pullback_is_asked_about_unless_it_went_before(bore):
    late = replace(reamed(0.2), made_at=factories.PLANNED_FINISH_AT)
    assert asked(bore, reamed(0.15), pulled(0.1), late).keys() == {"after_pullback"}
    assert asked(bore, reamed(0.15), pulled(0.1), reamed(0.2)) == {}
