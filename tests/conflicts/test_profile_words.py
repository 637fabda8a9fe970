"""Why there is no profile, in words with the figures of the design's own example."""

from datetime import UTC, datetime

import numpy as np
import pytest

from conflicts.engine.path import Ground
from conflicts.engine.profile_conflict import Conflict
from conflicts.engine.profile_limits import ForbiddenBand, ProfileLimits, Range
from conflicts.engine.profile_proof import Demand
from conflicts.inputs import MarkInput
from conflicts.profile_demands import WIDER_RATIO, Demands, LineAhead
from conflicts.profile_relax import Relaxation, Relaxed
from conflicts.profile_words import conflict_sentences, relaxation_sentence

MARK = MarkInput(
    mark_id="m",
    ref="W-1",
    operator="Alder Water",
    facility_type="potable_water",
    stated_width_m=None,
    stated_height_m=None,
    horizontal_accuracy_m=None,
    is_intact=True,
    re_marked_at=datetime(2026, 11, 1, tzinfo=UTC),
    points=((0.0, 0.0),),
    holes=(),
)


@pytest.fixture
def demands():
    """10 ft rods, a radius of 100 ft and 15 degrees at entry; a line at 8.5 m."""
    steep = float(np.tan(np.radians(15.0)))
    limits = ProfileLimits(
        length_m=60.0,
        ground=Ground(np.empty(0), np.empty(0)),
        hole_radius_m=0.1,
        rod_length_m=3.048,
        bend_radius_m=30.48 * (1.0 + WIDER_RATIO),
        entry_depth_m=Range(0.0, 0.0),
        exit_depth_m=Range(0.0, 0.0),
        entry_pitch_ratio=Range(-steep, -steep),
        exit_pitch_ratio=Range(0.05, steep),
        minimum_cover_m=0.9,
        covered_m=Range(12.0, 48.0),
        steepest_pitch_ratio=steep,
    )
    band = ForbiddenBand("Alder Water W-1", 8.0, 9.0, -1.4, -0.2)
    line = LineAhead(
        obstacle=band,
        mark=MARK,
        kind="crossing",
        station_m=8.5,
        from_m=8.0,
        to_m=9.0,
        required_m=0.305,
        depth_is_known=True,
        last_met_m=8.5,
        as_crossing_m=0.305,
        as_alongside_m=0.61,
    )
    return Demands(limits, (line,))


def test_the_setback_is_that_of_the_designs_example(demands):
    # 3.048 cos 15 + 30.48 sin 15 = 10.833 m, where the bore lies level 1.827 m deep (Najafi, eq. 5.7).
    conflict = Conflict((Demand.ENTRY_PITCH, Demand.BEND_RADIUS), (0,))
    first, setback = conflict_sentences(demands, conflict, "metric")
    assert "these cannot all hold" in first
    assert "30.480 m (10.0 % of pitch change a rod)" in first
    assert "Alder Water W-1 at station 0+008.5 is missed by 0.305 m" in first
    assert "no deeper than 0.200 m, or 1.400 m deep and more" in first
    assert "first level 1.827 m deep, 10.833 m from the rig" in setback
    assert setback.endswith("the first of these lines stands at 8.500 m.")


def test_every_demand_has_words(demands):
    for one in Demand:
        (sentence,) = conflict_sentences(demands, Conflict((one,), ()), "feet")
        assert sentence.startswith("No profile can be drilled: ")


def test_relaxations_say_how_much(demands):
    back = relaxation_sentence(demands, Relaxation(Relaxed.RIG_BACK, back_m=2.3), "metric")
    assert back.startswith("Move the rig back 2.300 m")
    # tan(3.048 / 21.86) is 14 %, the published convention.
    narrower = Relaxation(Relaxed.MORE_PITCH, bend_radius_m=21.86 * (1.0 + WIDER_RATIO))
    assert "Allow 14.0 % instead of 10.0 % of pitch change a rod" in relaxation_sentence(
        demands, narrower, "metric"
    )
    exposed = relaxation_sentence(demands, Relaxation(Relaxed.EXPOSE, lines=demands.lines), "metric")
    assert "Expose Alder Water W-1 (its unknown depth blocks 1.000 m from station 0+008.0)" in exposed
