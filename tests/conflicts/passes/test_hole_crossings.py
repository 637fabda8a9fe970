"""Clearances of a hole that is not everywhere as wide as planned, against hand values and shapely."""

from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from conflicts.assess import compute
from conflicts.crossings import find_crossings
from conflicts.drawing.profile_figures import hole_edges
from conflicts.drawing.section_figures import section_at
from conflicts.drilled import drilled_crossings, drilled_path
from conflicts.gather import gather
from conflicts.gather_rods import gather_rods
from conflicts.hole_passes import HoleSize
from conflicts.models import Assessment, Bore
from conflicts.recently_computed import computed
from tests import factories

pytestmark = pytest.mark.django_db

# Of the job of `small_job`: the bore 0.2 m across and 2 m deep, the gas line square to it at 50 m.
PLANNED = 0.2


@pytest.fixture
def bore():
    """A second line lies at 70 m, as deep as the first."""
    stored = factories.small_job().bores.get()
    [hole] = stored.job.test_holes.all()
    other = factories.MarkFactory(
        job=stored.job, operator=hole.mark.operator, geometry=factories.line((70, -15), (70, 15))
    )
    factories.TestHoleFactory(
        job=stored.job, mark=other, position=factories.point(70, 0), depth_to_top_m=hole.depth_to_top_m
    )
    return stored


def now(bore):
    return compute(gather([bore.pk])[bore.pk])


def margins(crossings):
    return [one.clearance.worst_case_m for one in crossings]


def test_each_crossing_loses_half_of_what_its_own_stretch_is_wider(bore):
    before = now(bore).crossings
    factories.HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=40.0, to_station_m=60.0)
    after = now(bore).crossings
    assert [one.clearance.sizes.bore_radius_m for one in after] == [0.15, 0.1]
    lost = [
        was.clearance.separation_m - one.clearance.separation_m
        for was, one in zip(before, after, strict=True)
    ]
    assert lost == pytest.approx([0.05, 0.0], abs=1e-9)
    lost = [was - one for was, one in zip(margins(before), margins(after), strict=True)]
    assert lost == pytest.approx([0.05, 0.0], abs=1e-9)
    wider = [was.clearance.from_m - one.clearance.from_m for was, one in zip(before, after, strict=True)]
    assert wider == pytest.approx([0.05, 0.0], abs=1e-6)


def test_a_stretch_that_only_touches_a_crossing_counts_for_all_of_it(bore):
    [first, _] = now(bore).crossings
    end_m = first.clearance.from_m + 0.01
    factories.HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=0.0, to_station_m=end_m)
    assert now(bore).crossings[0].clearance.sizes.bore_radius_m == 0.15


def test_a_reamer_that_is_no_wider_than_planned_changes_no_figure_and_no_digest(bore):
    before = now(bore)
    factories.HolePassFactory(bore=bore, diameter_m=PLANNED)
    factories.HolePassFactory(bore=bore, diameter_m=0.15)
    factories.PullbackFactory(bore=bore)
    after = now(bore)
    assert after.inputs_digest == before.inputs_digest
    assert margins(after.crossings) == margins(before.crossings)


def test_a_wider_reamer_turns_crossings_short_and_marks_the_stored_figures_as_old(bore):
    # 0.9 m is left of which 0.305 m is required; the errors take 0.2 m.
    [crossing, _] = now(bore).crossings
    spare_m = crossing.clearance.worst_case_m - crossing.required_m
    before = now(bore).inputs_digest
    factories.HolePassFactory(bore=bore, diameter_m=PLANNED + 2 * spare_m - 0.002)
    assert [one.verdict for one in now(bore).crossings] == ["clear", "clear"]
    factories.HolePassFactory(bore=bore, diameter_m=PLANNED + 2 * spare_m + 0.002)
    assert [one.verdict for one in now(bore).crossings] == ["short", "short"]
    assert now(bore).inputs_digest != before
    assert not Assessment.objects.filter(inputs_digest=now(bore).inputs_digest).exists()


def drilled_margins(bore):
    found = now(bore)
    path = drilled_path(found.scene, gather_rods([bore])[bore.pk])
    at = factories.PLANNED_START_AT
    return [
        (one.crossing.clearance.sizes.bore_radius_m, one.crossing.clearance.separation_m)
        for one in drilled_crossings(found.scene, path, at)
    ]


