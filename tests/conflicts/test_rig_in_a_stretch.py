"""A rig that may stand in a stretch: what holds at each place of it, and what a move back does."""

import pytest

from conflicts.engine.profile_limits import Range
from conflicts.find_profile import find_profile
from conflicts.plan_ground import plan_ground
from conflicts.profile_demands import ProfileWishes
from conflicts.profile_relax import Relaxed
from conflicts.profile_words import relaxation_sentence
from tests import factories

pytestmark = pytest.mark.django_db

# What two searches of one place differ by at most, m: DEVELOPERS' figure for a search ten times finer.
AS_GOOD_M = 0.005


@pytest.fixture
def bore():
    return factories.small_job(name="Alder Street").bores.get()


def known_line(bore, places_m, top_m, holes_m):
    """A line whose depth was measured where the bore meets it."""
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line(*places_m)
    )
    for place in holes_m:
        factories.TestHoleFactory(
            job=bore.job, mark=mark, position=factories.point(*place), depth_to_top_m=top_m
        )
    return mark


def across(bore, station_m, top_m):
    """A line square to the bore."""
    known_line(bore, ((station_m, -15), (station_m, 15)), top_m, [(station_m, 0)])


@pytest.fixture
def close(bore):
    """Lines just after the entry at many depths, and two behind it."""
    bore.entry_pitch_ratio_min, bore.entry_pitch_ratio_max = 0.10, 0.25
    bore.save()
    for top_m in (0.9, 1.7, 2.5, 3.2):
        across(bore, 6.0, top_m)
    across(bore, -10.3, 0.55)
    across(bore, -12.0, 0.7)
    return bore


def found(bore, *stretch_m):
    return find_profile(bore.pk, ProfileWishes(rig_station_m=Range(*stretch_m)))


class TestRequiredByWhereTheBoreBegins:
    @pytest.fixture
    def oblique(self, bore):
        """A line that the bore crosses 5 m from its entry and that is beside the entry too."""
        holes = [(east_m, east_m / 10.0 - 0.5) for east_m in (-5.0, 0.0, 5.0, 10.0)]
        return known_line(bore, ((-35, -4), (45, 4)), 1.3, holes)

    def test_a_rig_at_the_entry_is_asked_what_the_assessment_asks(self, bore, oblique):
        best = find_profile(bore.pk, ProfileWishes())
        [asked] = {one.required_m for one in best.demands.lines if one.mark.mark_id == str(oblique.pk)}
        [judged] = [one for one in best.crossings if one.mark.mark_id == str(oblique.pk)]
        assert judged.clearance.kind == "crossing"
        assert asked == judged.required_m

    def test_no_profile_that_the_assessment_measures_is_better(self, bore, oblique):
        best = find_profile(bore.pk, ProfileWishes())
        ground = plan_ground(bore.pk)
        # A search that is asked for less of the line is measured by the same assessment.
        assert best.least_margin_m == pytest.approx(ground.measured(best.rods).least_margin_m, abs=1e-6)
        assert best.least_margin_m > 0.4

    def test_past_the_crossing_point_it_lies_alongside(self, bore, oblique):
        parts = find_profile(bore.pk, ProfileWishes(rig_station_m=Range(5.5, 5.5)))
        kinds = {one.kind for one in parts.demands.lines if one.mark.mark_id == str(oblique.pk)}
        assert kinds == {"alongside"}


class TestWiderStretches:
    @pytest.mark.parametrize("least_m", [-9.44, -11.0, -14.0, -18.0])
    def test_a_wider_stretch_finds_no_less(self, close, least_m):
        narrow = found(close, -9.44, -9.44).least_margin_m
        assert narrow > 0.3
        assert found(close, least_m, 0.0).least_margin_m >= narrow - AS_GOOD_M

    def test_a_stretch_without_the_entry_finds_it_too(self, close):
        assert (
            found(close, -16.0, -1.0).least_margin_m >= found(close, -9.44, -9.44).least_margin_m - AS_GOOD_M
        )


class TestRigBack:
    def test_the_least_move_is_told_though_a_line_behind_bars_the_next_ones(self, close):
        nothing = found(close, 0.0, 0.0)
        assert nothing.rods is None
        [back] = [one for one in nothing.relaxations if one.kind is Relaxed.RIG_BACK]
        assert back.back_m < 9.5
        assert found(close, -back.back_m, -back.back_m).rods is not None
        # What is told is the least to a tenth of a metre.
        assert found(close, 0.2 - back.back_m, 0.2 - back.back_m).rods is None

    def test_of_a_stretch_it_is_counted_from_the_rearmost_place(self, close):
        nothing = found(close, -1.0, 0.0)
        assert nothing.rods is None
        [back] = [one for one in nothing.relaxations if one.kind is Relaxed.RIG_BACK]
        words = relaxation_sentence(nothing.demands, back, "us")
        assert "from the rearmost place that it may have" in words
        assert found(close, -1.0 - back.back_m, -1.0 - back.back_m).rods is not None
