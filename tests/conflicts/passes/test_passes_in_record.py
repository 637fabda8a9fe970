"""The clearance record tells each pass after the pilot, and draws what was drilled in the cross-sections."""

import pytest

from conflicts.record.draw import draw_record
from conflicts.record.read import read_kept_records
from conflicts.record.render import record_html
from locates.units import format_length
from tests import factories
from tests.factories import (
    DrilledRodFactory,
    HolePassFactory,
    HolePassWithdrawalFactory,
    PullbackFactory,
    point,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job().bores.get()


def record(bore):
    return draw_record(read_kept_records(bore.pk))


def part_of(made):
    return record_html(made).partition("<h2>Reaming and pullback</h2>")[2].partition("</section>")[0]


def test_without_a_pass_the_record_has_no_part_on_them_and_says_so_on_its_cover(bore):
    made = record(bore)
    assert made.passes is None
    page = record_html(made)
    assert "Reaming and pullback" not in page
    assert "no reaming and no pullback is logged" in page


def test_each_pass_stands_with_its_size_place_moment_and_who_logged_it(bore):
    HolePassFactory(bore=bore, diameter_m=0.3, from_station_m=40.0, to_station_m=60.0, remarks="by lamp")
    PullbackFactory(
        bore=bore,
        diameter_m=0.16,
        conduits=[[2, 0.06], [1, 0.04]],
        confirmed=[{"code": "tight", "sentence": "A tight hole."}],
    )
    made = record(bore)
    assert [(one.from_m, one.to_m, one.diameter_m) for one in made.passes.stretches][1][2] == 0.3
    part = part_of(made)
    for words in (
        "Reaming", format_length(0.3, "feet"), "1+31.2 to 1+96.9", "By lamp.", "Pullback",
        f"2 of {format_length(0.06, 'feet')}", "computed as an upper bound", "the whole bore",
        "Kept though asked: A tight hole.",
    ):  # fmt: skip
        assert words in part


def test_an_entry_withdrawn_stays_told_and_widens_nothing(bore):
    entry = HolePassFactory(bore=bore, diameter_m=0.3)
    HolePassWithdrawalFactory(hole_pass=entry, reason="the other bore's reamer")
    made = record(bore)
    assert [one.diameter_m for one in made.passes.stretches] == [0.2]
    assert made.passes.passes == ()
    part = part_of(made)
    assert "No pass counts: every entry was withdrawn." in part
    assert "the other bore&#x27;s reamer" in part


def test_the_same_records_say_the_same_and_another_pass_makes_another_record(bore):
    HolePassFactory(bore=bore, diameter_m=0.25)
    before = record(bore).said_digest()
    assert record(bore).said_digest() == before
    HolePassFactory(bore=bore, diameter_m=0.25)
    assert record(bore).said_digest() != before


def test_cross_sections_show_the_hole_as_drilled_where_the_head_has_passed(bore):
    planned = record(bore).crossings[0]
    assert "as drilled" not in dict(planned.section_key)
    last = None
    for number in range(1, 34):
        longitude, latitude = point(3.0 * number, -0.2).coords
        last = DrilledRodFactory(
            bore=bore, after=last, depth_m=min(2.0, 0.3 * number) + 0.1, dot_error_m=0.02,
            dot_longitude_deg=longitude, dot_latitude_deg=latitude,
        )  # fmt: skip
    drilled = record(bore).crossings[0]
    assert "right of the plan" in dict(drilled.section_key)["as drilled"]
    assert "drilled-hole" in drilled.section.svg
    assert "as drilled" in drilled.section.words
