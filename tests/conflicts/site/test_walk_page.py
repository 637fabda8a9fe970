"""The page of a bore's walks: answered in a few taps, signed once, told by local day."""

import re
from datetime import timedelta
from hashlib import sha256
from uuid import uuid4

import pytest
from django.contrib.auth.context_processors import PermWrapper
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.walk_sheet import WALKS_A_PAGE
from conflicts.models import DailyWalk
from locates.desk.ledger import enter
from locates.desk.prove_ledger import prove_ledger
from locates.models import LedgerEntry, Photo
from tests.factories import (
    BoreFactory,
    DailyWalkFactory,
    MarkFactory,
    PersonFactory,
    PhotoFactory,
    TestHoleFactory,
    person_in_role,
    small_job,
    stand_aside,
)
from tests.photo_files import jpeg, photo_upload

pytestmark = pytest.mark.django_db

YES = {
    "marks_intact": "yes",
    "device_checked": "yes",
    "device": "receiver 7",
    "holes_open": "yes",
    "remarks": "",
}
COUNTS = re.compile(r"counts for (Mon|Tue|Wed|Thu|Fri|Sat|Sun) ")
CHECKED = re.compile(r"<input [^>]*\bchecked\b(?!\")")
QUESTIONS = ("marks_intact", "device_checked", "holes_open")


@pytest.fixture
def bore():
    return small_job().bores.get()


@pytest.fixture
def foreman(client):
    person = person_in_role("Foreman", first_name="Rue", last_name="Pell")
    client.force_login(person)
    client.person = person
    return client


def address(bore):
    return reverse("conflicts:walk", args=[bore.pk])


def sign(client, bore, new_id=None, **answers):
    return client.post(address(bore), YES | {"new_id": str(new_id or uuid4())} | answers)


def text_of(response):
    return " ".join(re.sub(r"<[^>]*>", " ", response.content.decode()).split())


def test_a_walk_is_signed_at_this_moment_by_whoever_is_logged_in(foreman, bore):
    before = timezone.now()
    response = sign(foreman, bore, remarks="Gate open.")
    assert (response.status_code, response.url) == (302, reverse("conflicts:bore", args=[bore.pk]))
    walk = DailyWalk.objects.get()
    assert before <= walk.walked_at <= timezone.now()
    assert (walk.walked_by, walk.walked_by_name) == (foreman.person, "Rue Pell")
    assert (walk.marks_intact, walk.device_checked, walk.holes_open) == (True, True, True)
    assert (walk.device, walk.remarks, walk.bore) == ("receiver 7", "Gate open.", bore)
    assert LedgerEntry.objects.get().record_id == walk.pk
    assert prove_ledger().count == 1
    assert "Signed: the walk of" in text_of(foreman.get(response.url))


def test_nothing_is_answered_beforehand(foreman, bore):
    DailyWalkFactory(bore=bore, walked_by=foreman.person)
    page = foreman.get(address(bore)).content.decode()
    assert CHECKED.search(page) is None
    assert 'value="receiver 7"' in page


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("answer", ["", "maybe", None])
def test_a_question_without_an_answer_is_no_yes(foreman, bore, question, answer):
    answers = YES | {"new_id": str(uuid4()), "remarks": "Sleet since 6."}
    answers.pop(question)
    if answer is not None:
        answers[question] = answer
    response = foreman.post(address(bore), answers)
    assert response.status_code == 200
    assert list(response.context["form"].errors) == [question]
    assert not DailyWalk.objects.exists()
    page = response.content.decode()
    assert "Nothing is signed yet" in page
    assert "Sleet since 6." in page
    assert len(CHECKED.findall(page)) == 2
    assert answers["new_id"] in page


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_no_is_signed_and_said_to_hold(foreman, bore, question):
    response = sign(foreman, bore, **{question: "no"})
    walk = DailyWalk.objects.get()
    assert getattr(walk, question) is False
    assert "It holds the bore: the " in text_of(foreman.get(response.url))
    assert "Today\N{RIGHT SINGLE QUOTATION MARK}s walk holds the bore" in text_of(foreman.get(address(bore)))


def test_a_checked_device_is_named(foreman, bore):
    response = sign(foreman, bore, device="  ")
    assert response.context["form"].errors == {"device": ["Name the device that was checked."]}
    assert sign(foreman, bore, device="", device_checked="no").status_code == 302


