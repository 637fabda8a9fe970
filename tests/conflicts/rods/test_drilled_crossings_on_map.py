"""The crossings of the hole as drilled on the map: of lines that it alone meets, or is not clear of."""

import numpy as np
import pyproj
import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.desk.log_rod import withdraw_rods
from conflicts.map_records import read_bore_map, read_job_map
from conflicts.models import Bore, DrilledRod, RodWithdrawal
from tests import factories
from tests.conflicts.rods.sewer_beside import sewer_beside
from tests.conflicts.rods.test_lines_beside import AWAY, drill
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

GEOD = pyproj.Geod(ellps="WGS84")
ALONG = ((20.0, 0.0), (40.0, 0.0), (60.0, 0.0), (80.0, 0.0))


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def sewer(bore):
    return sewer_beside(bore)


@pytest.fixture
def foreman(client, bore):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client


def rows(client, bore, name="bore"):
    """The crossings as drilled as a browser gets them."""
    address = reverse("conflicts:map-data", kwargs={f"{name}_id": bore.pk if name == "bore" else bore.job_id})
    document = client.get(address).json()
    table = document["drilled_crossings"]
    found = [dict(zip(table["columns"], row, strict=True)) for row in table["rows"]]
    for one in found:
        [one["at"]] = ((np.array(document["origin"]) + np.reshape(one["at"], (-1, 2))) * 1e-8).tolist()
    return found


def alone(client, bore, name="bore"):
    """Those of lines that the plan does not meet."""
    return [one for one in rows(client, bore, name) if one["alone"]]


def test_a_line_that_the_hole_alone_meets_lies_on_both_maps_where_the_hole_meets_it(foreman, bore, sewer):
    drill(bore, AWAY)
    for name in ("bore", "job"):
        [one] = alone(foreman, bore, name)
        assert one["verdict"] == "unexposed"
        assert "SS9 at station" in one["words"]
        assert "the plan does not meet it" in one["words"]
        # The rods end at 60 and 80 m east, 5 m south of the plan; the sewer crosses them at 70 m. On the
        # ellipsoid, which is another way than the program's frame.
        assert GEOD.inv(*one["at"], *factories.point(70.0, -5.0).coords)[2] < 0.1
        assert one["address"] == f"{reverse('conflicts:bore', args=[bore.pk])}#as-drilled-1"


def test_where_it_leads_there_is_a_row_to_act_at(foreman, bore, sewer):
    drill(bore, AWAY)
    page = foreman.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    [row] = [part for part in page.split("<tr") if 'id="as-drilled-1"' in part]
    assert reverse("conflicts:watch", args=[bore.pk, 1, "pilot"]) in row
    assert f"{reverse('conflicts:variance-ask', args=[bore.pk])}?what=drilled:1" in row
    assert reverse("conflicts:camera", args=[bore.pk]) in row
    asked = foreman.get(f"{reverse('conflicts:variance-ask', args=[bore.pk])}?what=drilled:1")
    [chosen] = [part for part in asked.content.decode().split("<option") if " selected" in part]
    assert "SS9" in chosen


def test_the_words_beside_both_maps_name_it(foreman, bore, sewer):
    for name in ("bore", "job"):
        address = reverse(f"conflicts:{name}", args=[bore.pk if name == "bore" else bore.job_id])
        assert "which the plan does not" not in foreman.get(address).content.decode()
    drill(bore, AWAY)
    for name in ("bore", "job"):
        address = reverse(f"conflicts:{name}", args=[bore.pk if name == "bore" else bore.job_id])
        page = foreman.get(address).content.decode()
        words = page.split('id="map-words"')[1].split("</p>")[0]
        assert "which the plan does not" in words
        assert "SS9, unexposed" in words


def test_rods_along_the_plan_add_nothing(foreman, bore, sewer):
    drill(bore, ALONG)
    assert rows(foreman, bore) == []


def test_a_planned_line_that_the_hole_is_not_clear_of_is_marked_beside_the_clear_symbol_of_the_plan(
    foreman, bore
):
    drill(bore, ALONG, depth_m=1.0)
    [one] = rows(foreman, bore)
    assert (one["verdict"], one["alone"]) == ("overlap", False)
    assert one["address"].endswith("#crossing-1")
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    assert [it.verdict for it in read_bore_map(stored, timezone.now()).crossings] == ["clear"]


def test_an_abandoned_leg_is_named_and_stays_marked(foreman, bore, sewer):
    drill(bore, AWAY)
    pulled = RodWithdrawal(rod=DrilledRod.objects.get(number=2), kind="pull_back", reason="Too far right.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    drill(bore, ALONG[1:], after=DrilledRod.objects.get(number=1))
    [one] = alone(foreman, bore)
    assert "Leg 1, pulled back" in one["words"]


def test_it_is_marked_while_the_figures_of_the_plan_are_recalculated(foreman, bore, sewer):
    """It is computed from the records as they are now, and no stored figure stands behind it."""
    drill(bore, AWAY)
    bore.assessment.delete()
    assert len(alone(foreman, bore)) == 1
    store_assessment(bore.pk)


def test_who_may_not_see_the_rods_is_told_of_the_line_all_the_same(bore, sewer):
    drill(bore, AWAY)
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    at = timezone.now()
    for read in (
        read_bore_map(stored, at, shows_rods=False),
        read_job_map(stored.job, at, shows_rods=False),
    ):
        assert read.drilled == []
        assert "SS9" in [one.mark_ref for one in read.drilled_crossings]


def test_the_map_of_then_leads_to_the_page_of_then(client, bore, sewer):
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    drill(bore, AWAY)
    at = timezone.now().isoformat()
    document = client.get(reverse("conflicts:map-as-of", kwargs={"bore_id": bore.pk}), {"at": at}).json()
    columns, found = document["drilled_crossings"]["columns"], document["drilled_crossings"]["rows"]
    assert len(found) == 2
    for row in found:
        address, _, anchor = dict(zip(columns, row, strict=True))["address"].partition("#")
        assert f'id="{anchor}"' in client.get(address).content.decode()
