"""The map's data as an answer: to whom, at what cost, and not twice."""

import gzip
from uuid import uuid4

import pytest
from django.urls import reverse

from conflicts.assess import store_assessment
from tests.benchmarks.map_data import compare
from tests.factories import (
    BoreFactory,
    MarkFactory,
    PersonFactory,
    SurfaceFeatureFactory,
    TestHoleFactory,
    line,
    person_in_role,
    small_job,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def job():
    return small_job()


@pytest.fixture
def addresses(job) -> list[str]:
    return [
        reverse("conflicts:map-data", kwargs={"job_id": job.pk}),
        reverse("conflicts:map-data", kwargs={"bore_id": job.bores.get().pk}),
    ]


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def test_nobody_sees_a_map_without_a_login(client, addresses):
    for address in addresses:
        response = client.get(address)
        assert response.status_code == 302
        assert response.url == f"{reverse('login')}?next={address}"


def test_a_person_without_a_role_sees_no_map(client, addresses):
    client.force_login(PersonFactory())
    assert [client.get(address).status_code for address in addresses] == [403, 403]


@pytest.mark.parametrize("role", ["Coordinator", "Foreman", "Safety manager"])
def test_every_role_sees_the_maps(client, addresses, role):
    client.force_login(person_in_role(role))
    for address in addresses:
        response = client.get(address)
        assert response.status_code == 200
        assert response.headers["Content-Type"] == "application/json"
        assert len(response.json()["marks"]["rows"]) == 1


def test_a_map_is_only_read(foreman, addresses):
    assert [foreman.post(address).status_code for address in addresses] == [405, 405]


def test_a_job_that_is_not_there_has_no_map(foreman):
    for name in ("job_id", "bore_id"):
        assert foreman.get(reverse("conflicts:map-data", kwargs={name: uuid4()})).status_code == 404


def test_the_answer_is_packed_and_only_the_persons_own_browser_keeps_it(foreman, job, addresses):
    plain = foreman.get(addresses[0])
    packed = foreman.get(addresses[0], headers={"accept-encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.content) == plain.content
    assert plain.headers["Cache-Control"] == "private, no-cache"


def test_a_map_that_has_not_changed_is_not_sent_again(foreman, job, addresses):
    for address in addresses:
        first = foreman.get(address, headers={"accept-encoding": "gzip"})
        again = foreman.get(address, headers={"if-none-match": first.headers["ETag"]})
        assert again.status_code == 304
        assert again.content == b""
    job.test_holes.update(depth_to_top_m=1.1)
    changed = foreman.get(addresses[0], headers={"if-none-match": first.headers["ETag"]})
    assert changed.status_code == 200


def test_the_number_of_queries_does_not_grow_with_the_records(
    foreman, job, addresses, django_assert_max_num_queries
):
    def queries(address) -> int:
        with django_assert_max_num_queries(45) as captured:
            assert foreman.get(address).status_code == 200
        return len(captured)

    store_assessment(job.bores.get().pk)
    before = [queries(address) for address in addresses]
    for east in range(1, 8):
        mark = MarkFactory(job=job, geometry=line((10 * east, -15), (10 * east, 15)))
        TestHoleFactory(job=job, mark=mark)
        SurfaceFeatureFactory(job=job, explained_by_mark=mark)
        BoreFactory(job=job, alignment=line((0, east), (100, east)))
    for bore in job.bores.all():
        store_assessment(bore.pk)
    assert [queries(address) for address in addresses] == before


def test_a_large_job_is_sent_whole_in_fewer_bytes_than_its_geojson():
    """A small run of the benchmark; the peer is PostGIS's ST_AsGeoJSON to the same eight decimals."""
    found = compare(200)
    assert found.map_features == found.geojson_features == 200
    assert found.map_bytes < found.geojson_bytes / 2
    assert found.map_packed_bytes < found.geojson_packed_bytes
