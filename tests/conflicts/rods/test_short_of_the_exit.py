"""Rods in the ground that end short of the exit: no close-out until all of them are logged or planned so."""

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.closing_faults import bore_faults, close_out_faults
from conflicts.models import Bore, CloseOut
from conflicts.watch_table import watch_table
from tests import factories
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

LENGTH_M = 100.0  # of the bore of the factories
LEAD_M = 0.9144  # 3 ft: what the bit is taken to be ahead of the antenna where nobody recorded it


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def manager(client, bore):
    client.force_login(person_in_role("Safety manager", bore.job.organisation))
    return client


def drill(bore, *lengths_m):
    """Level rods of these lengths from the entry, as deep as the plan is in the middle."""
    after = None
    for length_m in lengths_m:
        after = factories.DrilledRodFactory(bore=bore, after=after, length_m=length_m, depth_m=2.0)
    return after


def short_faults(bore):
    """The sentences on rods that end short, which the list of the bore has as the whole list does."""
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    [state] = computed_states([stored], timezone.now())
    table = watch_table(state.assessed, bore.pilot_diameter_m)
    found = [one for one in close_out_faults(table, state.assessed) if "short of the exit" in one]
    assert [one for one in bore_faults(table, state.assessed) if "short of the exit" in one] == found
    return found


def test_the_sentence_says_which_rod_where_its_bit_is_and_how_far_it_is_to_the_exit(bore):
    drill(bore, *[20.0] * 3)
    [told] = short_faults(bore)
    # The bit is at 60.914 m, 39.086 m of 100 m short: 199.85 ft, and 128 ft 2.8 in.
    assert "Rod 3 is the last in the ground, and its bit, at station 1+99.9, is 128 ft 3 in short" in told
    assert "Log the rods that are missing; or, if the hole ends there, record the bore's plan" in told


def test_one_rod_more_and_what_the_plan_and_the_locating_allow_are_no_shortness(bore):
    """The job allows 0.3 m beside the plan; a head 2 m deep is located within 0.1 m (5 % of the depth)."""
    drill(bore, *[20.0] * 4)
    assert short_faults(bore) == []


@pytest.mark.parametrize(("before_the_limit_m", "count"), [(0.1, 1), (-0.1, 0)])
def test_the_limit_is_a_rod_past_what_is_allowed_in_plan(bore, before_the_limit_m, count):
    last = drill(bore, 80.0)
    [state] = computed_states(
        [Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)], timezone.now()
    )
    scene, log = state.assessed.scene, state.assessed.site.log
    allowed_m = scene.inputs.job.bore_horizontal_m + log.stated.at(0.0)
    # A rod that ends where just its own length, and what is allowed, is left to the exit.
    length_m = (LENGTH_M - 80.0 - LEAD_M - allowed_m - before_the_limit_m) / 2.0
    factories.DrilledRodFactory(bore=bore, after=last, length_m=length_m, depth_m=2.0)
    assert len(short_faults(bore)) == count


def test_a_bore_without_rods_is_not_held_up_by_its_log(bore):
    assert short_faults(bore) == []


def test_rods_that_were_all_pulled_back_end_nowhere(bore):
    first = drill(bore, 3.0)
    factories.RodWithdrawalFactory(rod=first)
    assert short_faults(bore) == []


def test_the_page_says_it_and_leads_to_the_rods_and_refuses_the_signature(manager, bore):
    drill(bore, *[20.0] * 3)
    address = reverse("conflicts:close-out", args=[bore.pk])
    page = manager.get(address).content.decode()
    assert "short of the exit" in page
    assert reverse("conflicts:rods", args=[bore.pk]) in page
    refused = sent_as_shown(manager, address, {"password": PASSWORD}, follow=True)
    assert "short of the exit" in refused.content.decode()
    assert not CloseOut.objects.exists()
