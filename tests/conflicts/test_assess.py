"""A bore assessed from its records in PostGIS."""

from datetime import timedelta

import pytest

from conflicts.assess import assess, current_digest, store_assessment, stored_figures
from conflicts.gather import UnassessableError
from conflicts.models import Assessment
from tests import factories
from tests.factories import line, point

AT = factories.PLANNED_START_AT
# DESIGN.md, "May I drill?", in its order.
EIGHT_CHECKS = ["tickets", "responses", "crossings", "surface", "profile", "day", "watch_holes", "duties"]
DOCUMENT_MEMBERS = [
    "schema_version", "job", "bore", "length_m", "inputs_digest", "checks", "coverage_gaps", "crossings",
]  # fmt: skip
CROSSING_MEMBERS = [
    "mark_ref", "operator", "facility_type", "kind", "from_m", "to_m", "station_m", "angle_deg", "exposed",
    "passes", "horizontal_m", "vertical_m", "separation_m", "worst_case_m", "likely_m", "required_m",
    "verdict", "sentence",
]  # fmt: skip

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def test_a_job_with_nothing_missing_holds_nothing(bore):
    factories.DailyWalkFactory(bore=bore, walked_at=AT)
    document = assess(bore, AT)
    assert list(document) == DOCUMENT_MEMBERS
    assert [list(one) for one in document["crossings"]] == [CROSSING_MEMBERS]
    assert [check["code"] for check in document["checks"] if check["holds"]] == []
    assert [check["code"] for check in document["checks"]] == EIGHT_CHECKS


def test_the_figures_of_a_plain_crossing_are_those_of_a_pocket_calculator(bore):
    (crossing,) = assess(bore, AT)["crossings"]
    # Hole 0.2 m wide with its centre at 2.0 m, line 0.1 m wide with its top at 0.9 m: centre at 0.95 m.
    assert crossing["vertical_m"] == pytest.approx(2.0 - 0.95 - 0.1 - 0.05, abs=1e-9)
    assert crossing["separation_m"] == pytest.approx(0.9, abs=1e-9)
    # Zone 24 in from the line's edge, both radii beside it.
    assert crossing["from_m"] == pytest.approx(50.0 - 0.6096 - 0.15, abs=1e-6)
    assert crossing["to_m"] == pytest.approx(50.0 + 0.6096 + 0.15, abs=1e-6)
    assert crossing["required_m"] == 0.305
    assert crossing["passes"] == "under"
    # Errors of 0.33 m in plan and 0.18 m in height; the worst bore point is off to the side, where both act.
    assert 0.9 - (0.33**2 + 0.18**2) ** 0.5 < crossing["worst_case_m"] < 0.9 - 0.18
    assert crossing["worst_case_m"] < crossing["likely_m"] < 0.9


def test_a_line_that_no_hole_found_has_no_depth_and_is_unexposed(bore):
    factories.MarkFactory(job=bore.job, ref="C-9", stated_depth_m=0.5, geometry=line((70, -15), (70, 15)))
    crossing = assess(bore, AT)["crossings"][1]
    assert crossing["verdict"] == "unexposed"
    for figure in ("passes", "vertical_m", "separation_m", "worst_case_m", "likely_m"):
        assert crossing[figure] is None
    assert "Dig a test hole at station" in crossing["sentence"]


def test_a_hole_moves_its_line_into_the_search_even_when_the_mark_lies_far_off(bore):
    mark = factories.MarkFactory(job=bore.job, ref="W-1", geometry=line((20, 9), (80, 9)))
    factories.TestHoleFactory(job=bore.job, mark=mark, depth_to_top_m=0.9, position=point(30, 0.7))
    refs = [one["mark_ref"] for one in assess(bore, AT)["crossings"]]
    assert "W-1" in refs


def test_stored_figures_are_current_only_while_the_inputs_are(bore):
    assert stored_figures(bore) is None
    assert store_assessment(bore.pk) is True
    assert store_assessment(bore.pk) is False
    stored = stored_figures(bore)
    assert [one.verdict for one in stored.crossings] == ["clear"]
    assert stored.crossings[0].worst_case_m == assess(bore, AT)["crossings"][0]["worst_case_m"]
    hole = bore.job.test_holes.get()
    hole.depth_to_top_m = 1.6
    hole.save()
    assert stored_figures(bore) is None
    assert store_assessment(bore.pk) is True
    assert stored_figures(bore).crossings[0].verdict == "short"
    assert Assessment.objects.count() == 1


def test_the_digest_follows_every_kind_of_record_and_returns_with_it(bore):
    job = bore.job
    first = current_digest(bore)
    seen = {first}
    for record, field, value in (
        (job, "slope_ratio", 0.02),
        (job.requirements.get(), "crossing_m", 0.4),
        (job.tickets.get(), "expires_at", factories.EXPIRES_AT + timedelta(days=1)),
        (job.tickets.get().responses.get(), "response", "awaiting"),
        (job.marks.get(), "stated_width_m", 0.2),
        (job.test_holes.get(), "is_open", False),
        (job.surface_features.get(), "signed_off_reason", "seen dead"),
        (job.ground_points.get(), "elevation_m", 1.0),
        (bore, "minimum_cover_m", 1.0),
        (bore.pits.get(end="entry"), "area", factories.box(-3, -1, 0, 1)),
        (job.jurisdiction, "boring_must_be_declared", True),
    ):
        before = getattr(record, field)
        setattr(record, field, value)
        record.save()
        changed = current_digest(bore)
        assert changed not in seen, (record, field)
        seen.add(changed)
        setattr(record, field, before)
        record.save()
        assert current_digest(bore) == first, (record, field)


def test_a_mark_far_from_the_bore_is_no_input_of_it(bore):
    first = current_digest(bore)
    factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=line((50, 200), (60, 200))
    )
    assert current_digest(bore) == first


def test_a_job_without_any_tolerance_zone_is_refused_with_what_to_enter(bore):
    bore.job.jurisdiction = factories.JurisdictionRuleFactory(tolerance_zone_m=None, tolerance_is_sure=False)
    bore.job.save()
    with pytest.raises(UnassessableError, match="enter one in the job"):
        assess(bore, AT)
