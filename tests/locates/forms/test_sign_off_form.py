"""A surface feature explained by a mark or signed off with a reason."""

import pytest
from django.urls import reverse

from conflicts.models import Reassessment
from tests.factories import MarkFactory, SurfaceFeatureFactory, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db


def settle(client, feature, **values):
    url = reverse("locates:surface-feature-sign-off", args=[feature.pk])
    return client.post(url, form_of(client, url) | values)


def test_a_foreman_explains_a_feature_or_signs_it_off(client):
    client.force_login(person_in_role("Foreman"))
    job = small_job()
    feature = SurfaceFeatureFactory(job=job)
    response = settle(client, feature, explained_by_mark=str(job.marks.get().pk))
    assert response.url == reverse("conflicts:job", args=[job.pk]) + "#surface-features"
    settle(client, feature, explained_by_mark="", signed_off_reason="Dead end, seen opened.")
    feature.refresh_from_db()
    assert (feature.explained_by_mark, feature.signed_off_reason) == (None, "Dead end, seen opened.")
    assert Reassessment.objects.get().wanted == 2


def test_a_mark_of_another_job_explains_nothing(client):
    client.force_login(person_in_role("Foreman"))
    feature = SurfaceFeatureFactory()
    page = settle(client, feature, explained_by_mark=str(MarkFactory().pk), signed_off_reason="Typed.")
    assert "Select a valid choice" in page.content.decode()
    assert "Typed." in page.content.decode()


def test_the_safety_manager_only_reads(client):
    client.force_login(person_in_role("Safety manager"))
    feature = SurfaceFeatureFactory()
    url = reverse("locates:surface-feature-sign-off", args=[feature.pk])
    assert client.get(url).status_code == 403
    assert url not in client.get(reverse("conflicts:job", args=[feature.job_id])).content.decode()
