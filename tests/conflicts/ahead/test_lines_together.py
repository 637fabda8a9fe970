"""Two lines ahead that cannot both be passed, though each can: the sheet stops, and says since which rod."""

import re

import pytest

from conflicts.ahead_sheet import Advice
from conflicts.models import Bore
from conflicts.together_words import CLASH, NO_PITCH
from tests import factories
from tests.conflicts.ahead.test_ahead_sheet import log_of, sheet_of
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Level at 0.9 m from the third rod on. M at station 50 lies 0.9 m deep and must be passed under.
ABOVE = (-0.1,) * 3


@pytest.fixture
def bore():
    """With a second line 2 m past M, so deep that the plan passes over it; the bit at the antenna."""
    bore = bore_of_today()
    Bore.objects.filter(pk=bore.pk).update(bit_lead_m=0.0)
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((52, -15), (52, 15))
    )
    factories.TestHoleFactory(
        job=bore.job, mark=mark, position=factories.point(52, 0), depth_to_top_m=2.3, dug_depth_m=4.0
    )
    return bore


def refs(bore):
    return sorted(bore.job.marks.values_list("ref", flat=True), key=lambda ref: int(ref[1:]))


def test_while_both_can_be_met_the_steering_begins_in_time_for_both(bore):
    sheet = sheet_of(bore, log_of(*ABOVE, *(0.0,) * 8))
    first, second = refs(bore)
    assert sheet.stops == ()
    assert sheet.answer.large.startswith("Steer down by rod ")
    assert re.search(
        rf"{first} at .* must be passed under and then .* {second} at .* over\.", sheet.answer.lines[0]
    )
    # The line by itself could wait longer.
    alone = int(re.search(r"after (\d) more rod", sheet.rows[0].prospect)[1])
    assert int(sheet.answer.large.rsplit(" ", 1)[1]) < 12 + alone


def test_two_that_cannot_both_be_met_stop_with_figures_and_the_last_rod_from_which_they_could(bore):
    sheet = sheet_of(bore, log_of(*ABOVE, *(0.0,) * 11))
    first, second = refs(bore)
    assert sheet.advice is Advice.STOP
    assert CLASH in sheet.answer.lines
    [stop] = [one for one in sheet.stops if one.when == CLASH]
    assert f"{first} at station" in stop.because
    assert re.search(
        rf"comes no higher than .* deep at .* {second}, and .* at the most is asked: .* too deep",
        stop.because,
    )
    last, back = re.search(
        r"Rod (\d+) was the last from which every line ahead of known depth could be passed and the exit "
        r"met: pull back (\d+) rod",
        stop.because,
    ).groups()
    assert int(last) + int(back) == 14
    assert [row.prospect for row in sheet.rows] == [
        f"Not together with {second}",
        f"Not together with {first}",
    ]
    # From that rod they can, from the next one they cannot.
    assert CLASH not in sheet_of(bore, log_of(*ABOVE, *(0.0,) * (int(last) - 3))).answer.lines
    assert CLASH in sheet_of(bore, log_of(*ABOVE, *(0.0,) * (int(last) - 2))).answer.lines


def test_lines_far_enough_from_each_other_are_not_called_out(bore):
    bore.job.marks.exclude(ref=refs(bore)[0]).update(geometry=factories.line((60, -15), (60, 15)))
    bore.job.test_holes.exclude(mark__ref=refs(bore)[0]).update(position=factories.point(60, 0))
    sheet = sheet_of(bore, log_of(*ABOVE, *(0.0,) * 11))
    assert CLASH not in [stop.when for stop in sheet.stops]


def test_a_line_that_is_lost_by_itself_is_told_alone(bore):
    sheet = sheet_of(bore, log_of(*ABOVE, *(0.0,) * 12))
    assert CLASH not in [stop.when for stop in sheet.stops]
    assert sheet.advice is Advice.STOP


def second_hole(bore, depth_m):
    bore.job.test_holes.exclude(mark__ref=refs(bore)[0]).update(depth_to_top_m=depth_m)


def test_steer_now_for_two_names_a_pitch_after_which_both_can_be_passed(bore):
    held = (*ABOVE, *(0.0,) * 10)
    sheet = sheet_of(bore, log_of(*held))
    assert sheet.answer.large == "Steer down now"
    assert f"{refs(bore)[1]} at station" in sheet.answer.lines[0]
    told = re.search(
        r"With \N{MINUS SIGN}(\S+) % there every line can still be passed\.", sheet.answer.lines[1]
    )
    assert told
    after = sheet_of(bore, log_of(*held, -float(told[1]) / 100.0))
    assert after.stops == ()


def test_where_no_pitch_is_sure_to_keep_both_the_crew_drills_no_rod(bore):
    """Within a centimetre of the depth at which both are lost, each end of the pitch's error asks another."""
    held = (*ABOVE, *(0.0,) * 10)
    for depth_mm in range(2200, 2212):
        second_hole(bore, depth_mm / 1000.0)
        sheet = sheet_of(bore, log_of(*held))
        if NO_PITCH in [stop.when for stop in sheet.stops]:
            break
    [stop] = sheet.stops
    assert sheet.advice is Advice.STOP
    assert stop.then.startswith("Stop. Drill no rod: pull back")
    back = int(re.search(r"could be passed and the exit met: pull back (\d) rod", stop.because)[1])
    assert sheet_of(bore, log_of(*held[:-back])).stops == ()


@pytest.mark.parametrize(("depth_m", "rods"), [(2.3, 12), (2.2, 12), (2.1, 12), (1.95, 12)])
def test_pulled_back_as_far_as_is_told_for_a_lost_line_every_line_can_be_passed(bore, depth_m, rods):
    """M alone could be passed from one rod back, from where the two of them cannot."""
    second_hole(bore, depth_m)
    held = (*ABOVE, *(0.0,) * rods)
    lost = sheet_of(bore, log_of(*held))
    [back] = {int(one) for stop in lost.stops for one in re.findall(r"ull back (\d) rod", stop.because)}
    assert "So can every other line ahead whose depth is known." in lost.stops[0].because
    assert sheet_of(bore, log_of(*held[:-back])).stops == ()
    # It is no farther than it must be.
    assert back == 1 or sheet_of(bore, log_of(*held[: 1 - back])).advice is Advice.STOP


def test_a_line_of_unknown_depth_ahead_does_not_hide_how_far_to_pull_back(bore):
    mark = factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((60, -15), (60, 15))
    )
    told = [stop.because for stop in sheet_of(bore, log_of(*ABOVE, *(0.0,) * 12)).stops]
    assert any(mark.ref in one and "no test hole has found it" in one for one in told)
    assert any(re.search(r"Pull back \d rod", one) for one in told)
