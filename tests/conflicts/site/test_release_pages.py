"""Releases and variances through real requests: who may, what is refused, and what the pages say."""

import re
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import Release, ReleaseWithdrawal, Variance, VarianceEnd, VarianceSignature
from locates.local_time import write_local
from locates.models import LedgerEntry, Mark, Photo, TestHole
from tests import factories
from tests.factories import PASSWORD, person_in_role
from tests.page_forms import sent_as_shown
from tests.photo_files import photo_upload

pytestmark = pytest.mark.django_db

ZONE = "America/New_York"
SHOWN = re.compile('name="(shown|shown_evidence)" value="([0-9a-f]{64})"')


@pytest.fixture
def bore():
    """A bore of today, with nothing missing."""
    now = timezone.now()
    job = factories.small_job()
    job.tickets.update(
        called_at=now - timedelta(days=9),
        legal_start_at=now - timedelta(days=5),
        expires_at=now + timedelta(days=20),
    )
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    bore = job.bores.get()
    factories.DailyWalkFactory(bore=bore, walked_at=now)
    store_assessment(bore.pk)
    return bore


def page(client, name, key):
    return client.get(reverse(f"conflicts:{name}", args=[key])).content.decode()


def shift(**values):
    now = timezone.now()
    filled = {
        "shift_from": write_local(now, ZONE),
        "shift_until": write_local(now + timedelta(hours=9), ZONE),
        "crew": "Crew 2",
        "rig": "Rig 7",
        "password": PASSWORD,
        "new_id": "6f8d5f0e-8f5b-4d3b-9d0a-1f3f5f7a9b10",
    }
    return {**filled, **values}


def sign(client, bore, **values):
    address = reverse("conflicts:release-sign", args=[bore.pk])
    return sent_as_shown(client, address, shift(**values), follow=True)


def test_a_foreman_asks_signs_and_reads_yes(client, bore):
    client.force_login(person_in_role("Foreman"))
    assert "Do not drill: not released." in page(client, "bore", bore.pk)
    answer = sign(client, bore)
    release = Release.objects.get()
    assert answer.redirect_chain[-1][0] == reverse("conflicts:release", args=[release.pk])
    assert "In force, until" in answer.content.decode()
    assert "Yes, Crew 2 with Rig 7, until" in page(client, "bore", bore.pk)
    told = client.get(reverse("conflicts:release-standing", args=[release.pk])).json()
    assert (told["state"], told["in_force"], told["reasons"]) == ("in_force", True, [])
    assert sign(client, bore).status_code == 200
    assert Release.objects.count() == LedgerEntry.objects.filter(kind="release").count() == 1


def test_what_changed_since_the_sheet_was_shown_is_not_signed_unseen(client, bore):
    client.force_login(person_in_role("Foreman"))
    sheet = page(client, "release-sign", bore.pk)
    shown = sheet.split('name="shown" value="')[1].split('"')[0]
    hole = TestHole.objects.get()
    hole.depth_to_top_m -= 0.01
    hole.save()
    store_assessment(bore.pk)
    answer = sign(client, bore, shown=shown, crew="Crew 9")
    text = answer.content.decode()
    assert "The records have changed since they were shown" in text
    assert 'value="Crew 9"' in text
    assert Release.objects.count() == 0
    again = text.split('name="shown" value="')[1].split('"')[0]
    assert again != shown
    sign(client, bore, shown=again)
    assert Release.objects.get().crew == "Crew 2"


def test_a_lapsed_release_reads_no_on_every_page(client, bore):
    client.force_login(person_in_role("Foreman"))
    sign(client, bore)
    release = Release.objects.get()
    hole = TestHole.objects.get()
    hole.is_open = False
    hole.save()
    store_assessment(bore.pk)
    told = client.get(reverse("conflicts:release-standing", args=[release.pk])).json()
    assert (told["state"], told["in_force"]) == ("lapsed", False)
    assert "Do not drill on it: lapsed." in page(client, "release", release.pk)
    assert "Do not drill. 1 of 8 checks holds." in page(client, "bore", bore.pk)
    hole.is_open = True
    hole.save()
    store_assessment(bore.pk)
    text = page(client, "bore", bore.pk)
    assert "Do not drill: not released." in text
    assert f"Test hole {hole.ref} was changed" in text


def test_a_wrong_password_signs_nothing_and_loses_nothing(client, bore):
    client.force_login(person_in_role("Foreman"))
    text = sign(client, bore, **{"password": "not it"}, crew="Crew of the valley").content.decode()
    assert "This is not the password of" in text
    assert 'value="Crew of the valley"' in text
    assert not Release.objects.exists()


