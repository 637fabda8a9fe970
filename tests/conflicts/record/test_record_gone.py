"""The clearance record tells of released crossings that are not there any more, and counts in words."""

import pytest
from django.utils import timezone

from conflicts.record.render import render_record
from locates.models import Mark
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.conflicts.site.test_lost_stops import move_away, release, see
from tests.pdf_reading import page_texts, squeezed
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore that was released over one gas line at 50 m."""
    bore = bore_of_today()
    release(bore, factories.PersonFactory())
    return bore


def record_of(bore):
    return read_clearance_record(bore.pk, timezone.now())


def words_of(record):
    return "".join(page_texts(render_record(record).content))


def test_a_released_crossing_that_is_gone_stands_in_a_table_of_its_own(bore):
    assert record_of(bore).gone == ()
    see(bore, factories.PersonFactory())
    move_away(bore)
    words = words_of(record_of(bore))
    assert squeezed("Crossings that were released and are not there any more") in words
    [row] = record_of(bore).gone
    assert (row.mark_ref, row.verdict, row.required_m) == (Mark.objects.get().ref, "clear", 0.305)
    assert squeezed("Pilot seen, gap 1 ft 11 1/2 in") in words
    assert squeezed("Passes that are not settled: reaming, pullback.") in words
    assert squeezed("Watches that prove no crossing") not in words


def test_one_crossing_is_told_in_the_singular(bore):
    record = record_of(bore)
    assert squeezed("On 1 crossing; checks that held then: none.") in words_of(record)
    assert "the 1 crossing at its station, heights" in record.profile.words
