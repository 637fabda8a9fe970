"""A bore whose logged rods end short of its exit is not closed out; figures worked by hand from the log."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.errors import ReleaseHeldError
from conflicts.models import Bore, DrilledRod
from conflicts.short_of_exit import ALL_BACK
from locates.desk.retire import retire
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.conflicts.rods.test_pilot_drilled_anew import drill, take_out
from tests.conflicts.site.test_closing_faults import PASSES, close, missing
from tests.conflicts.site.test_lost_stops import see
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

SHORT = "short of the exit"


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def bore(person):
    """100 m with rods of 3.048 m planned, released; watched at its one line at 50 m, no rod logged."""
    stored = bore_of_today()
    stood(stored, at=timezone.now() - timedelta(hours=1))
    for pass_made in PASSES:
        see(stored, person, pass_made)
    return stored


def is_short(bore):
    """One rod of so many metres is not well located: what else its close-out lacks is not looked at here."""
    return any(SHORT in one for one in missing(Bore.objects.get(pk=bore.pk)))


def level_rod(bore, length_m, last=None):
    """A level rod with its depth read; its dot lies on the alignment where it ends."""
    return factories.DrilledRodFactory(bore=bore, after=last, length_m=length_m, logged_at=timezone.now())


def test_it_is_held_until_the_missing_rods_are_logged(bore, person):
    drill(bore, None, 4)
    # 20 m are 65 ft 7.4 in.
    with pytest.raises(ReleaseHeldError, match="The last rod logged, 4, ends 65 ft 8 in short of the exit"):
        close(bore, person)
    drill(bore, DrilledRod.objects.get(bore=bore, number=4), 1)
    assert close(bore, person).pk


def test_a_rod_and_what_the_plan_allows_may_be_missing(bore):
    """Allowed are the 3.048 m of a rod, the job's steering, and what a head 0 m deep is located to."""
    allowed_m = 3.048 + bore.job.bore_horizontal_m + bore.job.drilled_fixed_m
    rod = level_rod(bore, 100.0 - allowed_m - 0.02)
    assert is_short(bore)
    take_out(bore, rod.number, kind="undo")
    level_rod(bore, 100.0 - allowed_m + 0.02)
    assert not is_short(bore)


def test_a_bit_counts_where_somebody_recorded_how_far_it_is_ahead(bore):
    level_rod(bore, 96.0)
    assert is_short(bore)
    Bore.objects.update(bit_lead_m=0.9)
    store_assessment(bore.pk)
    assert not is_short(bore)


def test_without_any_rod_nothing_is_asked_and_where_none_stayed_in_the_ground_it_is(bore):
    assert missing(bore) == []
    drill(bore, None, 5)
    take_out(bore, 1)
    assert ALL_BACK in missing(bore)


def test_a_bore_planned_to_where_it_ends_can_be_closed_out(bore, person):
    drill(bore, None, 4)
    assert is_short(bore)
    stored = Bore.objects.get(pk=bore.pk)
    stored.alignment = factories.line((0, 0), (80.5, 0))
    stored.alignment_length_m = factories.ground_length_m(stored)
    stored.profile_stations_m = [0.0, 20.0, 80.0, stored.alignment_length_m]
    stored.save()
    store_assessment(bore.pk)
    shorter = Bore.objects.get(pk=bore.pk)
    assert missing(shorter) == []
    assert close(shorter, person).pk


def test_a_bore_that_was_given_up_is_retired_with_its_rods(bore, person):
    drill(bore, None, 4)
    retire(bore, by=person)
    assert not Bore.objects.filter(pk=bore.pk).exists()
    assert DrilledRod.objects.filter(bore=bore).count() == 4


@pytest.mark.parametrize("ends_short", [True, False])
def test_the_page_leads_to_where_it_is_mended(client, bore, ends_short):
    client.force_login(person_in_role("Foreman"))
    drill(bore, None, 4 if ends_short else 5)
    text = client.get(reverse("conflicts:close-out", args=[bore.pk])).content.decode()
    assert (SHORT in text) is ends_short
    assert ("Sign the close-out" in text) is not ends_short
    assert (f'href="{reverse("conflicts:rods", args=[bore.pk])}">Rods drilled</a>' in text) is ends_short
