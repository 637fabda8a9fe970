"""The crossing watch through real requests: what is entered, what stops the crew, and the close-out."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.desk.variance_subject import subject_now
from conflicts.models import Bore, CameraInspection, CloseOut, CrossingWatch, Variance, VarianceSignature
from locates.local_time import write_local
from locates.models import Job, LedgerEntry, Mark, Photo, TestHole
from tests import factories
from tests.conflicts.audit.signed_stories import stood
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import sent_as_shown
from tests.photo_files import photo_upload

pytestmark = pytest.mark.django_db

PASSES = ("pilot", "reaming", "pullback")


@pytest.fixture
def unreleased():
    """A bore of today that crosses one gas line 0.9 m below it; 0.305 m is required."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(legal_start_at=now - timedelta(days=5), expires_at=now + timedelta(days=20))
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    store_assessment(job.bores.get().pk)
    return job.bores.get()


@pytest.fixture
def bore(unreleased):
    """The same under a release."""
    stood(unreleased)
    return unreleased


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def page(client, name, bore):
    return client.get(reverse(f"conflicts:{name}", args=[bore.pk])).content.decode()


def lacks(client, bore):
    """What the close-out lacks, in the sentences of a refused signature."""
    return " ".join(client.get(reverse("conflicts:close-out", args=[bore.pk])).context["missing"])


def enter(client, bore, pass_made, gap="2 ft", **values):
    filled = {"seen": "yes", "gap_m": gap, **values}
    address = reverse("conflicts:watch", args=[bore.pk, 0, pass_made])
    return sent_as_shown(client, address, filled, follow=True)


def test_a_watch_is_kept_with_what_was_required_then_and_stands_in_the_ledger(foreman, bore):
    enter(foreman, bore, "pilot", "14 in", new_id="6f8d5f0e-8f5b-4d3b-9d0a-1f3f5f7a9b11")
    enter(foreman, bore, "pilot", "14 in", new_id="6f8d5f0e-8f5b-4d3b-9d0a-1f3f5f7a9b11")
    watch = CrossingWatch.objects.get()
    assert watch.gap_m == pytest.approx(14 * 0.0254)
    assert (watch.mark, watch.kind, watch.required_m) == (Mark.objects.get(), "crossing", 0.305)
    assert watch.station_m == pytest.approx(50.0, abs=1e-3)
    assert LedgerEntry.objects.get(kind="watch").record_id == watch.pk


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"gap_m": "14", "gap_unit": ""}, "The unit is missing"),
        ({"gap_m": ""}, "Measure the gap"),
        ({"seen": "no"}, "What was not seen has no gap"),
        ({"seen": ""}, "Answer yes or no."),
    ],
)
def test_what_cannot_be_read_is_refused_and_what_was_typed_stays(foreman, bore, values, words):
    text = enter(foreman, bore, "pilot", remarks="By the red flag.", **values).content.decode()
    assert words in text
    assert "By the red flag." in text
    assert not CrossingWatch.objects.exists()


@pytest.mark.parametrize(
    ("gap", "unit", "gap_m"),
    [
        ("14", "in", 0.3556),
        ("13 1/2", "in", 0.3429),
        ("1.2", "ft", 0.36576),
        ("36", "cm", 0.36),
        ("36 cm", "in", 0.36),
    ],
)
def test_a_bare_number_has_the_unit_beside_it_and_one_that_was_written_counts(
    foreman, bore, gap, unit, gap_m
):
    enter(foreman, bore, "pilot", gap, gap_unit=unit)
    assert CrossingWatch.objects.get(bore=bore).gap_m == pytest.approx(gap_m)


def test_a_unit_that_is_not_offered_gives_a_number_none(foreman, bore):
    enter(foreman, bore, "pilot", "14", gap_unit="mile")
    assert not CrossingWatch.objects.filter(bore=bore).exists()


