"""The lines on the page of the rods: of a line that the bore meets twice each crossing is told by itself."""

import pytest
from django.utils import timezone

from conflicts.desk.log_rod import log_of, scene_of
from conflicts.models import Bore
from conflicts.rods_sheet import rods_sheet
from tests import factories
from tests.conflicts.rods.test_lines_beside import AWAY, drill
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """Across the plan at 30 m goes SS9, beside it to the left, and back across it at 70 m, 2 m far."""
    stored = bore_of_today()
    factories.MarkFactory(
        job=stored.job,
        operator=stored.job.operators.get(),
        ref="SS9",
        geometry=factories.line((30.0, -9.0), (30.0, 9.0), (70.0, 9.0), (70.0, -2.0)),
    )
    return stored


def listed(bore):
    """The stations at which SS9 is listed as passed, as missed and as ahead, m."""
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    computed = scene_of(stored)
    sheet = rods_sheet(computed.at(timezone.now()), log_of(stored, computed))
    passed = [(one.crossing.mark.ref, one.station_m) for one in sheet.passed]
    missed, ahead = (
        [(one.mark.ref, one.clearance.station_m) for one in found] for found in (sheet.missed, sheet.ahead)
    )
    return tuple([round(at_m) for ref, at_m in found if ref == "SS9"] for found in (passed, missed, ahead))


def test_a_line_that_was_passed_is_listed_ahead_where_it_is_met_again(bore):
    assert listed(bore) == ([], [], [30, 70])
    drill(bore, [(20.0, 0.0), (40.0, 0.0)])
    assert listed(bore) == ([30], [], [70])


def test_the_crossing_that_the_head_is_in_is_listed_once(bore):
    drill(bore, [(20.0, 0.0), (40.0, 0.0), (60.0, 0.0), (69.8, 0.0)])
    assert listed(bore) == ([30, 70], [], [])


def test_a_line_that_was_passed_is_listed_as_missed_where_the_hole_went_round_it(bore):
    drill(bore, AWAY)
    assert listed(bore) == ([30], [70], [])
