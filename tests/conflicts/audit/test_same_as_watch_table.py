"""The audit, the table of a bore's watches and its close-out say the same of the same records."""

from datetime import timedelta
from random import Random

import pytest
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.models import CloseOut, CrossingWatch, Release, Variance, VarianceSignature
from conflicts.models.audit_filters import AuditFilters
from conflicts.models.audit_unwatched import unwatched
from conflicts.release import sign_release
from conflicts.watch_matching import ALL_PASSES
from conflicts.watch_table import watch_table
from locates.models import Mark, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import watch
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

# Two crossings whose reaches overlap, one alone, and one alongside.
SHAPES = (
    ((20, -15), (20, 15), (22.5, 15), (22.5, -15)),
    ((50, -15), (50, 15)),
    ((70, 0.6), (80, 0.7)),
)


def audited(bore):
    """Passes that nobody saw, by line, kind and station."""
    found = unwatched(AuditFilters(bore.job.organisation_id), None, 1000)
    return {(one.mark_ref, one.kind, one.station_m): one.missing_passes for one in found}


def tabled(bore):
    """The same as the bore's table has it, and at how many places its close-out misses a pass."""
    [state] = computed_states([bore], timezone.now())
    table = watch_table(state.assessed, bore.pilot_diameter_m)
    missing = {}
    for row in table.rows:
        unseen = [
            one.pass_made
            for one in row.passes
            if one.watch is None or not one.watch.seen or one.made_anew or one.pulled_back
        ]
        if unseen:
            missing[row.lies.mark_ref, row.lies.kind, row.lies.station_m] = unseen
    told = [
        one for one in close_out_faults(table, state.assessed) if "No watch of" in one or "not seen" in one
    ]
    return missing, sum(one.count(" at station ") for one in told)


def bore_of_lines():
    bore = bore_of_today()
    [gas] = Mark.objects.all()
    for shape in SHAPES[:1] + SHAPES[2:]:
        factories.MarkFactory(job=bore.job, operator=gas.operator, geometry=factories.line(*shape))
    store_assessment(bore.pk)
    return bore


def watch_anything(bore, draw):
    """Watches on the crossings and about them, some at the same moment, some that saw nothing."""
    now, places = timezone.now(), list(bore.crossings.select_related("mark"))
    for _ in range(draw.randrange(6, 60)):
        seen, place = draw.random() < 0.8, draw.choice(places)
        watch(
            bore,
            place.mark,
            passed=draw.choice(ALL_PASSES),
            kind=draw.choice([place.kind, place.kind, place.kind, "alongside"]),
            station_m=place.station_m + draw.choice([0, 0.9, 1.25, draw.uniform(-3, 3)]),
            seen=seen,
            gap_m=0.6 if seen else None,
            at=now - timedelta(minutes=draw.randrange(1, 6)),
        )


def drill_and_watch(bore, draw):
    """Rods, pull-backs, passes over the whole or a stretch, and watches between them, one after another."""
    at, places, head = timezone.now() - timedelta(hours=5), list(bore.crossings.select_related("mark")), None
    for _ in range(draw.randrange(10, 50)):
        at += timedelta(minutes=draw.randrange(1, 5))
        what = draw.choice(["rod", "rod", "rod", "out", "pass", "watch", "watch", "watch"])
        if what == "rod" and (head is None or head.number < 5):
            head = factories.DrilledRodFactory(
                bore=bore, after=head, length_m=20.0, depth_m=2.0, logged_at=at
            )
        elif what == "out" and head is not None:
            kind = draw.choice(["pull_back", "pull_back", "undo"])
            first = head
            while kind == "pull_back" and first.after is not None and draw.random() < 0.6:
                first = first.after
            factories.RodWithdrawalFactory(rod=first, kind=kind, withdrawn_at=at)
            head = first.after
        elif what == "pass":
            stretch = draw.choice([{}, {"from_station_m": 40.0, "to_station_m": 60.0}])
            made_at = at - timedelta(minutes=draw.randrange(0, 9))
            log_pass(bore, kind=draw.choice(["reaming", "pullback"]), made_at=made_at, at=at, **stretch)
        elif what == "watch":
            place = draw.choice(places)
            shown = {"kind": place.kind, "station_m": place.station_m, "gap_m": 0.6}
            watch(bore, place.mark, passed=draw.choice(ALL_PASSES), at=at, **shown)


def log_pass(bore, *, kind, made_at, at, **stretch):
    if kind == "pullback":
        factories.PullbackFactory(bore=bore, made_at=made_at, logged_at=at)
    else:
        factories.HolePassFactory(bore=bore, made_at=made_at, logged_at=at, **stretch)


def survey_anew(draw):
    """Every line lies a little or much elsewhere along the bore."""
    off_m = draw.choice([0.4, 1.5, 9.0])
    for mark in Mark.objects.all():
        mark.geometry = factories.line(*((east + off_m, north) for east, north in SHAPES[draw.randrange(3)]))
        mark.save()
    TestHole.objects.update(position=factories.point(50 + off_m, 0))