def test_while_a_check_holds_there_is_no_form_and_nothing_is_signed(client, bore):
    TestHole.objects.update(is_open=False)
    client.force_login(person_in_role("Foreman"))
    assert "Nothing can be signed while a check holds." in page(client, "release-sign", bore.pk)
    assert "Nothing can be signed while a check holds." in sign(client, bore).content.decode()
    assert not Release.objects.exists()


@pytest.mark.parametrize("role", ["Coordinator", "Safety manager"])
def test_who_does_not_drill_does_not_release(client, bore, role):
    client.force_login(person_in_role(role))
    assert client.post(reverse("conflicts:release-sign", args=[bore.pk]), shift()).status_code == 403
    assert not Release.objects.exists()


def test_a_safety_manager_takes_a_release_back(client, bore):
    client.force_login(person_in_role("Foreman"))
    sign(client, bore)
    release = Release.objects.get()
    client.force_login(person_in_role("Safety manager"))
    where = reverse("conflicts:release", args=[release.pk])
    client.post(where, {"reason": "The rig leaks.", "password": PASSWORD})
    assert ReleaseWithdrawal.objects.get().reason == "The rig leaks."
    assert "Do not drill on it: withdrawn." in page(client, "release", release.pk)
    assert LedgerEntry.objects.filter(kind="release_withdrawal").count() == 1


def test_a_stop_that_stands_is_never_beside_a_yes(client, bore):
    client.force_login(person_in_role("Foreman"))
    sign(client, bore)
    assert "Yes, Crew 2 with Rig 7" in page(client, "bore", bore.pk)
    watch = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    sent_as_shown(client, watch, {"seen": "yes", "gap_m": "6 in"})
    text = page(client, "bore", bore.pk)
    assert "Yes, Crew 2" not in text
    assert "Do not drill: a stop rule stands, though the release is in force." in text
    sent_as_shown(client, watch, {"seen": "yes", "gap_m": "2 ft"})
    assert "Yes, Crew 2 with Rig 7" in page(client, "bore", bore.pk)


def test_who_watches_the_crossings_is_told_at_once_that_no_release_is_in_force(client, bore):
    client.force_login(person_in_role("Foreman"))
    above = [page(client, "watches", bore.pk).split("When to stop")[0]]
    sign(client, bore)
    above.append(page(client, "watches", bore.pk).split("When to stop")[0])
    Mark.objects.update(is_intact=False)
    store_assessment(bore.pk)
    above.append(page(client, "watches", bore.pk).split("When to stop")[0])
    assert ["No release is in force for this bore." in one for one in above] == [True, False, True]
    assert "Do not rotate, push or pull until the bore is released again." in above[2]
    assert "The last release is lapsed" in above[2]


def ask(client, bore, what, **values):
    filled = {"what": what, "reason": "Watched all day by two people.", "evidence": "", **values}
    return sent_as_shown(client, reverse("conflicts:variance-ask", args=[bore.pk]), filled, follow=True)


def sign_it(client, variance, **values):
    until = write_local(timezone.now() + timedelta(days=2), ZONE)
    filled = {
        "do": "sign",
        "sign-valid_until": until,
        "sign-password": PASSWORD,
        "sign-remarks": "No photo: it rains.",
        **values,
    }
    filled = {**dict(SHOWN.findall(page(client, "variance", variance.pk))), **filled}
    return client.post(reverse("conflicts:variance", args=[variance.pk]), filled, follow=True)


def test_a_variance_excuses_only_once_somebody_else_has_signed_it(client, bore):
    TestHole.objects.update(is_open=None)
    store_assessment(bore.pk)
    client.force_login(person_in_role("Foreman"))
    text = ask(client, bore, "check:watch_holes").content.decode()
    assert "not signed: it excuses nothing" in text
    assert "Not known to be open: " in text
    assert "1 of 8 checks holds" in page(client, "bore", bore.pk)
    variance = Variance.objects.get()
    assert client.post(reverse("conflicts:variance", args=[variance.pk]), {"do": "sign"}).status_code == 403
    client.force_login(person_in_role("Safety manager"))
    assert "in force until" in sign_it(client, variance).content.decode()
    text = page(client, "bore", bore.pk)
    assert "checks hold" not in text
    assert "Under a variance signed by" in text
    client.post(
        reverse("conflicts:variance", args=[variance.pk]),
        {"do": "end", "end-reason": "No longer needed.", "end-password": PASSWORD},
    )
    assert VarianceEnd.objects.get().reason == "No longer needed."
    assert "1 of 8 checks holds" in page(client, "bore", bore.pk)
    kinds = set(LedgerEntry.objects.values_list("kind", flat=True))
    assert {"variance_request", "variance", "variance_end"} <= kinds


