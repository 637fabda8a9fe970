"""The audit lists lines that only the drilled hole meets, as found so, on its page and in its files."""

import csv
import io
from datetime import timedelta

import pytest
from django.utils import timezone
from openpyxl import load_workbook

from conflicts.assess import store_assessment
from conflicts.desk.record_watch import record_watch
from conflicts.models import CrossingWatch, DrilledRod, Reassessment
from conflicts.models.audit_excused import excused
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_margins import least_margins, margin_figures, plotted_margins
from conflicts.models.audit_unwatched import count_unwatched, unwatched
from conflicts.reassess import run
from locates.models import TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import sign_variance, variance
from tests.conflicts.rods.sewer_beside import sewer_beside
from tests.conflicts.rods.test_lines_beside import AWAY, TO_EXIT, assessed, drill, release
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ALL_PASSES = ["pilot", "reaming", "pullback"]


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def sewer(bore):
    """A sewer of known depth beside the plan: its test hole is where the rods cross it."""
    mark = sewer_beside(bore)
    factories.TestHoleFactory(
        job=bore.job, mark=mark, ref="TH9", position=factories.point(70.0, -5.0), depth_to_top_m=1.2
    )
    store_assessment(bore.pk)
    return mark


@pytest.fixture
def drilled(bore, sewer):
    """The same with rods past it, and the figures of them stored."""
    drill(bore, TO_EXIT)
    store_assessment(bore.pk)
    return bore


@pytest.fixture
def manager(client, bore):
    client.force_login(person_in_role("Safety manager", bore.job.organisation))
    return client


def chosen(bore, /, **filters):
    return AuditFilters(bore.job.organisation_id, **filters)


def unseen(bore, /, **filters):
    found = unwatched(chosen(bore, **filters), None, 100)
    assert count_unwatched(chosen(bore, **filters)) == len(found)
    return {one.mark_ref: (one.missing_passes, one.is_drilled) for one in found}


def margins(bore, /, **filters):
    return [one for one in least_margins(chosen(bore, **filters), None, 100) if one.mark_ref == "SS9"]


def stored(bore):
    return list(bore.drilled_alone.values_list("mark_ref", "verdict", "leg", "is_gone"))


def lying(bore):
    [one] = [one for _leg, one in assessed(bore).drilled.every if one.crossing.mark.ref == "SS9"]
    return one


def test_nothing_is_stored_of_it_before_a_rod_comes_there(bore, sewer):
    assert stored(bore) == []
    assert "SS9" not in unseen(bore)
    drill(bore, AWAY[:1])
    store_assessment(bore.pk)
    assert "SS9" not in unseen(bore)


def test_a_reassessment_stores_it_beside_the_figures_of_the_plan_which_stay(bore, drilled):
    lies = lying(bore).lies
    [row] = bore.drilled_alone.all()
    assert (row.mark_ref, row.verdict, row.leg, row.is_gone) == ("SS9", lies.verdict, "", False)
    assert (row.worst_case_m, row.required_m) == (lies.worst_case_m, lies.required_m)
    assert (row.from_m, row.to_m) == (lies.from_m, lies.to_m)
    # Its zone ends 1.5 m or so past 70 m: the fourth rod, from 60 to 80 m, came past it.
    last = DrilledRod.objects.get(number=4)
    assert (row.drilled_at, row.drilled_by_name) == (last.logged_at, last.logged_by_name)
    at = bore.assessment.assessed_at
    assert not store_assessment(bore.pk)
    factories.RodWithdrawalFactory(rod=last, kind="undo", withdrawn_at=timezone.now())
    assert store_assessment(bore.pk)
    bore.assessment.refresh_from_db()
    assert bore.assessment.assessed_at == at


def test_it_is_drilled_with_no_watch_until_every_pass_was_seen(bore, drilled):
    assert unseen(bore)["SS9"] == (ALL_PASSES, True)
    assert all(not is_drilled for ref, (_, is_drilled) in unseen(bore).items() if ref != "SS9")
    one = lying(bore)
    for pass_made in ALL_PASSES:
        watch = CrossingWatch(
            bore=bore,
            mark_id=one.lies.mark_id,
            kind=one.lies.kind,
            station_m=one.station_m,
            pass_made=pass_made,
            seen=True,
            gap_m=0.6,
        )
        record_watch(watch, by=factories.PersonFactory())
    assert "SS9" not in unseen(bore)
    assert {(row.pass_made, row.is_drilled) for row in margins(bore) if row.is_measured} == {
        (name, True) for name in ALL_PASSES
    }


