"""The page of a job shows its bores in the order of the conduit, how each stands, and what parts them."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from conflicts.alignment import alignment_length_m
from conflicts.assess import store_assessment
from conflicts.models import CloseOut, DrilledRod, Pit, Release, RodWithdrawal
from conflicts.release import sign_release
from locates.units import format_length
from tests.factories import (
    BoreFactory,
    HolePassFactory,
    PitFactory,
    PullbackFactory,
    box,
    line,
    person_in_role,
    small_job,
)
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db


@pytest.fixture
def foreman(client):
    client.force_login(person_in_role("Foreman"))
    return client


def words_of(client, job) -> str:
    response = client.get(reverse("conflicts:job", args=[job.pk]))
    return " ".join(response.content.decode().split())


def bore_of(job, name, *places_m):
    """An assessed bore at the surface at both ends."""
    alignment = line(*places_m)
    length_m = alignment_length_m(alignment.coords, job.mean_height_m)
    stations_m, depths_m = [0.0, length_m / 2, length_m], [0.0, 1.5, 0.0]
    bore = BoreFactory(
        job=job, name=name, alignment=alignment, profile_stations_m=stations_m, profile_values_m=depths_m
    )
    store_assessment(bore.pk)
    return bore


def test_bores_stand_in_the_order_of_the_conduit_with_the_pit_that_serves_both(foreman):
    job = small_job()
    first = job.bores.get()
    store_assessment(first.pk)
    after = bore_of(job, "After it", (102, 0), (202, 0))
    bore_of(job, "A side bore", (50, 40), (50, 90))
    Pit.objects.filter(bore=first, end="exit").update(area=box(99.5, -1, 102.5, 1))
    PitFactory(bore=after, end="entry", area=box(99.5, -1, 102.5, 1))
    page = words_of(foreman, job)
    places = [page.index(f">{name}</a></h3>") for name in (first.name, "After it", "A side bore")]
    assert places == sorted(places)
    ends = f"the exit of {first.name} and the entry of After it"
    assert f"One pit serves both: {ends} lie 6 ft 6 3/4 in apart in it." in page
    gap = f"the entry of {first.name} and the entry of A side bore"
    assert f"A gap of 210 ft 0 7/8 in between {gap}. Nothing joins them." in page
    assert "Not one line: 2 pieces that nothing joins." in page
    assert "Drilled 0 in, left 328 ft 1 in; no rod is logged" in page


def test_a_bore_may_be_drilled_only_while_its_release_holds(foreman):
    bore = bore_of_today()
    assert "</svg> <strong>Not released</strong>" in words_of(foreman, bore.job)
    now = timezone.now()
    release = Release(
        bore=bore, shift_from=now, shift_until=now + timedelta(hours=4), crew="Crew 1", rig="Rig 1"
    )
    sign_release(release, by=person_in_role("Foreman"))
    assert "</svg> <strong>May be drilled</strong>" in words_of(foreman, bore.job)
    bore.product = "another conduit"
    bore.save()
    page = words_of(foreman, bore.job)
    assert "May be drilled" not in page
    assert "The bore was changed" in page


def test_a_closed_out_bore_counts_as_drilled_by_its_close_out(foreman):
    job = small_job()
    first = job.bores.get()
    bore_of(job, "After it", (100, 0), (150, 0))
    manager = person_in_role("Safety manager")
    CloseOut.objects.create(
        bore=first, closed_at=timezone.now(), closed_by=manager, closed_by_name="M. Rook", grounds={}
    )
    page = words_of(foreman, job)
    assert "Closed out</strong>" in page
    assert "328 ft 1 in of it by close-out alone: planned length, no rod is logged." in page
    assert "No rod is logged of 1 bore: nothing of it counts." in page
    assert "1 of 2 closed out" in page


def test_what_was_reamed_and_pulled_back_stands_beside_what_was_drilled(foreman):
    bore = small_job().bores.get()
    HolePassFactory(bore=bore, diameter_m=0.25)
    store_assessment(bore.pk)
    reamed = f"reamed {format_length(0.25, 'feet')}"
    assert f"; no rod is logged; {reamed}</p>" in words_of(foreman, bore.job)
    PullbackFactory(bore=bore)
    store_assessment(bore.pk)
    assert f"; no rod is logged; {reamed}, pulled back</p>" in words_of(foreman, bore.job)
    route = foreman.get(reverse("conflicts:route", args=[bore.job_id])).content.decode()
    assert f"{reamed}, pulled back" in route


def test_rods_in_the_ground_count_as_drilled_and_those_pulled_back_do_not(foreman):
    job = small_job()
    bore = job.bores.get()
    store_assessment(bore.pk)
    person = person_in_role("Foreman")
    rods = []
    for number in range(1, 5):
        rods.append(
            DrilledRod.objects.create(
                bore=bore,
                after=rods[-1] if rods else None,
                number=number,
                length_m=3.048,
                pitch_ratio=-0.1,
                logged_by=person,
                logged_by_name="F. Pell",
                logged_at=timezone.now(),
            )
        )
    # A rod at 10 percent reaches 3.048 m / sqrt(1.01) = 9 ft 11 3/8 in along the bore.
    page = words_of(foreman, job)
    assert "Drilled 40 ft 0 in, left 288 ft 3 3/8 in<" in page
    assert "No rod is logged" not in page
    RodWithdrawal.objects.create(
        rod=rods[2],
        kind="pull_back",
        reason="Off line.",
        withdrawn_by=person,
        withdrawn_by_name="F. Pell",
        withdrawn_at=timezone.now(),
    )
    assert "Drilled 20 ft 0 in, left 308 ft 2 1/4 in<" in words_of(foreman, job)


def test_a_job_without_a_bore_says_what_a_route_is(foreman):
    job = small_job()
    job.bores.update(retired_at=timezone.now())
    assert "A second bore that ends in the same pit is joined to it" in words_of(foreman, job)


def test_queries_do_not_grow_with_the_bores(foreman):
    job = small_job()
    store_assessment(job.bores.get().pk)
    bore_of(job, "B 1", (100, 0), (150, 0))

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            words_of(foreman, job)
        return len(seen)

    queries()
    few = queries()
    for number in range(2, 7):
        bore_of(job, f"B {number}", (50 * number + 50, 0), (50 * number + 100, 0))
    words_of(foreman, job)
    assert queries() == few
