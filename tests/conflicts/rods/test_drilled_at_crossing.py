"""The page of a crossing shows the hole as drilled in its section, and the line held against it."""

import numpy as np
import pytest
from django.urls import reverse

from conflicts.assess import compute_bores, store_assessment
from conflicts.drawing.section_drilled import drilled_hole
from conflicts.drawing.section_figures import section_at
from conflicts.drilled import drilled_path
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore
from tests import factories
from tests.factories import DrilledRodFactory, MarkFactory, TestHoleFactory, line, person_in_role, point

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A bore of 100 m to the east, 2 m deep at 20 m; its gas line crosses square at 50 m."""
    return factories.small_job().bores.get()


def drill(bore, rods, right_m=0.2, deeper_m=0.1):
    """Rods of 3 m along the plan, so far to its right and below it."""
    last = None
    for number in range(1, rods + 1):
        longitude, latitude = point(3.0 * number, -right_m).coords
        last = DrilledRodFactory(
            bore=bore, after=last, depth_m=max(0.0, min(2.0, 0.3 * number) + deeper_m), dot_error_m=0.02,
            dot_longitude_deg=longitude, dot_latitude_deg=latitude,
        )  # fmt: skip


def section_and_hole(bore, sequence=0):
    found = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    computed = compute_bores([bore.pk])[bore.pk]
    section = section_at(computed.scene, computed.crossings[sequence])
    drilled = drilled_path(computed.scene, gather_rods([found])[bore.pk])
    return section, drilled_hole(computed.scene, section, drilled)


def page(client, bore):
    store_assessment(bore.pk)
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    return client.get(reverse("conflicts:crossing", args=[bore.pk, 0])).content.decode()


def test_cut_lengthwise_the_drilled_hole_is_a_strip_and_its_offset_is_told_beside(bore):
    drill(bore, 20)
    section, hole = section_and_hole(bore)
    assert hole.along_m is not None
    assert hole.aside_m == pytest.approx(0.2, abs=0.005)
    assert section.hole_m[1] - hole.elevation_m == pytest.approx(0.1, abs=0.005)
    assert hole.vertical_m > 0.0


def test_cut_across_the_drilled_hole_is_a_ring_at_its_offset(bore):
    mark = MarkFactory(job=bore.job, geometry=line((30, 0.5), (70, 0.5)))
    TestHoleFactory(job=bore.job, mark=mark, position=point(50, 0.5))
    drill(bore, 26)
    sequence = next(
        index
        for index, one in enumerate(compute_bores([bore.pk])[bore.pk].crossings)
        if one.mark.ref == mark.ref
    )
    section, hole = section_and_hole(bore, sequence)
    assert hole.along_m is None
    assert hole.aside_m == pytest.approx(0.0, abs=1e-9)
    # Facing the exit, right of the plan is right in the picture; its plane stands a little askew to the bore.
    assert 0.2 <= hole.across_m < 0.23
    assert hole.elevation_m == pytest.approx(section.hole_m[1] - 0.1, abs=0.01)
    assert np.isfinite([hole.horizontal_m, hole.vertical_m]).all()


def test_a_head_that_has_not_come_there_is_in_no_section_and_the_page_says_where_it_is(client, bore):
    drill(bore, 5)
    _, hole = section_and_hole(bore)
    assert hole is None
    shown = page(client, bore)
    assert "The head has not come to it: it is at station 0+49.2" in shown
    assert "drilled-hole" not in shown


def test_the_page_holds_the_line_against_what_was_drilled(client, bore):
    drill(bore, 20)
    shown = page(client, bore)
    assert 'class="drilled-hole"' in shown
    assert "Outlined, with a cross" in shown
    assert "3 7/8 in deeper, 7 7/8 in right of the plan" in shown
    table = shown.partition('class="table as-drilled"')[2].partition("</table>")[0]
    for name in ("Horizontal", "Vertical", "Separation", "Worst case", "Required"):
        assert name in table


STOP = "Stop: the hole as drilled is not clear of this line"


def test_a_hole_too_near_stops_beside_what_the_plan_says_to_do(client, bore):
    drill(bore, 20, right_m=0.0, deeper_m=-0.7)
    to_do = page(client, bore).partition('id="what-to-do"')[2].partition("</section>")[0]
    assert f"{STOP}: short, " in to_do
    assert "1 ft 0 1/8 in required" in to_do
    assert 'href="#as-drilled"' in to_do


def test_a_hole_that_is_clear_stops_nothing_there(client, bore):
    drill(bore, 20, right_m=0.0, deeper_m=0.1)
    assert STOP not in page(client, bore)


def test_a_bore_without_rods_has_the_page_of_before(client, bore):
    shown = page(client, bore)
    assert "As drilled" not in shown
    assert "Outlined, with a cross" not in shown