def test_its_worst_case_stands_among_the_margins_and_in_the_plot(bore, drilled):
    lies = lying(bore).lies
    [row] = margins(bore)
    assert (row.is_measured, row.is_drilled, row.verdict) == (False, True, lies.verdict)
    assert (row.left_m, row.required_m) == (lies.worst_case_m, lies.required_m)
    assert row.margin_m == pytest.approx(lies.worst_case_m - lies.required_m)
    figures = margin_figures(chosen(bore))
    assert (figures.holes.count, figures.holes.known) == (1, 1)
    assert figures.holes.least_m == row.margin_m
    points, total = plotted_margins(chosen(bore), 100)
    assert total == len(points)
    assert [one.margin_m for one in points if one.is_drilled] == [row.margin_m]


@pytest.mark.parametrize(
    ("filters", "count"),
    [
        ({}, 1),
        ({"mark_ref": "ss9"}, 1),
        ({"mark_ref": "M1"}, 0),
        ({"person": "nobody"}, 0),
        ({"bore": "no"}, 0),
    ],
)
def test_filters_narrow_it(bore, drilled, filters, count):
    assert len(margins(bore, **filters)) == count
    assert len(margins(bore, verdict=lying(bore).lies.verdict, **filters)) == count
    assert margins(bore, verdict="stale", **filters) == []


def test_nothing_of_it_is_told_to_another_company(bore, drilled):
    other = AuditFilters(factories.OrganisationFactory().pk)
    assert (unwatched(other, None, 9), least_margins(other, None, 9), excused(other, None, 9)) == ([], [], [])


def test_its_figures_are_unknown_while_they_wait_to_be_computed_anew_and_it_stays_in_sight(bore, drilled):
    sewer_now = bore.drilled_alone.get().mark
    sewer_now.is_intact = False
    sewer_now.save()
    Reassessment.objects.queue_again([bore.pk])
    [row] = margins(bore)
    assert (row.verdict, row.left_m, row.required_m, row.margin_m) == ("", None, None, None)
    assert unseen(bore)["SS9"] == (ALL_PASSES, True)
    assert margin_figures(chosen(bore)).unknown >= 1
    run(Reassessment.objects.get().pk)
    [row] = margins(bore)
    assert row.verdict == lying(bore).lies.verdict != ""


def test_it_is_under_the_variance_that_is_signed_for_the_hole(bore, drilled):
    found = TestHole.objects.get(ref="TH9")
    found.depth_to_top_m = 1.5
    found.save()
    store_assessment(bore.pk)
    one = lying(bore)
    assert not one.crossing.is_clear
    assert [row.is_under_variance for row in margins(bore)] == [False]
    lies = one.lies
    place = {"subject": "drilled", "kind": lies.kind, "station_m": one.station_m}
    facts = {"faults": [], "verdict": lies.verdict, "worst_case_m": lies.worst_case_m}
    signed = sign_variance(
        variance(bore, found.mark, **place),
        at=timezone.now() - timedelta(hours=1),
        required_m=lies.required_m,
        **facts,
    )
    assert [row.is_under_variance for row in margins(bore)] == [True]
    [listed] = [row for row in excused(chosen(bore), None, 9) if row.mark_ref == "SS9"]
    assert (listed.subject, listed.is_drilled, listed.is_in_force) == ("drilled", True, True)
    assert listed.variance_id == signed.variance_id


def test_a_leg_that_alone_met_it_asks_for_the_pilot(bore, drilled):
    second = DrilledRod.objects.get(number=2)
    factories.RodWithdrawalFactory(rod=second, kind="pull_back", withdrawn_at=timezone.now())
    store_assessment(bore.pk)
    assert [(ref, leg) for ref, _, leg, _ in stored(bore)] == [("SS9", "Leg 1")]
    assert unseen(bore)["SS9"] == (["pilot"], True)


def test_page_csv_and_workbook_say_that_it_was_found_as_drilled(manager, bore, drilled):
    release(bore)
    for part, place in (("unwatched", "watches/"), ("margins", "#as-drilled")):
        page = manager.get("/audit/", {"section": part}).content.decode()
        assert f'href="/bores/{bore.pk}/{place}">as drilled</a>' in page
        text = manager.get("/audit/part.csv", {"section": part}).content.decode()
        found = {row["mark"]: row["found"] for row in csv.DictReader(io.StringIO(text))}
        assert found["SS9"] == "as drilled"
        assert set(found.values()) == {"as drilled", "as planned"}
    assert "worst case as drilled" in page
    assert "Least margin, line the hole alone meets" in page
    book = load_workbook(io.BytesIO(manager.get("/audit/audit.xlsx").content))
    for part in ("unwatched", "margins"):
        names, *rows = book[part].values
        found = {row[names.index("mark")]: row[names.index("found")] for row in rows}
        assert found["SS9"] == "as drilled"


def test_there_is_a_place_to_act_at_where_the_audit_leads(manager, bore, drilled):
    assert 'id="as-drilled"' in manager.get(f"/bores/{bore.pk}/").content.decode()
