"""A signed variance excuses what stood when it was signed; what is new or worse later holds again."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import assess, store_assessment
from conflicts.bore_states import computed_states
from conflicts.desk.record_watch import record_watch
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.variance_subject import subject_now
from conflicts.errors import VarianceError
from conflicts.models import CrossingWatch, Release, Variance, VarianceSignature
from conflicts.record.read import read_kept_records
from conflicts.release import ReleaseState, sign_release, standing_of
from conflicts.variance_words import bound_words
from conflicts.watch_table import standing_stops, watch_table
from locates.models import Mark, SurfaceFeature, TestHole
from tests import factories
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

PILOT = "pilot"


@pytest.fixture
def bore():
    return bore_of_today()


def holding(bore):
    return {one["code"]: one["sentence"] for one in assess(bore, timezone.now())["checks"] if one["holds"]}


def ask(bore, **what):
    asked = Variance(bore=bore, reason="Two people look.", **what)
    return request_variance(asked, by=factories.PersonFactory())


def sign(asked, **shown):
    signature = VarianceSignature(variance=asked, valid_until=timezone.now() + timedelta(days=2))
    return sign_variance(signature, by=factories.PersonFactory(), **shown)


def of_check(bore, code):
    return sign(ask(bore, subject="check", check_code=code))


def of_crossing(bore):
    what = {"subject": "crossing", "kind": "crossing", "station_m": 50.0}
    return sign(ask(bore, mark=bore.job.marks.get(), **what))


def released(bore):
    now = timezone.now()
    shift = {"shift_from": now, "shift_until": now + timedelta(hours=2)}
    release = Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)
    sign_release(release, by=factories.PersonFactory())
    return Release.objects.with_course().get()


def pedestal(bore, **values):
    """A pedestal of a cable beside the bore that no mark explains."""
    what = {"feature_type": "pedestal", "facility_type": "communication", "position": factories.point(60, 1)}
    return factories.SurfaceFeatureFactory(job=bore.job, **{**what, **values})


def test_a_pedestal_that_is_excused_excuses_no_line_that_is_found_later(bore):
    pedestal(bore)
    assert set(holding(bore)) == {"surface"}
    of_check(bore, "surface")
    assert holding(bore) == {}
    release = released(bore)
    stray = factories.TestHoleFactory(job=bore.job, mark=None, position=factories.point(70, 3))
    assert "found a line that nobody marked" in holding(bore)["surface"]
    assert standing_of(release).state is ReleaseState.LAPSED
    factories.stand_aside(stray)
    assert holding(bore) == {}


def test_a_pedestal_that_is_excused_excuses_none_at_another_place(bore):
    known = pedestal(bore)
    of_check(bore, "surface")
    SurfaceFeature.objects.filter(pk=known.pk).update(position=factories.point(62, 1))
    assert set(holding(bore)) == {"surface"}


def test_where_of_two_excused_faults_one_is_settled_the_other_stays_excused(bore):
    first, _ = pedestal(bore), pedestal(bore, position=factories.point(65, 1))
    of_check(bore, "surface")
    factories.stand_aside(first)
    assert holding(bore) == {}


def test_a_hole_that_is_not_known_to_be_open_excuses_none_that_is_closed(bore):
    TestHole.objects.update(is_open=None)
    of_check(bore, "watch_holes")
    assert holding(bore) == {}
    TestHole.objects.update(is_open=False)
    assert "Closed: " in holding(bore)["watch_holes"]


def test_a_walk_that_nobody_made_is_excused_and_none_that_answers_no(bore):
    job = factories.small_job(time_zone=bore.job.time_zone)
    other = job.bores.get()
    assert "No walk of" in holding(other)["day"]
    of_check(other, "day")
    assert "day" not in holding(other)
    walk = factories.DailyWalkFactory(bore=other, walked_at=timezone.now(), marks_intact=False)
    assert "the marks were not all intact" in holding(other)["day"]
    of_check(other, "day")
    assert walk.walked_by_name in holding(other)["day"]


def test_a_crossing_that_is_short_is_excused_no_further_than_it_was(bore):
    bore.job.requirements.update(crossing_m=2.0)
    of_crossing(bore)
    assert holding(bore) == {}
    bore.job.requirements.update(crossing_m=2.01)
    assert "Short" in holding(bore)["crossings"]
    bore.job.requirements.update(crossing_m=1.9)
    assert holding(bore) == {}


def test_a_crossing_that_is_short_is_not_excused_once_nothing_exposes_it(bore):
    bore.job.requirements.update(crossing_m=2.0)
    signature = of_crossing(bore)
    assert (signature.verdict, signature.required_m) == ("short", 2.0)
    release = released(bore)
    TestHole.objects.update(found=False, depth_to_top_m=None, dug_depth_m=2.0)
    assert "Unexposed" in holding(bore)["crossings"]
    assert standing_of(release).state is ReleaseState.LAPSED


def test_what_has_changed_since_it_was_shown_is_not_signed(bore):
    TestHole.objects.update(is_open=None)
    asked = ask(bore, subject="check", check_code="watch_holes")
    shown = subject_now(asked, timezone.now()).facts.digest
    TestHole.objects.update(is_open=False)
    with pytest.raises(VarianceError, match="has changed since this page was shown"):
        sign(asked, shown=shown)
    assert not VarianceSignature.objects.exists()
    assert sign(asked, shown=subject_now(asked, timezone.now()).facts.digest)


def test_a_watch_is_asked_for_by_its_pass(bore):
    with pytest.raises(VarianceError, match="name the pilot, the reaming or the pullback"):
        ask(bore, subject="watch", mark=Mark.objects.get(), kind="crossing", station_m=50.0)


def test_what_was_signed_before_facts_were_kept_keeps_its_content_and_excuses_nothing(bore):
    TestHole.objects.update(is_open=None)
    asked = ask(bore, subject="check", check_code="watch_holes")
    now, person = timezone.now(), factories.PersonFactory()
    old = VarianceSignature.objects.create(
        variance=asked, signed_by=person, signed_by_name="M. Ode", signed_at=now, valid_from=now,
        valid_until=now + timedelta(days=2),
    )  # fmt: skip
    assert set(old.ledger_content()) == {
        "id", "entered_at", "variance_id", "signed_by_id", "signed_by_name", "signed_at", "valid_from",
        "valid_until", "remarks",
    }  # fmt: skip
    assert "pass_made" not in asked.ledger_content()
    assert set(holding(bore)) == {"watch_holes"}


def test_what_it_is_bound_to_is_in_the_ledger_and_on_its_pages(client, bore):
    bore.job.requirements.update(crossing_m=2.0)
    signature = of_crossing(bore)
    content = signature.ledger_content()
    assert (content["verdict"], content["required_m"]) == ("short", 2.0)
    assert content["worst_case_m"] == signature.worst_case_m
    client.force_login(factories.person_in_role("Safety manager"))
    for address in (
        reverse("conflicts:variance", args=[signature.variance_id]),
        reverse("conflicts:variances", args=[bore.pk]),
    ):
        text = client.get(address).content.decode()
        assert "Another verdict, a lesser gap or margin, or a changed record holds." in text


def page(client, name, key):
    return " ".join(client.get(reverse(f"conflicts:{name}", args=[key])).content.decode().split())


def test_the_pages_say_why_it_excuses_no_more(client, bore):
    bore.job.requirements.update(crossing_m=2.0)
    signature = of_crossing(bore)
    release = released(bore)
    assert "does not excuse it" not in str(assess(bore, timezone.now()))
    bore.job.requirements.update(crossing_m=2.5)
    store_assessment(bore.pk)
    why = "6 ft 6 3/4 in was required when it was signed, now it is 8 ft 2 1/2 in"
    told = f"the variance signed by {signature.signed_by_name} does not excuse it: {why}."
    assert told in holding(bore)["crossings"]
    client.force_login(factories.person_in_role("Safety manager"))
    assert told in page(client, "bore", bore.pk)
    assert told in page(client, "release", release.pk)
    for name, key in (("variances", bore.pk), ("variance", signature.variance_id)):
        text = page(client, name, key)
        assert f"and excuses nothing now: {why}" in text
        assert "in force until" not in text
    [kept] = read_kept_records(bore.pk).signed.variances
    assert kept.standing == f"Excuses nothing as of this record: {why}."


def test_a_check_says_of_which_fault_its_variance_knew_nothing(client, bore):
    pedestal(bore)
    of_check(bore, "surface")
    store_assessment(bore.pk)
    factories.TestHoleFactory(job=bore.job, mark=None, ref="TH-77", position=factories.point(70, 3))
    store_assessment(bore.pk)
    words = "does not excuse it: it was not signed for this: Test hole TH-77 found a line that nobody marked."
    assert words in holding(bore)["surface"]
    client.force_login(factories.person_in_role("Safety manager"))
    assert words in page(client, "bore", bore.pk)


def test_a_walk_that_nobody_made_is_excused_on_that_day_alone(bore):
    other = factories.small_job(time_zone=bore.job.time_zone).bores.get()
    of_check(other, "day")
    checks = [
        {one["code"]: one for one in assess(other, timezone.now() + timedelta(days=days))["checks"]}
        for days in (0, 1)
    ]
    assert [one["day"]["holds"] for one in checks] == [False, True]
    assert "it was not signed for this: No walk of" in checks[1]["day"]["sentence"]


def watched(bore, gap_m):
    crossing = {"mark": Mark.objects.get(), "kind": "crossing", "station_m": 50.0}
    watch = CrossingWatch(bore=bore, pass_made=PILOT, seen=True, gap_m=gap_m, **crossing)
    return record_watch(watch, by=factories.PersonFactory())


def of_pilot(bore):
    crossing = {"mark": Mark.objects.get(), "kind": "crossing", "station_m": 50.0}
    return ask(bore, subject="watch", pass_made=PILOT, **crossing)


def is_stopped(bore):
    [state] = computed_states([bore], timezone.now())
    return bool(standing_stops(state.assessed))


def test_a_stop_that_comes_between_showing_and_signing_is_shown_first(bore):
    asked = of_pilot(bore)
    shown = subject_now(asked, timezone.now()).facts.digest
    watched(bore, 0.1)
    with pytest.raises(VarianceError, match="has changed since this page was shown"):
        sign(asked, shown=shown)
    now = subject_now(asked, timezone.now())
    assert "The gap measured in the test hole is less than required." in bound_words(
        "watch", now.facts, PILOT, "metric"
    )
    sign(asked, shown=now.facts.digest)
    assert not is_stopped(bore)
    watched(bore, 0.2)
    assert is_stopped(bore)


def test_a_watch_excused_where_no_crossing_lay_is_not_excused_once_one_lies_there(bore):
    asked = of_pilot(bore)
    mark = Mark.objects.get()
    TestHole.objects.all().delete()
    Mark.objects.update(geometry=factories.line((50, 300), (50, 400)))
    signature = sign(asked)
    assert signature.faults is None
    Mark.objects.update(geometry=mark.geometry)
    [state] = computed_states([bore], timezone.now())
    assert [one.excuse for one in watch_table(state.assessed, None).crossings[0].passes] == [None] * 3


def crosses_unexposed(bore):
    """A crossing that nothing exposes and whose depth nobody knows, excused."""
    TestHole.objects.all().delete()
    SurfaceFeature.objects.all().delete()
    return of_crossing(bore)


@pytest.mark.parametrize(
    "changed",
    [{"facility_type": "electric"}, {"is_intact": False}, {"geometry": factories.line((50, -14), (50, 15))}],
)
def test_a_line_of_unknown_depth_is_excused_until_its_mark_is_changed(bore, changed):
    crosses_unexposed(bore)
    assert "crossings" not in holding(bore)
    before = {name: getattr(bore.job.marks.get(), name) for name in changed}
    Mark.objects.update(**changed)
    assert "it was not signed for this: The mark" in holding(bore)["crossings"]
    Mark.objects.update(**before)
    assert "crossings" not in holding(bore)


def test_a_mark_that_is_stale_again_is_not_the_one_that_was_excused(bore):
    now = timezone.now()
    Mark.objects.update(re_marked_at=now - timedelta(hours=2))
    TestHole.objects.update(measured_at=now - timedelta(days=1))
    assert of_crossing(bore).verdict == "stale"
    assert "crossings" not in holding(bore)
    Mark.objects.update(is_intact=False, re_marked_at=now)
    assert "Stale" in holding(bore)["crossings"]


def test_less_required_excuses_no_lesser_worst_case(bore):
    bore.job.requirements.update(crossing_m=2.0)
    of_crossing(bore)
    assert holding(bore) == {}
    bore.job.requirements.update(crossing_m=0.305)
    TestHole.objects.update(depth_to_top_m=2.2)
    assert "the gap in the worst case was" in holding(bore)["crossings"]


def test_what_lies_beside_the_bore_is_excused_no_more_once_the_bore_is_brought_to_it(bore):
    factories.TestHoleFactory(job=bore.job, mark=None, position=factories.point(70, 14))
    of_check(bore, "surface")
    assert holding(bore) == {}
    bore.alignment = factories.line((0, 0), (70, 13.9), (100, 0))
    bore.save()
    assert "The plan of the bore as it is recorded" in holding(bore)["surface"]


def test_a_stray_line_measured_again_is_another_than_was_excused(bore):
    stray = factories.TestHoleFactory(job=bore.job, mark=None, position=factories.point(70, 3))
    of_check(bore, "surface")
    assert holding(bore) == {}
    stray.depth_to_top_m = 2.2
    stray.save()
    assert set(holding(bore)) == {"surface"}


def test_a_line_that_is_moved_along_the_bore_has_no_hole_to_watch_it_there_either(bore):
    crosses_unexposed(bore)
    of_check(bore, "watch_holes")
    assert "watch_holes" not in holding(bore)
    Mark.objects.update(geometry=factories.line((90, -15), (90, 15)))
    assert "watch_holes" in holding(bore)


def test_another_account_with_the_same_address_is_who_asked(bore):
    pedestal(bore)
    asks, signs = (factories.PersonFactory(email=one) for one in ("ann@oak.example", "Ann@Oak.Example "))
    asked = Variance(bore=bore, reason="Two people look.", subject="check", check_code="surface")
    request_variance(asked, by=asks)
    signature = VarianceSignature(variance=asked, valid_until=timezone.now() + timedelta(days=2))
    with pytest.raises(VarianceError, match="never signs it"):
        sign_variance(signature, by=signs)
    assert sign_variance(signature, by=factories.PersonFactory(email="")).pk


def test_a_variance_begins_within_ninety_days(bore):
    pedestal(bore)
    asked, late = ask(bore, subject="check", check_code="surface"), timezone.now() + timedelta(days=91)
    signature = VarianceSignature(variance=asked, valid_from=late, valid_until=late + timedelta(days=1))
    with pytest.raises(VarianceError, match="90 days ahead at most"):
        sign_variance(signature, by=factories.PersonFactory())
