"""Where the pages of a clearance record break: no part is torn, and no page holds what is left over alone."""

from dataclasses import replace

import pytest

from conflicts.record.render import render_record
from conflicts.record.sheet import RecordSignature
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.pdf_reading import page_texts, squeezed

pytestmark = pytest.mark.django_db

AT = factories.PLANNED_START_AT
CAUTIONS = squeezed("What this record is, and what it is not")
FIRST, LAST = squeezed("It says what was on record"), squeezed("Another digest is another record.")
CHECKS, LAST_CHECK = squeezed("The checks behind a release"), squeezed("Duties of the place")
SIGNED = RecordSignature(
    what="Variance",
    signed_by="Wren Ashgrove",
    signed_at=AT,
    says=("The clearance of a crossing: G-1, crossing, at station 1+64.0.", "The main cannot be moved."),
    standing="In force as of this record.",
    shift_from=None,
    shift_until=None,
    grounds_digest="",
)


@pytest.fixture
def record():
    return read_clearance_record(factories.small_job().bores.get().pk, AT)


def texts(record):
    return page_texts(render_record(record).content)


def page_with(pages, words):
    [number] = [number for number, text in enumerate(pages) if words in text]
    return number


@pytest.mark.parametrize("count", [1, 3, 5, 7])
def test_the_cautions_stand_together_and_the_checks_follow_on_the_page_on_which_they_end(record, count):
    pages = texts(replace(record, signatures=(SIGNED,) * count))
    cautions = page_with(pages, CAUTIONS)
    assert page_with(pages, FIRST) == page_with(pages, LAST) == cautions
    assert page_with(pages, CHECKS) == page_with(pages, LAST_CHECK) == 1
    assert cautions in (0, 1)


def test_of_so_many_signatures_the_cautions_do_move_to_the_page_of_the_checks(record):
    pages = texts(replace(record, signatures=(SIGNED,) * 7))
    assert page_with(pages, CAUTIONS) == page_with(pages, CHECKS) == 1


@pytest.mark.parametrize("holes", [0, 1, 2, 3])
def test_a_crossing_is_one_page_whether_it_is_written_large_or_not(record, holes):
    [one] = record.crossings
    crowded = replace(one, holes=one.holes[:1] * holes)
    assert crowded.has_room is (holes < 3)
    pages = texts(replace(record, crossings=(crowded, replace(crowded, number=2))))
    first, second = (page_with(pages, squeezed(f"Crossing {number}: G")) for number in (1, 2))
    assert second == first + 1
    assert page_with(pages, squeezed("The ledger")) == second + 1
