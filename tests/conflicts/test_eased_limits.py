"""A limit that gives way by itself: the least that is enough, searched and found."""

from dataclasses import replace

import pytest

from conflicts.find_profile import find_profile
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


def test_less_cover_is_told_as_what_others_must_allow(bore):
    found = find_profile(bore.pk, ProfileWishes(greatest_depth_m=1.0))
    cover = eased(found)["cover"]
    words = relaxation_sentence(found.demands, cover, "metric")
    assert "if the law of the place" in words
    assert cover is found.relaxations[-1]
    assert cover.eased.by_m < bore.minimum_cover_m
