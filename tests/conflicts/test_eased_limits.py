"""A limit that gives way by itself: the least that is enough, searched and found."""

from dataclasses import replace

import pytest

from conflicts.find_profile import find_profile
from conflicts.gather_plan import gather_to_plan
from conflicts.profile_demands import ProfileWishes
from conflicts.profile_document import profile_document
from conflicts.profile_words import relaxation_sentence
from locates.units import format_length
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job(name="Alder Street", show_units="metric").bores.get()


def eased(found):
    """What gave way, by its name."""
    return {str(one.eased.demand): one for one in found.relaxations if one.eased is not None}


def test_a_depth_that_leaves_no_cover_is_eased_by_as_little_as_is_enough(bore):
    wishes = ProfileWishes(greatest_depth_m=1.0)
    found = find_profile(bore.pk, wishes)
    assert found.rods is None
    [deeper] = [one for name, one in eased(found).items() if name == "greatest_depth"]
    by_m = deeper.eased.by_m
    assert 0.0 < by_m < 1.0
    assert find_profile(bore.pk, replace(wishes, greatest_depth_m=1.0 + by_m)).rods is not None
    assert find_profile(bore.pk, replace(wishes, greatest_depth_m=1.0 + by_m - 0.02)).rods is None
    assert format_length(1.0 + by_m, "metric", "up") in relaxation_sentence(found.demands, deeper, "metric")
    told = profile_document(found)["relaxations"]
    assert [one["by_m"] for one in told if one["limit"] == "greatest_depth"] == [by_m]


def test_a_steepest_pitch_below_that_of_the_entry_is_eased(bore):
    wishes = ProfileWishes(steepest_pitch_ratio=0.02)
    found = find_profile(bore.pk, wishes)
    assert found.rods is None
    steeper = eased(found)["steepest_pitch"]
    allowed = 0.02 + steeper.eased.by_ratio
    assert find_profile(bore.pk, replace(wishes, steepest_pitch_ratio=allowed)).rods is not None
    assert find_profile(bore.pk, replace(wishes, steepest_pitch_ratio=allowed - 0.01)).rods is None
    assert "Allow a pitch of" in relaxation_sentence(found.demands, steeper, "metric")
    # Other pitches at the ends alone would still break what was asked.
    assert not {"entry_pitch", "exit_pitch"} & set(eased(found))


def test_the_pitch_at_the_entry_is_eased_with_a_steepest_that_nobody_asked_for(bore):
    bore.entry_pitch_ratio_min, bore.entry_pitch_ratio_max = -0.08, -0.05
    bore.exit_pitch_ratio_min, bore.exit_pitch_ratio_max = 0.05, 0.08
    bore.save()
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((7, -15), (7, 15))
    )
    factories.TestHoleFactory(job=bore.job, mark=mark, position=factories.point(7, 0), depth_to_top_m=0.4)
    wishes = ProfileWishes()
    found = find_profile(bore.pk, wishes)
    assert found.rods is None
    pitches = eased(found)["entry_pitch"].eased.limits.entry_pitch_ratio
    assert pitches.least < -0.08
    assert pitches.greatest <= 0.0
    rig = replace(
        gather_to_plan(bore.pk, 60.0).recorded.rig,
        entry_pitch_ratio_min=pitches.least,
        entry_pitch_ratio_max=pitches.greatest,
    )
    assert find_profile(bore.pk, wishes, rig=rig).rods is not None


def test_less_cover_is_told_as_what_others_must_allow(bore):
    found = find_profile(bore.pk, ProfileWishes(greatest_depth_m=1.0))
    cover = eased(found)["cover"]
    words = relaxation_sentence(found.demands, cover, "metric")
    assert "if the law of the place" in words
    assert cover is found.relaxations[-1]
    assert cover.eased.by_m < bore.minimum_cover_m
