"""The clearance record tells what was drilled as of its moment: path, deviation, lines, rods and checks."""

from datetime import timedelta

import pytest

from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.render import record_html, render_record
from tests import factories
from tests.factories import DrilledRodFactory, LocatorCheckFactory, RodWithdrawalFactory, point

pytestmark = pytest.mark.django_db

BEGUN = factories.PLANNED_START_AT


def minutes(count):
    return BEGUN + timedelta(minutes=count)


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def drill(bore):
    """Three rods beside the plan, the last of which is pulled back after 40 minutes."""
    last = None
    for number in (1, 2, 3):
        longitude, latitude = point(3.0 * number, -0.2).coords
        last = DrilledRodFactory(
            bore=bore, after=last, depth_m=0.3 * number + 0.1, dot_longitude_deg=longitude,
            dot_latitude_deg=latitude, logged_at=minutes(10 * number), remarks=f"read by lamp {number}",
        )  # fmt: skip
    RodWithdrawalFactory(rod=last, reason="a stone", withdrawn_at=minutes(40))


def record(bore, at):
    return draw_record(read_kept_records(bore.pk, at))


def test_a_bore_without_rods_has_no_part_on_them(bore):
    made = record(bore, minutes(60))
    assert made.drilled is None
    assert "As drilled" not in record_html(made)


def test_rods_stand_as_of_the_moment_and_no_later_ones(bore):
    drill(bore)
    assert record(bore, BEGUN).drilled is None
    assert [rod.number for rod in record(bore, minutes(20)).drilled.rods] == [1, 2]
    whole = record(bore, minutes(30)).drilled
    assert ([rod.number for rod in whole.rods], whole.legs) == ([1, 2, 3], ())
    later = record(bore, minutes(60)).drilled
    assert [rod.number for rod in later.rods] == [1, 2]
    assert [(leg.name, leg.first, leg.last, leg.reason) for leg in later.legs] == [("Leg 1", 3, 3, "a stone")]


def test_the_pages_tell_deviation_rods_legs_and_checks(bore):
    drill(bore)
    hole = bore.job.test_holes.first()
    LocatorCheckFactory(bore=bore, hole=hole, device="Receiver 7", checked_at=minutes(5))
    page = record_html(record(bore, minutes(60)))
    part = page.partition("<h2>As drilled</h2>")[2]
    for words in (
        "2 rods in the ground", "record:drilled", "Deviation from plan", "7 7/8 in right", "3 7/8 in deeper",
        "read by lamp 2", "Leg 1, abandoned: rods 3 to 3", "a stone", "Receiver 7 read",
    ):  # fmt: skip
        assert words in part
    assert "read by lamp 3" not in part


def test_without_a_check_the_pages_say_what_counts_instead(bore):
    drill(bore)
    page = record_html(record(bore, minutes(60)))
    assert "None is noted: no less than the steering allowance counts in height." in page


def test_another_rod_makes_another_record_and_the_file_holds_its_picture(bore):
    drill(bore)
    before = record(bore, minutes(20))
    assert record(bore, minutes(30)).said_digest() != before.said_digest()
    assert before.drilled.profile_svg.count("drilled-band") > 0
    assert render_record(before).content.startswith(b"%PDF-")