def test_the_same_walk_sent_twice_is_signed_once(foreman, bore):
    new_id = uuid4()
    assert sign(foreman, bore, new_id).status_code == 302
    assert sign(foreman, bore, new_id, marks_intact="no").status_code == 302
    assert DailyWalk.objects.get().marks_intact is True
    assert LedgerEntry.objects.count() == 1


def test_the_id_of_a_walk_along_another_bore_makes_a_walk_of_its_own(foreman, bore):
    other = DailyWalkFactory(bore=BoreFactory(job=bore.job))
    assert sign(foreman, bore, other.pk).status_code == 302
    assert DailyWalk.objects.get(bore=bore).pk != other.pk


def test_a_form_without_an_id_is_signed_all_the_same(foreman, bore):
    assert foreman.post(address(bore), YES | {"new_id": "none"}).status_code == 302
    assert DailyWalk.objects.count() == 1


def test_a_long_name_of_a_device_is_refused_and_stays(foreman, bore):
    response = sign(foreman, bore, device="r" * 201)
    assert "at most 200 characters" in response.context["form"].errors["device"][0]
    assert "r" * 201 in response.content.decode()


def test_only_who_may_sign_signs_and_sees_the_form(client, bore):
    for role, may_sign in (("Coordinator", False), ("Safety manager", False), ("Foreman", True)):
        client.force_login(person_in_role(role))
        page = client.get(address(bore))
        assert page.status_code == 200
        assert ("Sign the walk" in page.content.decode()) is may_sign
        assert sign(client, bore).status_code == (302 if may_sign else 403)
    assert DailyWalk.objects.count() == 1


def test_a_login_and_a_role_are_asked_for(client, bore):
    assert client.get(address(bore)).url == f"{reverse('login')}?next={address(bore)}"
    client.force_login(PersonFactory())
    assert client.get(address(bore)).status_code == 403


def test_a_get_writes_nothing_and_is_kept_by_no_cache(foreman, bore):
    response = foreman.get(address(bore))
    assert "no-store" in response.headers["Cache-Control"]
    assert not DailyWalk.objects.exists()
    assert foreman.put(address(bore)).status_code == 405


def test_a_bore_that_is_retired_or_was_never_there_is_not_found(foreman, bore):
    stand_aside(bore)
    assert foreman.get(address(bore)).status_code == 404
    assert sign(foreman, bore).status_code == 404


def test_what_is_on_record_stands_beside_the_questions(foreman, bore):
    MarkFactory(job=bore.job, is_intact=False)
    TestHoleFactory(job=bore.job, is_open=None)
    page = text_of(foreman.get(address(bore)))
    assert "On record here: 2 marks, 1 reported gone" in page
    assert "On record here: 2 test holes, 1 open" in page


def test_words_of_a_person_are_shown_as_words(foreman, bore):
    DailyWalkFactory(bore=bore, remarks="<b>x</b>", device="<i>7</i>", walked_by_name="<u>R</u>")
    page = foreman.get(address(bore)).content.decode()
    for markup in ("<b>x", "<i>7", "<u>R"):
        assert markup not in page


def test_walks_are_told_by_the_day_that_they_count_for(foreman, bore):
    now = timezone.now()
    for days_ago in (1, 2):
        walk = DailyWalkFactory(bore=bore, walked_at=now - timedelta(days=days_ago))
    enter(walk, by=walk.walked_by)
    page = text_of(foreman.get(address(bore)))
    assert len(COUNTS.findall(page)) == 2
    assert "No walk is signed for today." in page
    assert "entry 1" in page
    assert "no entry" in page


def test_of_a_day_that_goes_on_over_the_page_one_walk_counts(foreman, bore):
    noon = timezone.now().replace(hour=17, minute=0) - timedelta(days=3)
    for minute in range(WALKS_A_PAGE + 2):
        DailyWalkFactory(bore=bore, walked_at=noon - timedelta(minutes=minute))
    pages = [text_of(foreman.get(address(bore), {"page": number})) for number in (1, 2)]
    assert [len(COUNTS.findall(page)) for page in pages] == [1, 0]
    assert [page.count("a later walk of the day counts") for page in pages] == [WALKS_A_PAGE - 1, 2]