def sign_release_anew(bore):
    now = timezone.now()
    shift = {"shift_from": now, "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory())


def move_to(mark, east):
    mark.geometry = factories.line((east, -15), (east, 15))
    mark.save()
    TestHole.objects.update(position=factories.point(east, 0))


@pytest.mark.parametrize("seed", range(8))
def test_they_miss_the_same_passes_of_the_same_crossings(seed):
    draw = Random(seed)  # noqa: S311 - places, not secrets
    bore = bore_of_lines()
    watch_anything(bore, draw)
    for _ in range(2):
        missing, told = tabled(bore)
        assert audited(bore) == missing
        assert told == sum(len(passes) for passes in missing.values())
        survey_anew(draw)
        store_assessment(bore.pk)


@pytest.mark.parametrize("seed", range(8, 12))
def test_what_a_release_named_and_no_crossing_is_any_more_stands_beside_them(seed):
    draw = Random(seed)  # noqa: S311 - places, not secrets
    bore = bore_of_lines()
    Mark.objects.exclude(test_holes__isnull=False).update(retired_at=timezone.now())
    store_assessment(bore.pk)
    sign_release_anew(bore)
    watch_anything(bore, draw)
    missing, _ = tabled(bore)
    assert audited(bore) == missing
    for east in (56, 60):
        move_to(Mark.objects.get(), east)
        store_assessment(bore.pk)
        moved, told = tabled(bore)
        assert audited(bore) == moved
        assert missing.items() <= moved.items()
        assert told == sum(len(passes) for passes in moved.values())
        sign_release_anew(bore)


@pytest.mark.parametrize("seed", range(20, 32))
def test_what_was_watched_before_a_pass_or_the_hole_was_made_anew_is_missing_in_both(seed):
    draw = Random(seed)  # noqa: S311 - places, not secrets
    bore = bore_of_lines()
    drill_and_watch(bore, draw)
    store_assessment(bore.pk)
    missing, _ = tabled(bore)
    assert audited(bore) == missing


def drill_off_plan(bore, draw):
    """Rods past lines beside the plan, some pulled back and drilled along it, with watches between them."""
    at, after = timezone.now() - timedelta(hours=5), None
    aside_m = draw.choice([5.0, 8.0])
    for number in range(1, 5):
        at += timedelta(minutes=5)
        off_m = -aside_m if number > 1 else 0.0
        longitude, latitude = factories.point(20.0 * number, off_m).coords
        after = factories.DrilledRodFactory(
            bore=bore, after=after, length_m=20.0, depth_m=2.0, logged_at=at,
            dot_longitude_deg=longitude, dot_latitude_deg=latitude,
        )  # fmt: skip
    store_assessment(bore.pk)
    watch_drilled(bore, draw, at)
    if draw.random() < 0.6:
        at += timedelta(minutes=5)
        first = bore.drilled_rods.get(number=draw.choice([2, 3]))
        factories.RodWithdrawalFactory(rod=first, kind="pull_back", withdrawn_at=at)
        head = first.after
        for _ in range(2):
            at += timedelta(minutes=5)
            head = factories.DrilledRodFactory(
                bore=bore, after=head, length_m=20.0, depth_m=2.0, logged_at=at
            )
        store_assessment(bore.pk)
        watch_drilled(bore, draw, at)
    return at


def watch_drilled(bore, draw, at):
    """Watches on some of the lines that the hole alone meets."""
    for place in bore.drilled_alone.select_related("mark"):
        for passed in ALL_PASSES:
            if draw.random() < 0.4:
                station_m = place.station_m + draw.choice([0.0, 0.8])
                shown = {"kind": place.kind, "station_m": station_m, "gap_m": 0.6}
                watch(bore, place.mark, passed=passed, at=at + timedelta(minutes=1), **shown)


@pytest.mark.parametrize("seed", range(40, 52))
def test_what_the_drilled_hole_alone_meets_is_missing_in_both(seed):
    draw = Random(seed)  # noqa: S311 - places, not secrets
    bore = bore_of_lines()
    [gas, *_] = Mark.objects.filter(job=bore.job)
    for east in (30.0, 52.0, 70.0):
        ends = ((east, -12.0), (east, draw.choice([-2.6, -4.0])))
        factories.MarkFactory(job=bore.job, operator=gas.operator, geometry=factories.line(*ends))
    drill_off_plan(bore, draw)
    store_assessment(bore.pk)
    missing, _ = tabled(bore)
    assert bore.drilled_alone.exists()
    assert audited(bore) == missing


def test_a_bore_that_is_closed_out_misses_what_its_close_out_knew_whatever_is_recorded_since():
    bore, by = bore_of_today(), factories.PersonFactory()
    [mark] = Mark.objects.all()
    sign_release_anew(bore)
    shown = {"mark": mark, "kind": "crossing", "station_m": 50.0}
    *watched, missed_pass = ALL_PASSES
    for pass_made in watched:
        record_watch(CrossingWatch(bore=bore, pass_made=pass_made, seen=True, gap_m=0.6, **shown), by=by)
    asked = Variance(
        bore=bore, subject="watch", pass_made=missed_pass, reason="The hole was flooded.", **shown
    )
    request_variance(asked, by=by)
    until = timezone.now() + timedelta(days=2)
    manager = factories.person_in_role("Safety manager")
    sign_variance(VarianceSignature(variance=asked, valid_until=until), by=manager)
    closing = close_out(CloseOut(bore=bore), by=by)
    [known] = closing.grounds["crossings"]
    missed = {(mark.ref, "crossing", known["station_m"]): ["pullback"]}
    assert audited(bore) == missed
    move_to(mark, 90)
    found = factories.MarkFactory(job=bore.job, operator=mark.operator, geometry=factories.line(*SHAPES[0]))
    store_assessment(bore.pk)
    assert {place[:2] for place in audited(bore).keys() - missed.keys()} == {(found.ref, "crossing")}
    assert audited(bore)[mark.ref, "crossing", known["station_m"]] == ["pullback"]
