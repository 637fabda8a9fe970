"""What was drilled is on the bore's page and on that of the bore as it stood, beside the plan."""

import pytest
from django.contrib.auth.models import Permission
from django.urls import reverse

from conflicts.assess import store_assessment
from conflicts.models import DrilledRod
from locates.exchange.moments import write_moment
from locates.past_moments import database_clock
from locates.roles import SAFETY_MANAGER
from tests import factories
from tests.factories import DrilledRodFactory, RodWithdrawalFactory, person_in_role, point

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def bore():
    stored = factories.small_job().bores.get()
    store_assessment(stored.pk)
    return stored


@pytest.fixture
def shown(client, bore):
    client.force_login(person_in_role(SAFETY_MANAGER, bore.job.organisation))

    def at(moment=None) -> str:
        if moment is None:
            address = reverse("conflicts:bore", args=[bore.pk])
        else:
            address = reverse("conflicts:bore-as-of", args=[bore.pk], query={"at": write_moment(moment)})
        return client.get(address).content.decode()

    return at


def drill(bore, after=None, **values) -> DrilledRod:
    number = 1 if after is None else after.number + 1
    longitude, latitude = point(3.0 * number, -0.2).coords
    readings = {"dot_longitude_deg": longitude, "dot_latitude_deg": latitude, "depth_m": 0.3 * number + 0.1}
    return DrilledRodFactory(bore=bore, after=after, **{**readings, **values})


def test_a_bore_without_rods_shows_nothing_of_them(shown):
    page = shown()
    assert "As drilled" not in page
    assert "drilled-band" not in page


def test_the_path_lies_over_the_plan_with_its_band_its_legs_and_its_deviation(bore, shown):
    first = drill(bore)
    pulled = drill(bore, drill(bore, first))
    RodWithdrawalFactory(rod=pulled, reason="a stone")
    page = shown()
    for part in ("drilled-band", 'class="drilled"', "drilled-head", 'class="abandoned"'):
        assert part in page
    assert "Drilled to station" in page
    section = page.partition('id="drilled"')[2]
    assert "2 rods in the ground" in section
    assert "Leg 1</b>, abandoned: rods 3 to 3" in section
    row = section.partition("At the head, rod 2")[2].partition("</tr>")[0]
    assert "3 7/8 in deeper" in row
    assert "7 7/8 in right" in row
    assert "may be off by" in row


def test_who_may_not_see_rods_sees_the_plan_alone(bore, shown, client):
    drill(bore)
    reader = person_in_role("Coordinator", bore.job.organisation)
    for group in reader.groups.all():
        group.permissions.remove(Permission.objects.get(codename="view_drilledrod"))
    client.force_login(reader)
    page = shown()
    assert "Profile" in page
    assert "drilled-band" not in page
    assert "As drilled" not in page


def test_the_past_shows_the_rods_of_then_and_no_later_ones(bore, shown):
    nothing = database_clock()
    first = drill(bore)
    then = database_clock()
    second = drill(bore, first)
    later = database_clock()
    RodWithdrawalFactory(rod=second, reason="a stone")
    assert "As drilled" not in shown(nothing)
    assert "1 rod in the ground" in shown(then)
    assert "2 rods in the ground" in shown(later)
    now = shown(database_clock())
    assert "1 rod in the ground" in now
    assert "Leg 1</b>, abandoned" in now
