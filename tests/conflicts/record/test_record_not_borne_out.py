"""The record's cover tells what no release and no log of rods bears out, as the close-out's page does."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.record.render import render_record
from tests import factories
from tests.clearance_records import read_clearance_record
from tests.conflicts.audit import signed_stories as stories
from tests.conflicts.site.test_closing_faults import PASSES
from tests.conflicts.site.test_lost_stops import see
from tests.conflicts.site.test_watch_before_exit import drill
from tests.pdf_reading import page_texts, squeezed
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

TITLE = squeezed("Not borne out by a release or by the log of rods")


@pytest.fixture
def bore():
    return bore_of_today()


def cover(bore):
    return "".join(page_texts(render_record(read_clearance_record(bore.pk)).content))


def test_rods_of_a_time_without_a_release_and_watches_of_before_the_log_are_told(bore):
    now = timezone.now()
    stories.stood(bore, at=now - timedelta(hours=12))
    for one in PASSES:
        see(bore, factories.PersonFactory(), one)
    drill(bore, 5)
    found = cover(bore)
    assert TITLE in found
    # The release was for ten hours.
    assert squeezed("No release stood for rods 1 to 5, logged") in found
    assert (
        squeezed("(pilot, reaming, pullback). The log was written up later, and says nothing of them.")
        in found
    )


def test_where_all_is_borne_out_the_cover_has_no_such_part(bore):
    stories.stood(bore, at=timezone.now() - timedelta(hours=1))
    drill(bore, 5)
    for one in PASSES:
        see(bore, factories.PersonFactory(), one)
    assert TITLE not in cover(bore)