def test_the_number_of_queries_does_not_grow_with_the_walks(foreman, bore, django_assert_max_num_queries):
    def queries():
        with django_assert_max_num_queries(40) as made:
            foreman.get(address(bore))
        return len(made)

    DailyWalkFactory(bore=bore)
    sign(foreman, bore, photos=[photo_upload(jpeg())])
    few = queries()
    for _ in range(20):
        walk = DailyWalkFactory(bore=bore)
        PhotoFactory(job=bore.job, subject_model="conflicts.dailywalk", subject_id=walk.pk)
        enter(walk, by=walk.walked_by)
    assert queries() == few


def test_photos_are_signed_with_the_walk_by_their_digests(foreman, bore):
    raws = [jpeg(), jpeg(shade=9), jpeg()]
    response = sign(foreman, bore, photos=[photo_upload(raw) for raw in raws])
    assert response.status_code == 302
    walk = DailyWalk.objects.get()
    digests = sorted({sha256(raw).hexdigest() for raw in raws})
    assert walk.photo_sha256s == digests
    assert sorted(Photo.objects.of(walk).values_list("sha256", flat=True)) == digests
    assert list(LedgerEntry.objects.values_list("kind", flat=True)) == ["photo", "photo", "walk"]
    assert digests[0] in LedgerEntry.objects.get(kind="walk").content
    assert prove_ledger().count == 3
    assert foreman.get(address(bore)).content.decode().count("<img ") == 2


def test_the_page_of_a_walk_s_photo_says_once_what_it_shows(foreman, bore):
    sign(foreman, bore, photos=[photo_upload(jpeg())])
    page = foreman.get(reverse("locates:photo-facts", args=[Photo.objects.get().pk])).content.decode()
    words = " ".join(re.sub("<[^>]*>", "", page).split())
    assert f"Photo of {DailyWalk.objects.get()}" in words


def test_the_same_walk_with_photos_sent_twice_is_kept_once(foreman, bore):
    new_id = uuid4()
    for _ in range(2):
        assert sign(foreman, bore, new_id, photos=[photo_upload(jpeg())]).status_code == 302
    assert (DailyWalk.objects.count(), Photo.objects.count(), LedgerEntry.objects.count()) == (1, 1, 2)


def test_where_a_photo_cannot_be_kept_nothing_is_signed_and_the_answers_stay(foreman, bore):
    response = sign(
        foreman, bore, remarks="Sleet.", photos=[photo_upload(jpeg()), photo_upload(b"no picture")]
    )
    assert response.status_code == 200
    assert list(response.context["form"].errors) == ["photos"]
    page = response.content.decode()
    assert len(CHECKED.findall(page)) == 3
    assert "Sleet." in page
    assert not DailyWalk.objects.exists()
    assert not Photo.objects.exists()


def test_a_photo_refused_while_it_is_stored_undoes_the_walk(foreman, bore, monkeypatch):
    """One too many is told only when the record's photos are counted."""
    monkeypatch.setattr("locates.desk.keep_photo.MOST_PHOTOS", 1)
    response = sign(foreman, bore, photos=[photo_upload(jpeg()), photo_upload(jpeg(shade=9))])
    assert response.status_code == 200
    assert "1 photos here already" in response.context["form"].errors["photos"][0]
    assert not DailyWalk.objects.exists()
    assert not Photo.objects.exists()
    assert not LedgerEntry.objects.exists()


def shown_on_the_bores_page(rf, person, bore):
    request = rf.get("/")
    request.user = person
    context = {"bore": bore, "job": bore.job, "perms": PermWrapper(person)}
    return render_to_string("conflicts/walk_today.html", context, request)


def test_todays_walk_or_the_way_to_make_it_can_stand_on_another_page(foreman, bore, rf):
    shown = shown_on_the_bores_page(rf, foreman.person, bore)
    assert "No walk is signed for today." in shown
    assert f'href="{address(bore)}"' in shown
    sign(foreman, bore)
    assert "receiver 7 checked" in shown_on_the_bores_page(rf, foreman.person, bore)


def test_who_may_not_sign_is_led_to_the_walks_alone_and_who_may_not_see_them_nowhere(bore, rf):
    manager = person_in_role("Safety manager")
    shown = shown_on_the_bores_page(rf, manager, bore)
    assert f'href="{address(bore)}"' not in shown
    assert f'href="{address(bore)}#walks"' in shown
    assert shown_on_the_bores_page(rf, PersonFactory(), bore).strip() == ""