@pytest.mark.parametrize(("units", "first"), [("feet", "in"), ("metric", "cm")])
def test_the_small_unit_of_the_job_is_the_first_beside_the_gap(foreman, bore, units, first):
    Job.objects.filter(pk=bore.job_id).update(show_units=units)
    store_assessment(bore.pk)
    shown = foreman.get(reverse("conflicts:watch", args=[bore.pk, 0, "pilot"]))
    assert shown.context["form"].fields["gap_unit"].choices[0][0] == first


def test_a_gap_below_required_stops_the_crew_in_full_until_it_is_watched_again(foreman, bore):
    assert "Stop: " in enter(foreman, bore, "pilot", "6 in").content.decode()
    for name in ("watches", "bore"):
        assert "Do not enlarge the hole past this line." in page(foreman, name, bore).split("When to stop")[0]
    enter(foreman, bore, "pilot", "2 ft")
    assert 'class="stop-rule"' not in page(foreman, "bore", bore)


def test_a_later_watch_that_saw_nothing_settles_no_stop(foreman, bore):
    enter(foreman, bore, "pilot", "6 in")
    enter(foreman, bore, "pilot", "", seen="no")
    for name in ("watches", "bore"):
        assert "Do not enlarge the hole past this line." in page(foreman, name, bore).split("When to stop")[0]
    text = page(foreman, "close-out", bore)
    assert "Not seen to pass." in text
    assert "The pilot was not seen to pass: " in lacks(foreman, bore)
    assert "The gap measured in the test hole is less than required." in text


def test_a_head_below_the_bottom_of_the_hole_asks_to_dig_it_deeper_first(foreman, bore):
    TestHole.objects.update(dug_depth_m=2.2)
    store_assessment(bore.pk)
    enter(foreman, bore, "pilot", "2 ft", head_depth_m="2.1 m")
    assert 'class="stop-rule"' not in page(foreman, "bore", bore)
    enter(foreman, bore, "pilot", "2 ft", head_depth_m="2.3 m")
    assert "Dig the hole deeper first" in page(foreman, "bore", bore)


@pytest.mark.parametrize(("other_m", "bottom_m"), [(3.0, 1.4), (1.0, 1.0), (None, None)])
def test_the_shallowest_of_two_open_holes_decides_and_an_unknown_one_makes_it_unknown(
    foreman, bore, other_m, bottom_m
):
    TestHole.objects.update(dug_depth_m=1.4)
    hole = TestHole.objects.get()
    factories.TestHoleFactory(
        job=bore.job,
        mark=hole.mark,
        ref="H-2",
        position=hole.position,
        depth_to_top_m=hole.depth_to_top_m,
        dug_depth_m=other_m,
        is_open=True,
    )
    store_assessment(bore.pk)
    enter(foreman, bore, "pilot", "2 ft", head_depth_m="2.0 m")
    assert CrossingWatch.objects.get().hole_bottom_m == bottom_m
    assert ("Dig the hole deeper first" in page(foreman, "bore", bore)) == (bottom_m is not None)


def test_a_depth_read_over_a_hole_of_unknown_depth_is_said_to_prove_nothing(foreman, bore):
    TestHole.objects.update(dug_depth_m=None)
    store_assessment(bore.pk)
    form = foreman.get(reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])).content.decode()
    assert "a depth that is read settles nothing until somebody has" in form
    text = enter(foreman, bore, "pilot", "2 ft", head_depth_m="2.1 m").content.decode()
    assert "Nobody recorded how deep the hole is" in text
    assert f"Watch the pilot pass {Mark.objects.get().ref}" in text
    assert "hole of unknown depth" in text


def test_what_is_next_and_what_is_missing_stands_on_the_table(foreman, bore):
    ref = Mark.objects.get().ref
    assert f"Watch the pilot pass {ref}" in page(foreman, "watches", bore)
    for pass_made in PASSES[:2]:
        enter(foreman, bore, pass_made)
    assert f"Watch the pullback pass {ref}" in page(foreman, "watches", bore)
    enter(foreman, bore, "pullback")
    assert "Every pass was watched at every crossing." in page(foreman, "watches", bore)


