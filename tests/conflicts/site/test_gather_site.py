"""Site records are read for many bores in seven queries, and each bore gets its own and nobody else's."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from conflicts.gather_site import gather_site
from conflicts.models import (
    Bore,
    CameraInspection,
    CloseOut,
    CrossingWatch,
    Variance,
    VarianceEnd,
    VarianceSignature,
)
from conflicts.site_records import SiteRecords
from locates.models import JurisdictionRule
from tests import factories

pytestmark = pytest.mark.django_db

AT = factories.PLANNED_START_AT
HOUR = timedelta(hours=1)
PILOT = {"pass_made": "pilot"}
# Walks, variances with signature and end, cameras, watches, damage, passes, close-outs with
# pull-backs and what releases name, which bores have a rod.
QUERIES = 8


@pytest.fixture
def bores():
    """Two bores of one job, and one of another company."""
    job = factories.small_job()
    factories.BoreFactory(job=job)
    factories.small_job(organisation=factories.OrganisationFactory())
    return list(Bore.objects.select_related("job__jurisdiction").order_by("job__name", "name"))


@pytest.fixture
def person():
    return factories.PersonFactory()


def fill(bore, by, word, at=AT):
    """One of each record, with a word in what it says."""
    mark = bore.job.marks.first()
    factories.DailyWalkFactory(bore=bore, walked_by_name=f"{word} walker", walked_at=at)
    vary(bore, by, word, at)
    CameraInspection.objects.create(
        bore=bore, mark=mark, stage="before", inspected_at=at, inspected_by=word, recorded_by=by,
        recorded_by_name=word, result="no_damage",
    )  # fmt: skip
    factories.HolePassFactory(
        bore=bore, diameter_m=0.3, logged_by_name=f"{word} reamer", made_at=at, logged_at=at
    )
    CrossingWatch.objects.create(
        bore=bore, mark=mark, kind="crossing", station_m=50.0, **PILOT, seen=True, gap_m=0.6,
        required_m=0.305, watched_by=by, watched_by_name=f"{word} watcher", watched_at=at,
    )  # fmt: skip


def vary(bore, by, word, at=AT, *, is_signed=True, ended_at=None):
    asked = Variance.objects.create(
        bore=bore, subject="check", check_code="watch_holes", reason=f"{word} reason", requested_by=by,
        requested_by_name=word, requested_at=at,
    )  # fmt: skip
    if is_signed:
        VarianceSignature.objects.create(
            variance=asked, signed_by=factories.PersonFactory(), signed_by_name=f"{word} signer",
            signed_at=at, valid_from=at, valid_until=at + HOUR,
        )  # fmt: skip
    if ended_at is not None:
        VarianceEnd.objects.create(
            variance=asked, ended_by=by, ended_by_name=word, ended_at=ended_at, reason="Done."
        )
    return asked


def words_of(site):
    """All names and reasons that a bore's site records hold."""
    found = [one.walked_by for one in site.walks] + [one.watched_by for one in site.watches]
    found += [one.logged_by for one in site.passes.passes]
    return found + [words for one in site.variances for words in (one.reason, one.signed_by)]


def test_each_bore_gets_its_own_records_and_none_of_another_bore_or_company(bores, person):
    for number, bore in enumerate(bores):
        fill(bore, person, f"w{number}")
    found = gather_site(bores)
    assert found.keys() == {bore.pk for bore in bores}
    for number, bore in enumerate(bores):
        site = found[bore.pk]
        word = f"w{number}"
        assert words_of(site) == [
            f"{word} {one}" for one in ("walker", "watcher", "reamer", "reason", "signer")
        ]
        assert [one.mark_id for one in (*site.cameras, *site.watches)] == [str(bore.job.marks.first().pk)] * 2
        assert CrossingWatch.objects.get(bore=bore).pk.hex == site.watches[0].watch_id.replace("-", "")
    only = gather_site(bores[:1])
    assert only == {bores[0].pk: found[bores[0].pk]}


def test_it_takes_as_many_queries_for_many_bores_and_records_as_for_one(bores, person):
    def queries(some):
        with CaptureQueriesContext(connection) as captured:
            gather_site(some)
        return len(captured)

    assert queries(bores[:1]) == QUERIES
    for bore in bores:
        for number in range(3):
            fill(bore, person, f"w{number}")
            vary(bore, person, "w", ended_at=AT)
    assert queries(bores) == QUERIES
    assert queries([]) <= QUERIES


def test_records_come_in_order_of_time_and_of_one_moment_in_order_of_storing(bores, person):
    bore = bores[0]
    for word, hours in (("c", 3), ("a", 1), ("b", 2), ("d", 3)):
        fill(bore, person, word, AT + hours * HOUR)
    site = gather_site([bore])[bore.pk]
    assert [one.walked_by[0] for one in site.walks] == ["a", "b", "c", "d"]
    assert [one.watched_by[0] for one in site.watches] == ["a", "b", "c", "d"]
    assert [one.inspected_at for one in site.cameras] == [AT + hours * HOUR for hours in (1, 2, 3, 3)]


def test_what_is_asked_for_and_not_signed_is_no_variance(bores, person):
    vary(bores[0], person, "asked", is_signed=False)
    vary(bores[0], person, "refused", is_signed=False, ended_at=AT)
    ended = vary(bores[0], person, "ended", ended_at=AT + HOUR / 2)
    [variance] = gather_site(bores)[bores[0].pk].variances
    assert (variance.variance_id, variance.until) == (str(ended.pk), AT + HOUR / 2)
    assert not variance.is_in_force(AT + HOUR / 2)


def test_the_close_out_and_what_nobody_may_waive_are_of_the_bore_and_its_rule(bores, person):
    CloseOut.objects.create(
        bore=bores[1], closed_by=person, closed_by_name="R. Pell", closed_at=AT, grounds={}
    )
    JurisdictionRule.objects.filter(pk=bores[0].job.jurisdiction_id).update(checks_never_waived=["day"])
    fresh = list(Bore.objects.select_related("job__jurisdiction").order_by("job__name", "name"))
    found = gather_site(fresh)
    assert [found[bore.pk].closed_out_at for bore in fresh] == [None, AT, None]
    assert found[bores[0].pk].never_waived == ("day",)


def test_a_bore_of_which_nothing_is_recorded_has_empty_records(bores):
    rule = bores[0].job.jurisdiction
    empty = SiteRecords(never_waived=tuple(rule.checks_never_waived))
    assert gather_site(bores)[bores[0].pk] == empty
