"""An abandoned leg that is not clear of a line stops the crew until a variance for that hole is signed."""

import pytest
from django.utils import timezone

from conflicts.ahead_stops import LEG_NOT_CLEAR
from conflicts.desk.log_rod import withdraw_rods
from conflicts.drilled_stops import drilled_stops
from conflicts.gather import gather
from conflicts.look_ahead import look_ahead_of
from conflicts.models import DrilledRod, RodWithdrawal
from tests import factories
from tests.conflicts.rods.test_drilled_hole_closed_out import assessed, drill, variance_for
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


def pull_back(bore, number, kind="pull_back"):
    rod = DrilledRod.objects.get(bore=bore, number=number)
    withdraw_rods(RodWithdrawal(rod=rod, kind=kind, reason="Too shallow."), by=factories.PersonFactory())


def drill_to(bore, antenna_m, depth_m):
    """Three level rods on the alignment, the last of which ends there."""
    last = None
    for end_m in (20.0, 40.0, antenna_m):
        longitude, latitude = factories.point(end_m, 0.0).coords
        last = factories.DrilledRodFactory(
            bore=bore, after=last, length_m=end_m % 20.0 or 20.0, depth_m=depth_m, pitch_ratio=0.0,
            dot_longitude_deg=longitude, dot_latitude_deg=latitude,
        )  # fmt: skip


def told(bore):
    """The stops of an abandoned leg, on the sheet for the rig and in the answer to "may I drill?"."""
    sheet = look_ahead_of(bore, timezone.now())
    stops = [one for one in sheet.stops if one.when == LEG_NOT_CLEAR]
    answer = [
        words
        for words in drilled_stops(assessed(bore), gather([bore.pk])[bore.pk].site.log)
        if words.startswith(LEG_NOT_CLEAR)
    ]
    assert [f"{one.when} {one.because}" for one in stops] == answer
    return answer


@pytest.mark.parametrize("kept_rods", [0, 1])
@pytest.mark.parametrize(("depth_m", "verdict"), [(1.5, "short"), (1.0, "overlap")])
def test_a_leg_that_is_not_clear_stops_until_a_variance_is_signed(bore, depth_m, verdict, kept_rods):
    drill(bore, depth_m)
    assert told(bore) == []
    pull_back(bore, kept_rods + 1)
    [words] = told(bore)
    assert words.startswith(f"{LEG_NOT_CLEAR} Leg 1, which was pulled back: ")
    [leg] = assessed(bore).drilled.legs
    assert leg.drilled.lies.verdict == verdict
    variance_for(bore, leg.drilled)
    assert told(bore) == []


def test_a_leg_that_is_clear_stops_nobody(bore):
    drill(bore, 2.0)
    pull_back(bore, 2)
    assert told(bore) == []


def test_entries_that_were_taken_back_were_no_hole(bore):
    drill(bore, 1.0)
    for number in (4, 3, 2, 1):
        pull_back(bore, number, kind="undo")
    assert told(bore) == []


@pytest.mark.parametrize(("antenna_m", "count"), [(49.2, 1), (47.0, 0)])
def test_a_leg_goes_as_far_as_its_bit(bore, antenna_m, count):
    """Of a crew that was stopped before the line at 50 m the antenna is short of it, and the bit is not."""
    drill_to(bore, antenna_m, 1.0)
    pull_back(bore, 2)
    assert len(told(bore)) == count


def test_of_a_leg_nobody_says_that_the_head_is_still_beside_the_line(client, bore):
    client.force_login(factories.person_in_role("Foreman", bore.job.organisation))
    page = f"/bores/{bore.pk}/release/"
    drill_to(bore, 49.6, 2.0)
    assert "the head is still beside it" in client.get(page).content.decode()
    pull_back(bore, 2)
    after = client.get(page).content.decode()
    assert "as far as it went" in after
    assert "the head is still beside it" not in after