def test_without_reaming_nobody_watches_a_reamer(foreman, unreleased):
    Bore.objects.update(pilot_diameter_m=unreleased.final_diameter_m)
    stood(unreleased)
    for pass_made in ("pilot", "pullback"):
        enter(foreman, unreleased, pass_made)
    assert "Every pass was watched at every crossing." in page(foreman, "watches", unreleased)


def test_the_page_of_a_crossing_shows_its_own_watches_and_leads_to_the_next(foreman, bore):
    line = bore.job.operators.get()
    factories.MarkFactory(job=bore.job, operator=line, geometry=factories.line((80, -15), (80, 15)))
    store_assessment(bore.pk)
    enter(foreman, bore, "pilot", "14 in", remarks="By the red flag.", photos=[photo_upload(name="gap.jpg")])
    crossing = [reverse("conflicts:crossing", args=[bore.pk, place]) for place in (0, 1)]
    watched, other = (foreman.get(address).content.decode() for address in crossing)
    assert "By the red flag." in watched
    assert 'alt="Photo gap.jpg"' in watched
    assert reverse("conflicts:watch", args=[bore.pk, 0, "reaming"]) in watched
    assert reverse("conflicts:watches", args=[bore.pk]) + "#watch-0" in watched
    assert "By the red flag." not in other
    assert reverse("conflicts:watch", args=[bore.pk, 1, "pilot"]) in other
    assert 'id="watch-0"' in page(foreman, "watches", bore)


def close(client, bore, **values):
    return client.post(
        reverse("conflicts:close-out", args=[bore.pk]), {"password": PASSWORD, **values}, follow=True
    )


def test_a_bore_is_closed_out_only_once_every_pass_was_seen(foreman, bore):
    enter(foreman, bore, "pilot")
    text = close(foreman, bore).content.decode()
    assert "No watch of the reaming at: " in text
    assert "No watch of the pullback at: " in text
    assert not CloseOut.objects.exists()
    for pass_made in PASSES[1:]:
        enter(foreman, bore, pass_made, "", seen="no")
    text = close(foreman, bore).content.decode()
    assert "The reaming was not seen to pass: " in text
    assert "The pullback was not seen to pass: " in text
    for pass_made in PASSES[1:]:
        enter(foreman, bore, pass_made)
    assert "Closed out" in close(foreman, bore).content.decode()
    closed = CloseOut.objects.get()
    assert [one["gap_m"] for one in closed.grounds["crossings"][0]["passes"]] == pytest.approx([0.6096] * 3)
    assert LedgerEntry.objects.filter(kind="close_out", record_id=closed.pk).exists()
    assert "Drilled and closed out" in page(foreman, "bore", bore)
    close(foreman, bore)
    assert CloseOut.objects.count() == 1


def test_what_a_close_out_lacks_is_one_line_a_reason_with_the_places_of_its_crossings(foreman, bore):
    line = bore.job.operators.get()
    for east in (20, 80):
        factories.MarkFactory(job=bore.job, operator=line, geometry=factories.line((east, -15), (east, 15)))
    store_assessment(bore.pk)
    enter(foreman, bore, "pilot")
    # The first along the bore was watched in one of its passes.
    missing = foreman.get(reverse("conflicts:close-out", args=[bore.pk])).context["missing"]
    assert [(words.partition(" at: ")[0], words.count(" at station ")) for words in missing] == [
        ("No watch of the pilot", 2),
        ("No watch of the reaming", 3),
        ("No watch of the pullback", 3),
    ]
    told = close(foreman, bore).content.decode()
    # A refused signature tells them so; the page tells them by crossing.
    assert [told.count(words) for words in missing] == [1, 1, 1]


