"""A variance whose bore is retired meanwhile: nothing is signed, and its page leads nowhere that is gone."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.variance import end_variance, request_variance, sign_variance
from conflicts.models import DamageReport, Variance, VarianceEnd, VarianceSignature
from locates.desk.retire import retire
from locates.errors import RetiredMeanwhileError
from tests.conflicts.audit.signed_stories import damage
from tests.factories import PASSWORD, PersonFactory, person_in_role
from tests.site_of_today import bore_of_today

# What a transaction changed counts from its end: how the bore stood before asks for more than one.
pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)


@pytest.fixture
def asked():
    """A variance for the walk of the day, asked for while its bore was live."""
    wanted = Variance(bore=bore_of_today(), subject="check", check_code="day", reason="Walked by two.")
    return request_variance(wanted, by=PersonFactory())


@pytest.fixture
def manager(client, asked):
    client.force_login(person_in_role("Safety manager", asked.bore.job.organisation))
    return client


def page(client, address):
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def test_it_is_not_signed_once_its_bore_is_retired_and_can_be_refused(asked):
    retire(asked.bore, by=PersonFactory())
    signature = VarianceSignature(
        variance=asked, valid_until=timezone.now() + timedelta(days=2), remarks="On words."
    )
    with pytest.raises(RetiredMeanwhileError):
        sign_variance(signature, by=PersonFactory())
    assert not VarianceSignature.objects.exists()
    end_variance(VarianceEnd(variance=asked, reason="The bore is given up."), by=PersonFactory())
    assert VarianceEnd.objects.count() == 1


def test_its_page_offers_no_signature_and_each_link_of_it_answers(manager, asked):
    address = reverse("conflicts:variance", args=[asked.pk])
    live = page(manager, address)
    assert "Sign the variance" in live
    assert "Signed now it excuses" in live
    retire(asked.bore, by=PersonFactory())
    gone = page(manager, address)
    assert "Sign the variance" not in gone
    assert "Signed now it excuses" not in gone
    for link in set(re.findall(r'href="(/(?:bores|variances|jobs)/[^"#]+)"', gone)):
        assert manager.get(link).status_code == 200, link


def test_a_report_of_damage_leads_to_the_bore_as_it_stood_last(manager, asked):
    damage(asked.bore, asked.bore.job.marks.first())
    report = reverse("conflicts:damage", args=[DamageReport.objects.get().pk])
    assert f'href="{reverse("conflicts:bore", args=[asked.bore_id])}"' in page(manager, report)
    retire(asked.bore, by=PersonFactory())
    [link] = re.findall(r'href="(/bores/[^"]+as-of[^"]+)"', page(manager, report))
    assert manager.get(link.replace("&amp;", "&")).status_code == 200


def test_a_walk_is_said_to_be_excused_for_the_day_of_the_signature_alone(manager, asked):
    shown = page(manager, reverse("conflicts:variance", args=[asked.pk]))
    assert "It excuses the walk of the day on which it is signed, and of no other." in shown


def test_one_that_was_never_signed_is_refused_not_ended(manager, asked):
    address = reverse("conflicts:variance", args=[asked.pk])
    answer = manager.post(
        address, {"do": "end", "end-reason": "Walk it.", "end-password": PASSWORD}, follow=True
    )
    assert "Refused: it excuses nothing." in answer.content.decode()
    assert "Signed now it excuses" not in answer.content.decode()
