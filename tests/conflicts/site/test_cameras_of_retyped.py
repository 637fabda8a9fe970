"""A line that any release named as a sewer is looked into before a close-out, whatever it is called since."""

from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.assess import store_assessment
from locates.models import Mark
from tests import factories
from tests.conflicts.audit import signed_stories
from tests.conflicts.passes.test_passes_made_anew import looked
from tests.conflicts.site.test_closing_faults import PASSES, close, missing
from tests.conflicts.site.test_lost_stops import release, see
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore():
    """A bore over one line at 50 m, gas as it is marked, with no release yet."""
    return bore_of_today()


def released_as(bore, facility_type, **of_release):
    mark = Mark.objects.get()
    named = {**signed_stories.crossing(mark.ref), "facility_type": facility_type}
    return signed_stories.release(bore, [named], marks=[mark], **of_release)


def watched(bore, person):
    for pass_made in PASSES:
        see(bore, person, pass_made)


def test_a_sewer_that_is_called_gas_since_it_was_released_is_still_looked_into(bore, person):
    released_as(bore, "sewer_drain")
    watched(bore, person)
    [words] = missing(bore)
    ref = Mark.objects.get().ref
    assert words == f"No camera inspection after the bore of the sewer: {ref}, a sewer when it was released."
    looked(bore, timezone.now())
    assert missing(bore) == []
    assert close(bore, person).pk


def test_a_later_release_that_names_it_otherwise_takes_nothing_back(bore, person):
    released_as(bore, "sewer_drain")
    release(bore, person)
    watched(bore, person)
    assert "a sewer when it was released" in " ".join(missing(bore))


def test_a_sewer_that_was_moved_as_well_is_still_looked_into(bore, person):
    released_as(bore, "sewer_drain")
    mark = Mark.objects.get()
    mark.geometry = factories.line((70, -15), (70, 15))
    mark.save()
    store_assessment(bore.pk)
    told = " ".join(missing(bore))
    assert (
        f"No camera inspection after the bore of the sewer: {mark.ref}, a sewer when it was released." in told
    )


def test_a_release_that_was_taken_back_before_its_shift_asks_for_no_camera(bore, person):
    to_come = timezone.now() + timedelta(hours=1)
    never = released_as(bore, "sewer_drain", at=to_come - timedelta(hours=2), shift_from=to_come)
    assert [words for words in missing(bore) if "camera" in words] != []
    signed_stories.withdraw(never, at=timezone.now())
    assert [words for words in missing(bore) if "camera" in words] == []