def test_the_hole_as_drilled_counts_with_what_was_reamed_once_the_conduits_are_in(bore):
    Bore.objects.update(pilot_diameter_m=0.1)
    rod = None
    for number in range(1, 34):
        rod = factories.DrilledRodFactory(
            bore=bore, after=rod, length_m=3.0, depth_m=2.0 if number > 6 else None
        )
    [(radius, planned_m), _] = drilled_margins(bore)
    assert radius == 0.1
    factories.HolePassFactory(bore=bore, diameter_m=0.16)
    assert drilled_margins(bore)[0] == (0.1, planned_m)
    factories.PullbackFactory(bore=bore, diameter_m=0.12)
    assert drilled_margins(bore)[0] == pytest.approx((0.08, planned_m + 0.02))
    factories.HolePassFactory(bore=bore, diameter_m=0.24, from_station_m=60.0, to_station_m=80.0)
    assert [radius for radius, _ in drilled_margins(bore)] == pytest.approx([0.08, 0.12])


def test_a_bore_computed_before_is_read_with_what_is_recorded_since(bore):
    first = computed(gather([bore.pk])[bore.pk])
    factories.HolePassFactory(bore=bore, diameter_m=0.15)
    factories.PullbackFactory(bore=bore)
    again = computed(gather([bore.pk])[bore.pk])
    assert again.crossings is first.crossings
    assert again.scene.inputs.site.passes.state == "pulled back"


def test_sections_and_profile_show_the_reamed_size(bore):
    factories.HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=40.0, to_station_m=60.0)
    found = now(bore)
    # Cut lengthwise, both at the same angle.
    reamed, planned = (section_at(found.scene, one).hole_half_length_m for one in found.crossings)
    assert reamed == pytest.approx(1.5 * planned)
    top, bottom = hole_edges(found.scene)
    # The level stretch, to a millimetre: at its ends the edges begin to turn.
    for at_m, wide_m in ((35.0, 0.2), (41.0, 0.3), (59.0, 0.3), (61.0, 0.2)):
        above_m, below_m = (np.interp(at_m, edge[:, 0], edge[:, 1]) for edge in (top, bottom))
        assert above_m - below_m == pytest.approx(wide_m, abs=1e-3)


SIZES = st.sampled_from([0.1, 0.2, 0.3, 0.5, 0.8])


def test_every_crossing_has_the_largest_size_in_its_extent_and_none_is_lost(bore):
    """Against shapely: each metre of the bore by its distance in plan and the size of the hole there."""
    bends = ((20, 3), (30, 0.7), (40, 3), (60, 3), (62, 0.9), (75, 0.9), (80, 3))
    factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.first(),
        geometry=factories.line(*bends),
        horizontal_accuracy_m=0.1,
    )
    scene = now(bore).scene

    @settings(max_examples=30)
    @given(st.sets(st.integers(1, 98).map(float), max_size=4), st.data())
    def holds(edges, data):
        count = len(edges) + 1
        sizes = data.draw(st.lists(SIZES, min_size=count, max_size=count))
        hole = HoleSize(tuple(sizes), tuple(sorted(edges)))
        found = find_crossings(scene, hole=hole)
        for line in scene.lines:
            _holds_of_line(scene, line, hole, [one.clearance for one in found if one.line is line])

    holds()


def _holds_of_line(scene, line, hole, crossings):
    painted = shapely.LineString(line.line.points_m[:, :2])
    reach_m = scene.inputs.job.tolerance_zone_m + line.line.size.plan_radius_m
    for one in crossings:
        assert one.sizes.bore_diameter_m == hole.widest_between(one.from_m, one.to_m)
    ordered = sorted(crossings, key=lambda one: one.from_m)
    assert all(one.to_m < after.from_m for one, after in pairwise(ordered))
    for station_m in map(float, range(100)):
        away_m = shapely.distance(shapely.Point(scene.path.at(station_m)[:2]), painted)
        if away_m < reach_m + 0.5 * hole.widest_between(station_m, station_m) - 1e-6:
            assert any(one.from_m <= station_m <= one.to_m for one in crossings)