def test_a_wrong_password_closes_nothing(foreman, bore):
    for pass_made in PASSES:
        enter(foreman, bore, pass_made)
    assert "This is not the password of" in close(foreman, bore, **{"password": "no"}).content.decode()
    assert not CloseOut.objects.exists()


def ask(bore, pass_made):
    return Variance.objects.create(
        bore=bore, subject="watch", pass_made=pass_made, mark=Mark.objects.get(),
        kind="crossing", station_m=50.0, reason="Camera.",
        requested_by=factories.PersonFactory(), requested_by_name="R. Pell",
        requested_at=timezone.now(),
    )  # fmt: skip


def sign(variance, at):
    signature = VarianceSignature(
        variance=variance, signed_by=person_in_role("Safety manager"), signed_by_name="M. Ode",
        signed_at=at, valid_from=at, valid_until=at + timedelta(days=1),
    )  # fmt: skip
    signature.bind(subject_now(variance, at).facts)
    signature.save()


def test_a_variance_settles_only_a_stop_that_it_was_signed_after(foreman, bore):
    for pass_made in PASSES:
        sign(ask(bore, pass_made), timezone.now())
    assert "What is missing" not in page(foreman, "close-out", bore)
    enter(foreman, bore, "pilot", "6 in")
    assert 'class="stop-rule"' in page(foreman, "bore", bore)
    assert "less than required" in page(foreman, "close-out", bore)
    sign(ask(bore, "pilot"), timezone.now())
    assert 'class="stop-rule"' not in page(foreman, "bore", bore)
    assert "What is missing" not in page(foreman, "close-out", bore)


def test_a_variance_for_a_watch_stands_for_what_was_not_seen(foreman, bore):
    for pass_made in PASSES[:2]:
        enter(foreman, bore, pass_made)
    variance = ask(bore, "pullback")
    sign(ask(bore, "pilot"), timezone.now())
    sign(ask(bore, ""), timezone.now())
    assert "No watch of the pullback at: " in lacks(foreman, bore)
    assert "Not watched." in page(foreman, "close-out", bore)
    sign(variance, timezone.now())
    assert "What is missing" not in page(foreman, "close-out", bore)


def test_a_crossed_sewer_wants_a_camera_after_the_pullback(foreman, bore):
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(bore.pk)
    for pass_made in PASSES:
        enter(foreman, bore, pass_made)
    assert "No camera inspection after the bore of the sewer" in close(foreman, bore).content.decode()
    mark = Mark.objects.get()
    earlier = timezone.now() - timedelta(hours=2)
    shared = {"bore": bore, "mark": mark, "stage": "after", "inspected_by": "Lowmoor Pipe",
              "recorded_by": factories.PersonFactory(), "recorded_by_name": "R. Pell"}  # fmt: skip
    CameraInspection.objects.create(**shared, inspected_at=earlier, result="no_damage")
    assert "looked in before the pullback, look again" in page(foreman, "close-out", bore)
    CameraInspection.objects.create(**shared, inspected_at=timezone.now(), result="not_conclusive")
    assert "did not show without damage the sewer" in page(foreman, "close-out", bore)
    sent = {
        "mark": mark.pk, "stage": "after", "inspected_at": "2026-01-02 10:00", "inspected_by": "Lowmoor Pipe",
        "result": "no_damage",
    }  # fmt: skip
    foreman.post(reverse("conflicts:camera", args=[bore.pk]), sent)
    assert CameraInspection.objects.count() == 3
    to_come = {**sent, "inspected_at": write_local(timezone.now() + timedelta(hours=1), bore.job.time_zone)}
    text = foreman.post(reverse("conflicts:camera", args=[bore.pk]), to_come).content.decode()
    assert "Found a time that is still to come" in text
    assert CameraInspection.objects.count() == 3
    assert LedgerEntry.objects.filter(kind="camera").count() == 1
    CameraInspection.objects.create(**shared, inspected_at=timezone.now(), result="no_damage")
    assert "What is missing" not in page(foreman, "close-out", bore)


