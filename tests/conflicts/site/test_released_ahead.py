"""A release whose shift has not begun: the bore's page says that it is signed, for when, and no yes."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from conflicts.drill_answer import drill_answer
from conflicts.models import Release
from conflicts.release import grounds_of, sign_release
from conflicts.watch_table import watch_table
from locates.local_time import format_moment
from locates.models import Mark
from tests.conflicts.audit.signed_stories import watch
from tests.factories import PersonFactory, person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return bore_of_today()


@pytest.fixture
def ahead(bore):
    """A release for a shift that begins in twenty minutes."""
    begins = timezone.now() + timedelta(minutes=20)
    shift = {"shift_from": begins, "shift_until": begins + timedelta(hours=4)}
    return sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=PersonFactory())


def told(client, bore):
    client.force_login(person_in_role("Foreman"))
    text = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    return " ".join(strip_tags(text.split('id="may-i-drill"')[1].split("</section>")[0]).split())


def answer_of(bore):
    assessed = grounds_of(bore, timezone.now()).assessed
    return drill_answer(bore, watch_table(assessed, bore.pilot_diameter_m), assessed)


def test_the_bore_is_said_to_be_released_for_that_shift_and_not_yet(client, bore, ahead):
    begins, ends = (format_moment(one, bore.job.time_zone) for one in (ahead.shift_from, ahead.shift_until))
    text = told(client, bore)
    assert f"Do not drill yet. Released to Crew 2 with Rig 7 for the shift from {begins} until {ends}" in text
    assert "not valid before it begins" in text
    assert "not released" not in text
    assert "can be released now" not in text
    assert "Release this bore for another shift" in text
    assert "The last release" not in text


def test_it_is_no_yes(bore, ahead):
    answer = answer_of(bore)
    assert (answer.is_ahead, answer.is_yes, answer.is_released) == (True, False, False)


def test_a_stop_that_stands_is_said_beside_it(client, bore, ahead):
    watch(bore, Mark.objects.get(), gap_m=0.01, at=timezone.now())
    text = told(client, bore)
    assert "Do not drill yet." in text
    assert "A stop rule stands besides." in text


def test_a_changed_record_ends_it_before_it_began(client, bore, ahead):
    mark = Mark.objects.get()
    mark.located_by = "R. Pell"
    mark.save()
    text = told(client, bore)
    assert "Released to Crew 2" not in text
    assert "Do not drill: not released." in text
    assert "lapsed: Mark" in text
