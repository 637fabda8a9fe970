"""A crossing that a release named is asked for though the records know nothing of it any more."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.closing_faults import close_out_faults
from conflicts.desk.close_out import close_out
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.variance_subject import subject_now
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import ReleaseHeldError, VarianceError
from conflicts.models import (
    CameraInspection,
    CloseOut,
    CrossingWatch,
    Release,
    ReleaseWithdrawal,
    Variance,
    VarianceSignature,
)
from conflicts.release import sign_release
from locates.desk.retire import retire
from locates.models import Mark, SurfaceFeature, TestHole
from tests import factories
from tests.conflicts.site.test_lost_stops import move_away, release, see, stops_of, survey_at, table_of
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import form_of, sent_as_shown
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

PASSES = ("pilot", "reaming", "pullback")


@pytest.fixture
def bore(person):
    """A bore that was released over one gas line at 50 m; 0.305 m is required."""
    bore = bore_of_today()
    release(bore, person)
    return bore


@pytest.fixture
def person():
    return factories.PersonFactory()


def missing(bore):
    [state] = computed_states([bore], timezone.now())
    return close_out_faults(table_of(bore), state.assessed)


def ask(bore, subject="gone", **values):
    what = {"mark": Mark.with_retired.get(), "kind": "crossing", "station_m": 50.0, **values}
    asked = Variance(bore=bore, subject=subject, reason="The bore was routed around it.", **what)
    return request_variance(asked, by=factories.PersonFactory())


def sign(asked, **shown):
    signature = VarianceSignature(variance=asked, valid_until=timezone.now() + timedelta(days=2))
    return sign_variance(signature, by=factories.PersonFactory(), **shown)


def close(bore, person):
    return close_out(CloseOut(bore=bore), by=person)


def retire_line(bore, person):
    SurfaceFeature.objects.all().delete()
    TestHole.objects.all().delete()
    retire(Mark.objects.get(), by=person)


@pytest.mark.parametrize("goes", ["moved", "retired"])
def test_a_released_line_that_went_unwatched_holds_the_close_out(bore, person, goes):
    ref = Mark.objects.get().ref
    move_away(bore) if goes == "moved" else retire_line(bore, person)
    with pytest.raises(ReleaseHeldError) as held:
        close(bore, person)
    for pass_made in PASSES:
        assert f"No watch of the {pass_made} at: {ref} at station 1+64.0, which a release named" in str(
            held.value
        )


def test_one_that_was_watched_before_it_went_closes_and_stands_in_the_grounds(bore, person):
    watched = [see(bore, person, pass_made) for pass_made in PASSES]
    retire_line(bore, person)
    assert table_of(bore).lost == ()
    [row] = close(bore, person).grounds["crossings"]
    assert (row["is_gone"], row["mark_id"], row["required_m"]) == (True, str(watched[0].mark_id), 0.305)
    assert [one["watches"][0]["watch"] for one in row["passes"]] == [str(one.pk) for one in watched]


def test_one_that_is_only_surveyed_a_little_elsewhere_is_the_present_one(bore, person):
    survey_at(bore, 50.5)
    table = table_of(bore)
    assert (len(table.crossings), table.gone) == (1, ())


def test_it_goes_by_every_release_of_the_bore_not_by_the_last_alone(bore, person):
    ref = Mark.objects.get().ref
    survey_at(bore, 60)
    release(bore, person)
    release(bore, person)
    table = table_of(bore)
    assert [(row.lies.mark_ref, round(row.lies.station_m)) for row in table.rows] == [(ref, 60), (ref, 50)]


def test_its_watch_is_entered_on_the_page_of_the_table_and_counts(client, bore, person):
    retire_line(bore, person)
    client.force_login(person_in_role("Foreman"))
    text = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    address = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    assert f'href="{address}"' in text
    assert "which was released and is not there any more" in text
    sent = sent_as_shown(client, address, {"seen": "yes", "gap_m": "2 ft"}, follow=True)
    assert "Signed: " in sent.content.decode()
    watch = CrossingWatch.objects.get()
    assert (watch.mark, watch.required_m, watch.hole_bottom_m) == (Mark.with_retired.get(), 0.305, None)
    assert table_of(bore).gone[0].first_open.pass_made == PASSES[1]
    sent_as_shown(
        client, reverse("conflicts:watch", args=[bore.pk, 0, "reaming"]), {"seen": "yes", "gap_m": "6 in"}
    )
    assert [(one[0], one[2]) for one in stops_of(bore)] == [(watch.mark.ref, True)]


def test_a_sewer_that_went_wants_its_camera_all_the_same(client, person):
    bore = bore_of_today()
    Mark.objects.update(facility_type="sewer_drain")
    TestHole.objects.update(mark=Mark.objects.get())
    SurfaceFeature.objects.all().delete()
    release(bore, person)
    for pass_made in PASSES:
        see(bore, person, pass_made)
    retire_line(bore, person)
    ref = Mark.with_retired.get().ref
    with pytest.raises(ReleaseHeldError, match=f"No camera inspection after the bore of the sewer: {ref}"):
        close(bore, person)
    client.force_login(person_in_role("Foreman"))
    sent = {"mark": Mark.with_retired.get().pk, "stage": "after", "inspected_by": "Lowmoor Pipe",
            "inspected_at": "2026-01-02 10:00", "result": "no_damage"}  # fmt: skip
    client.post(reverse("conflicts:camera", args=[bore.pk]), sent)
    looked = CameraInspection.objects.get()
    assert looked.mark.ref == ref
    CameraInspection.objects.create(
        bore=bore, mark=looked.mark, stage="after", inspected_at=timezone.now(), result="no_damage",
        inspected_by="Lowmoor Pipe", recorded_by=person, recorded_by_name="R. Pell",
    )  # fmt: skip
    assert close(bore, person).pk


def test_a_variance_for_it_as_a_whole_is_bound_to_it_as_it_was_released(bore, person):
    move_away(bore)
    asked = ask(bore)
    now = subject_now(asked, timezone.now())
    assert "The crossing is not there any more. It was released" in now.words
    assert (now.facts.verdict, now.facts.required_m) == ("clear", 0.305)
    assert now.facts.worst_case_m > 0.305
    signature = sign(asked, shown=now.facts.digest)
    [row] = close(bore, person).grounds["crossings"]
    assert row["variance"] == str(signature.variance_id)


def test_that_variance_excuses_no_stop_that_is_set_off_later_and_no_crossing_that_is_back(bore, person):
    shape = Mark.objects.get().geometry
    holes = list(TestHole.objects.all())
    move_away(bore)
    sign(ask(bore))
    assert missing(bore) == []
    see(bore, person, gap_m=0.1)
    assert len(stops_of(bore)) == 1
    Mark.objects.update(geometry=shape)
    TestHole.objects.bulk_create(holes)
    assert [row.first_open.pass_made for row in table_of(bore).rows] == ["pilot"]


def test_one_pass_of_it_is_excused_alone(bore, person):
    move_away(bore)
    sign(ask(bore, "watch", pass_made=PASSES[0]))
    assert [one.excuse is not None for one in table_of(bore).gone[0].passes] == [True, False, False]


def test_a_variance_signed_for_it_while_it_lay_there_does_not_go_with_it(bore, person):
    for pass_made in PASSES:
        sign(ask(bore, "watch", pass_made=pass_made))
    assert missing(bore) == []
    move_away(bore)
    assert "it was not signed for this: The crossing of" in " ".join(missing(bore))
    with pytest.raises(ReleaseHeldError):
        close(bore, person)


def test_a_variance_for_what_no_release_named_binds_to_nothing(person):
    bore = bore_of_today()
    move_away(bore)
    asked = ask(bore)
    assert subject_now(asked, timezone.now()).facts.faults is None
    sign(asked)
    assert table_of(bore).gone == ()


def test_it_is_asked_for_on_the_form_with_all_its_passes(client, bore):
    move_away(bore)
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    text = client.get(address).content.decode()
    assert "A crossing that was released or drilled past, and is not there any more" in text
    sent = sent_as_shown(client, address, {"what": "gone:0", "reason": "Routed around it."}, follow=True)
    asked = Variance.objects.get()
    assert (asked.subject, asked.station_m, asked.pass_made) == ("gone", pytest.approx(50.0, abs=1e-3), "")
    assert "All passes of it, and its camera where it is a sewer." in sent.content.decode()


def test_a_choice_of_a_page_that_listed_other_crossings_is_asked_again(client, bore, person):
    client.force_login(person_in_role("Foreman"))
    address = reverse("conflicts:variance-ask", args=[bore.pk])
    shown = form_of(client, address)
    move_away(bore)
    text = client.post(address, {**shown, "what": "gone:0", "reason": "So."}).content.decode()
    assert "choose again which one you mean" in text
    assert not Variance.objects.exists()


def test_the_page_closes_out_only_once_it_is_settled(client, bore, person):
    foreman = person_in_role("Foreman")
    client.force_login(foreman)
    move_away(bore)
    address = reverse("conflicts:close-out", args=[bore.pk])
    text = client.post(address, {"password": PASSWORD}, follow=True).content.decode()
    assert "which a release named and which is not there any more" in text
    assert not CloseOut.objects.exists()
    sign(ask(bore))
    client.post(address, {"password": PASSWORD})
    assert CloseOut.objects.get().bore == bore


def test_a_release_taken_back_before_its_shift_names_nothing_to_watch(person):
    bore = bore_of_today()
    now = timezone.now()
    signed = sign_release(
        Release(bore=bore, crew="Crew 2", rig="Rig 7", shift_from=now + timedelta(minutes=30),
                shift_until=now + timedelta(hours=2)), by=person)  # fmt: skip
    withdraw_release(ReleaseWithdrawal(release=signed, reason="Rain."), by=person)
    move_away(bore)
    assert table_of(bore).rows == ()


def test_nobody_signs_a_variance_for_one_that_changed_since_it_was_shown(bore, person):
    move_away(bore)
    asked = ask(bore)
    shown = subject_now(asked, timezone.now()).facts.digest
    see(bore, person, gap_m=0.1)
    with pytest.raises(VarianceError, match="has changed since this page was shown"):
        sign(asked, shown=shown)
