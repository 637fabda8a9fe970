"""Surface features, ground points and linework logged and changed."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from locates.models import GroundPoint, Linework, SurfaceFeature
from tests.factories import PLACE, LineworkFactory, person_in_role, small_job
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

PLACED = "38.00001, -78.4996"
RING = "38.0, -78.5\n38.0, -78.4999\n38.0001, -78.4999\n38.0, -78.5"


@pytest.fixture
def coordinator(client):
    client.force_login(person_in_role("Coordinator", username="ruth"))
    return client


@pytest.fixture
def job():
    return small_job()


def words_of(response):
    return " ".join(response.content.decode().split())


def sent(client, job, kind, **values):
    url = reverse(f"locates:{kind}-add", args=[job.pk])
    return client.post(url, form_of(client, url) | values)


FEATURE = {"ref": "V-9", "feature_type": "valve", "facility_type": "potable_water"}


def test_a_surface_feature_is_logged_by_a_foreman_at_a_station(client, job):
    client.force_login(person_in_role("Foreman"))
    assert sent(client, job, "surface-feature", **FEATURE, along_stations="1+00 R 6 ft").status_code == 302
    feature = job.surface_features.get(ref="V-9")
    place = PLACE.to_ground(feature.position.x, feature.position.y)[0].tolist()
    assert place == pytest.approx([30.48, -1.8288], abs=0.002)
    assert feature.seen_at is not None


def test_a_surface_feature_placed_by_phone_keeps_how_far_the_phone_may_be_off(client, job):
    client.force_login(person_in_role("Foreman"))
    phone = {"position": "38.00001000, -78.49960000", "fixes": '[["38.00001000", "-78.49960000", 3.2]]'}
    refused = words_of(sent(client, job, "surface-feature", **FEATURE, **phone, error_m="1 ft"))
    assert "The phone&#x27;s position may be off by 10 ft 6 in: accepted is 10 ft 6 in or more" in refused
    assert "10 ft 6 in or more" in words_of(sent(client, job, "surface-feature", **FEATURE, **phone))
    assert sent(client, job, "surface-feature", **FEATURE, **phone, error_m="10.5 ft").status_code == 302
    assert job.surface_features.get(ref="V-9").error_m == pytest.approx(3.2004)
    page = words_of(client.get(reverse("conflicts:job", args=[job.pk])))
    assert '<td data-label="Place to within"><span>10 ft 6 in</span></td>' in page


def test_how_far_a_surface_feature_may_be_off_is_unknown_until_somebody_says(client, job):
    client.force_login(person_in_role("Foreman"))
    assert sent(client, job, "surface-feature", **FEATURE, position=PLACED).status_code == 302
    feature = job.surface_features.get(ref="V-9")
    assert feature.error_m is None
    assert '<td data-label="Place to within"><span>unknown</span></td>' in words_of(
        client.get(reverse("conflicts:job", args=[job.pk]))
    ).replace('<span class="unknown">unknown</span>', "unknown")
    for wrong_m in (-0.1, float("nan"), float("inf")):
        with (
            pytest.raises(IntegrityError, match="surface_feature_error_m_not_negative"),
            transaction.atomic(),
        ):
            job.surface_features.filter(pk=feature.pk).update(error_m=wrong_m)


def test_a_ground_point_is_logged_with_its_elevation_but_never_by_phone(coordinator, job):
    url = reverse("locates:ground-point-add", args=[job.pk])
    assert "Use the phone" not in words_of(coordinator.get(url))
    assert sent(coordinator, job, "ground-point", elevation_m="-1'6\"", position=PLACED).status_code == 302
    assert job.ground_points.get(elevation_m__lt=0).elevation_m == pytest.approx(-0.4572)


def test_linework_is_a_line_or_an_area_that_ends_where_it_began(coordinator, job):
    for label, geometry in (("curb", RING.rsplit("\n", 1)[0]), ("house", RING)):
        values = {"feature_type": "building", "label": label, "geometry": geometry}
        assert sent(coordinator, job, "linework", **values).status_code == 302
    shapes = {one.label: one.geometry.geom_type for one in job.linework.exclude(label="")}
    assert shapes == {"curb": "LineString", "house": "Polygon"}
    url = reverse("locates:linework-edit", args=[job.linework.get(label="house").pk])
    assert form_of(coordinator, url)["geometry"].splitlines()[0::3] == ["38.00000000, -78.50000000"] * 2
    assert coordinator.post(url, form_of(coordinator, url) | {"label": "No. 4"}).status_code == 302
    assert job.linework.get(label="No. 4").geometry.geom_type == "Polygon"


@pytest.mark.parametrize(
    ("kind", "model", "values", "words"),
    [
        ("surface-feature", SurfaceFeature, {**FEATURE, "position": ""}, "Say where it is"),
        (
            "surface-feature",
            SurfaceFeature,
            {**FEATURE, "ref": "S-taken", "position": PLACED},
            "that no other",
        ),
        ("ground-point", GroundPoint, {"elevation_m": "12", "position": PLACED}, "12 of what?"),
        (
            "ground-point",
            GroundPoint,
            {"elevation_m": "40000 ft", "position": PLACED},
            "Found 40000 ft 0 in, where there is no ground; accepted: a length"
            " from \N{MINUS SIGN}3280 ft 10 1/8 in to",
        ),
        ("linework", Linework, {"feature_type": "curb", "geometry": PLACED}, "a LineString or a Polygon"),
        ("linework", Linework, {"feature_type": "", "geometry": RING}, "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_typed_is_lost(coordinator, job, kind, model, values, words):
    job.surface_features.update(ref="S-taken")
    before = model.objects.count()
    page = words_of(sent(coordinator, job, kind, **values))
    assert words in page, page[page.find("Nothing is saved") :][:500]
    for text in values.values():
        assert " ".join(text.split()) in page
    assert model.objects.count() == before


@pytest.mark.parametrize(
    ("kind", "related"),
    [("surface-feature", "surface_features"), ("ground-point", "ground_points"), ("linework", "linework")],
)
def test_each_is_shown_back_to_the_last_digit_retired_and_brought_back(coordinator, job, kind, related):
    record = getattr(job, related).get()
    url = reverse(f"locates:{kind}-edit", args=[record.pk])
    assert coordinator.post(url, form_of(coordinator, url)).status_code == 302
    again = getattr(job, related).get()
    shape = "geometry" if kind == "linework" else "position"
    assert bytes(getattr(again, shape).wkb) == bytes(getattr(record, shape).wkb)
    coordinator.post(reverse(f"locates:{kind}-retire", args=[record.pk]))
    assert not getattr(job, related).exists()
    coordinator.post(reverse("locates:restore", args=[job.retirements.get().pk]))
    assert getattr(job, related).get() == record


def test_the_base_of_the_map_has_a_page_of_its_own_that_leads_to_every_form(coordinator, job):
    page = coordinator.get(reverse("locates:map-base", args=[job.pk])).content.decode()
    for kind, related in (("ground-point", "ground_points"), ("linework", "linework")):
        record = getattr(job, related).get()
        assert reverse(f"locates:{kind}-add", args=[job.pk]) in page
        assert reverse(f"locates:{kind}-edit", args=[record.pk]) in page
        assert reverse(f"locates:{kind}-retire", args=[record.pk]) in page
    job_page = coordinator.get(reverse("conflicts:job", args=[job.pk])).content.decode()
    assert reverse("locates:map-base", args=[job.pk]) in job_page


def test_a_foreman_reads_the_base_of_the_map_and_writes_none(client, job, django_assert_max_num_queries):
    client.force_login(person_in_role("Foreman"))
    url = reverse("locates:map-base", args=[job.pk])
    client.get(url)
    for _ in range(3):
        LineworkFactory(job=job)
    with django_assert_max_num_queries(11):  # the gate and the masthead ask one each
        page = client.get(url).content.decode()
    assert "curb" in page
    assert reverse("locates:linework-edit", args=[job.linework.first().pk]) not in page
    assert reverse("locates:linework-add", args=[job.pk]) not in page