def test_a_camera_before_the_conduit_passed_another_line_is_too_early(foreman, bore):
    sewer = Mark.objects.get()
    Mark.objects.update(facility_type="sewer_drain")
    factories.MarkFactory(
        job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((80, -15), (80, 15))
    )
    store_assessment(bore.pk)
    enter(foreman, bore, "pullback")
    CameraInspection.objects.create(
        bore=bore, mark=sewer, stage="after", inspected_by="Lowmoor Pipe", inspected_at=timezone.now(),
        recorded_by=factories.PersonFactory(), recorded_by_name="R. Pell", result="no_damage",
    )  # fmt: skip
    assert "looked in before the pullback, look again" not in page(foreman, "close-out", bore)
    address = reverse("conflicts:watch", args=[bore.pk, 1, "pullback"])
    sent_as_shown(foreman, address, {"seen": "yes", "gap_m": "2 ft"})
    assert "looked in before the pullback, look again" in page(foreman, "close-out", bore)


def test_a_camera_before_an_excused_pullback_is_too_early(foreman, bore):
    Mark.objects.update(facility_type="sewer_drain")
    store_assessment(bore.pk)
    for pass_made in PASSES:
        sign(ask(bore, pass_made), timezone.now())
    looked = {"bore": bore, "mark": Mark.objects.get(), "stage": "after", "inspected_by": "Lowmoor Pipe",
              "recorded_by": factories.PersonFactory(), "recorded_by_name": "R. Pell",
              "result": "no_damage"}  # fmt: skip
    CameraInspection.objects.create(**looked, inspected_at=timezone.now() - timedelta(days=300))
    assert "looked in before the pullback, look again" in page(foreman, "close-out", bore)
    CameraInspection.objects.create(**looked, inspected_at=timezone.now())
    assert "What is missing" not in page(foreman, "close-out", bore)


def test_a_watch_follows_its_line_and_one_of_a_line_that_is_gone_is_said(foreman, bore):
    enter(foreman, bore, "pilot")
    Mark.objects.update(geometry=factories.line((52, -15), (52, 15)))
    store_assessment(bore.pk)
    text = page(foreman, "watches", bore)
    assert "Watch the reaming pass" in text
    TestHole.objects.all().delete()
    Mark.objects.update(geometry=factories.line((50, 300), (50, 400)))
    store_assessment(bore.pk)
    assert "Watches that belong to no crossing now" in page(foreman, "watches", bore)


def test_the_table_costs_as_many_queries_with_many_crossings_as_with_one(
    foreman, bore, django_assert_max_num_queries
):
    def queries():
        page(foreman, "watches", bore)
        with django_assert_max_num_queries(60) as captured:
            page(foreman, "watches", bore)
        return len(captured)

    one = queries()
    for east in range(5, 45):
        factories.MarkFactory(
            job=bore.job, operator=bore.job.operators.get(), geometry=factories.line((east, -15), (east, 15))
        )
    store_assessment(bore.pk)
    assert queries() == one


@pytest.mark.parametrize("role", ["Coordinator", "Safety manager"])
def test_who_does_not_stand_at_the_hole_signs_no_watch(client, bore, role):
    client.force_login(person_in_role(role))
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    assert client.post(address, {"seen": "yes", "gap_m": "2 ft"}).status_code == 403
    assert not CrossingWatch.objects.exists()


def test_a_photo_of_the_gap_is_signed_with_the_watch(foreman, bore):
    enter(foreman, bore, "pilot", photos=[photo_upload()])
    watch = CrossingWatch.objects.get()
    photo = Photo.objects.of(watch).get()
    assert watch.photo_sha256s == [photo.sha256]
    assert photo.sha256 in LedgerEntry.objects.get(kind="watch").content
