"""What a job takes from its rule where it says nothing itself."""

import pytest
from django.core.exceptions import ValidationError

from locates.models import Job, JurisdictionRule, ShowUnits


def job(rule_width_m=0.6096, **values):
    return Job(jurisdiction=JurisdictionRule(tolerance_zone_m=rule_width_m), **values)


def test_the_width_is_the_rules_unless_the_job_has_its_own():
    assert job().tolerance_width_m == 0.6096
    assert job(tolerance_zone_m=0.9).tolerance_width_m == 0.9
    assert job(tolerance_zone_m=0.0).tolerance_width_m == 0.0


def test_a_width_that_neither_gives_is_unknown_and_not_zero():
    assert job(rule_width_m=None).tolerance_width_m is None
    assert job(rule_width_m=None).reach_m is None


def test_the_reach_of_a_test_hole_is_the_width_unless_the_job_has_its_own():
    assert job().reach_m == 0.6096
    assert job(tolerance_zone_m=0.9).reach_m == 0.9
    assert job(tolerance_zone_m=0.9, expose_reach_m=0.0).reach_m == 0.0


def test_the_spacing_rule_is_a_hundred_feet_unless_the_job_has_its_own():
    assert job().spacing_rule_m == 30.48
    assert job(test_hole_spacing_m=15.0).spacing_rule_m == 15.0


def test_a_new_job_has_the_documented_allowances():
    fresh = Job()
    assert (fresh.bore_horizontal_m, fresh.bore_vertical_m) == (0.30, 0.15)
    assert (fresh.drilled_fixed_m, fresh.drilled_depth_ratio) == (0.05, 0.05)
    assert (fresh.test_hole_m, fresh.slope_ratio) == (0.03, 0.01)
    assert fresh.show_units == ShowUnits.FEET
    assert fresh.default_outside_m == {}


@pytest.mark.parametrize("name", ["Virginia", "EST5", "america/new_york", "../etc"])
def test_a_time_zone_that_is_no_iana_name_is_refused(name):
    with pytest.raises(ValidationError, match="accepted is an IANA name"):
        Job._meta.get_field("time_zone").clean(name, None)
