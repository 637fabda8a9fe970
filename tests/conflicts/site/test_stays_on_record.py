"""Who retires a bore is told what was logged and signed of it, for that stays in the record."""

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.stays_on_record import WORDS, stays_on_record
from conflicts.models import Bore, DrilledRod
from locates.models import Retirement
from locates.signed_kinds import signed_kinds
from tests import factories
from tests.conflicts.audit.signed_stories import close_out, damage, stood, variance, watch
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    """A walked bore, nothing drilled."""
    return bore_of_today()


def drilled(bore):
    """A release, two rods of which the last was pulled back, a reamer, two watches and damage."""
    mark = bore.job.marks.get()
    stood(bore)
    first = factories.DrilledRodFactory(bore=bore, logged_at=timezone.now())
    last = factories.DrilledRodFactory(bore=bore, after=first, logged_at=timezone.now())
    factories.RodWithdrawalFactory(rod=last)
    factories.HolePassFactory(bore=bore)
    watch(bore, mark)
    watch(bore, mark)
    damage(bore, mark)


def page_of(client, bore):
    client.force_login(person_in_role("Coordinator", bore.job.organisation))
    page = client.get(reverse("conflicts:bore-retire", args=[bore.pk])).content.decode()
    return " ".join(page.split())


def test_the_page_says_how_much_of_each_kind_stays_in_the_record(client, bore):
    drilled(bore)
    told = (
        "In the record stay <b>1 release, 1 daily walk, 2 rods, 1 pass of a reamer or pullback, "
        "2 watches of crossings, 1 report of damage</b>."
    )
    assert told in page_of(client, bore)


def test_of_a_bore_of_which_nothing_is_logged_no_such_thing_is_said(client):
    assert "In the record stay" not in page_of(client, factories.small_job().bores.get())


def test_it_is_of_that_bore_alone_and_stays_once_the_bore_is_retired(client, bore):
    other = factories.small_job(name="Elm Street").bores.get()
    drilled(bore)
    assert stays_on_record(other) == []
    page_of(client, bore)
    client.post(reverse("conflicts:bore-retire", args=[bore.pk]))
    assert Retirement.objects.get().job == bore.job
    assert not Bore.objects.filter(pk=bore.pk).exists()
    assert DrilledRod.objects.filter(bore=bore.pk).count() == 2


def test_whatever_is_signed_and_names_a_bore_is_counted(bore):
    named = {
        kind.model
        for kind in signed_kinds().values()
        if any(column.related_model is Bore for column in kind.model._meta.concrete_fields)
    }
    assert {kind for kind, _, _ in WORDS} == named


def test_many_records_are_told_in_one_query(bore, django_assert_num_queries):
    drilled(bore)
    variance(bore, bore.job.marks.get())
    close_out(bore)
    with django_assert_num_queries(1):
        told = stays_on_record(bore)
    assert told[-3:] == ["1 variance", "1 report of damage", "1 close-out"]