def test_a_crossing_that_is_short_is_excused_and_one_that_overlaps_never(client, bore):
    bore.job.requirements.update(crossing_m=9.0, alongside_m=9.0)
    store_assessment(bore.pk)
    client.force_login(person_in_role("Foreman"))
    assert "1 of 8 checks holds" in page(client, "bore", bore.pk)
    ask(client, bore, "crossing:0")
    client.force_login(person_in_role("Safety manager"))
    text = page(client, "variance", Variance.objects.get().pk)
    assert "As it is now" in text
    assert "Short." in text
    assert "29 ft 6 3/8 in is required" in text
    sign_it(client, Variance.objects.get())
    document = client.get(reverse("conflicts:assessment", args=[bore.pk])).json()
    assert [check["code"] for check in document["checks"] if check["holds"]] == []
    assert document["crossings"][0]["verdict"] == "short"
    TestHole.objects.update(depth_to_top_m=1.9)
    store_assessment(bore.pk)
    document = client.get(reverse("conflicts:assessment", args=[bore.pk])).json()
    assert document["crossings"][0]["verdict"] == "overlap"
    assert [check["code"] for check in document["checks"] if check["holds"]] == ["crossings"]


def test_a_variance_of_a_crossing_that_is_gone_is_said_to_excuse_none(client, bore):
    client.force_login(person_in_role("Foreman"))
    ask(client, bore, "watch:0:pilot")
    factories.stand_aside(Mark.objects.get())
    assert "No crossing of this line lies there now" in page(client, "variance", Variance.objects.get().pk)


def test_who_asks_never_signs_even_as_a_safety_manager(client, bore):
    client.force_login(person_in_role("Safety manager"))
    ask(client, bore, "check:surface")
    variance = Variance.objects.get()
    assert "another safety manager" in page(client, "variance", variance.pk)
    assert "Who asks for a variance never signs it" in sign_it(client, variance).content.decode()
    assert not VarianceSignature.objects.exists()


@pytest.mark.parametrize("code", ["tickets", "responses", "duties", "crossings"])
def test_what_the_law_demands_is_not_among_what_can_be_asked_for(client, bore, code):
    client.force_login(person_in_role("Foreman"))
    assert f'value="check:{code}"' not in page(client, "variance-ask", bore.pk)
    assert "Select a valid choice" in ask(client, bore, f"check:{code}").content.decode()
    assert not Variance.objects.exists()


def test_a_variance_past_its_longest_time_is_refused_and_what_was_typed_stays(client, bore):
    client.force_login(person_in_role("Foreman"))
    ask(client, bore, "check:surface")
    client.force_login(person_in_role("Safety manager"))
    late = write_local(timezone.now() + timedelta(days=91), ZONE)
    text = sign_it(client, Variance.objects.get(), **{"sign-valid_until": late, "sign-remarks": "Seen it."})
    assert "accepted are 90 days at most" in text.content.decode()
    assert "Seen it." in text.content.decode()
    assert not VarianceSignature.objects.exists()


def test_the_first_page_tells_a_safety_manager_what_waits_for_a_signature(client, bore):
    client.force_login(person_in_role("Foreman"))
    ask(client, bore, "check:surface")
    told = "Variances that wait for a signature"
    assert told not in client.get("/").content.decode()
    client.force_login(person_in_role("Safety manager"))
    assert told in client.get("/").content.decode()
    client.force_login(person_in_role("Safety manager", factories.OrganisationFactory()))
    assert told not in client.get("/").content.decode()
    client.force_login(person_in_role("Safety manager"))
    sign_it(client, Variance.objects.get())
    assert told not in client.get("/").content.decode()


def test_a_photo_that_shows_why_is_kept_with_the_request_and_shown_to_who_signs(client, bore):
    client.force_login(person_in_role("Foreman"))
    ask(client, bore, "check:surface", photos=[photo_upload()])
    photo = Photo.objects.of(Variance.objects.get()).get()
    assert LedgerEntry.objects.filter(kind="photo", record_id=photo.pk).exists()
    client.force_login(person_in_role("Safety manager"))
    shown = page(client, "variance", Variance.objects.get().pk)
    assert reverse("locates:photo-thumbnail", args=[photo.pk]) in shown


def test_a_file_that_is_no_photo_stores_nothing_and_what_was_typed_stays(client, bore):
    client.force_login(person_in_role("Foreman"))
    broken = SimpleUploadedFile("hole.jpg", b"not a picture", content_type="image/jpeg")
    text = ask(client, bore, "check:surface", photos=[broken]).content.decode()
    assert "Watched all day by two people." in text
    assert not Variance.objects.exists()
