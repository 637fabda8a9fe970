"""No way of changing a bore's plan moves what is in the ground: rods, abandoned legs, and what was reamed."""

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from conflicts.assess import compute_bores
from conflicts.desk.take_profile import take_profile
from conflicts.drilled import drilled_path
from conflicts.exchange.whole_job import export_job, load_job
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore, CloseOut, HolePass
from conflicts.plan_text import read_plan
from locates.errors import JobFileError
from locates.exchange.job_documents import document_text
from tests import factories
from tests.factories import DrilledRodFactory, HolePassFactory, line, person_in_role
from tests.page_forms import form_of

pytestmark = pytest.mark.django_db

MOVED = "from where it lies in the ground"


@pytest.fixture
def bore():
    """100 m to the east, from the surface to 2 m at 20 m."""
    return factories.small_job().bores.get()


def drilled(bore, count=4):
    """Rods down 10 %, the third without a reading; the others read."""
    rods = []
    for number in range(1, count + 1):
        read = {} if number != 3 else dict.fromkeys(("depth_m", "dot_longitude_deg", "dot_latitude_deg"))
        values = {"pitch_ratio": -0.1, "depth_m": 0.3 * number, **read}
        rods.append(DrilledRodFactory(bore=bore, after=rods[-1] if rods else None, **values))
    return rods


def close_out(bore):
    person = factories.PersonFactory()
    CloseOut.objects.create(
        bore=bore,
        closed_by=person,
        closed_by_name="R. Pell",
        closed_at=factories.PLANNED_FINISH_AT,
        grounds={},
    )


def places(bore):
    """Longitude, latitude and elevation of the end of each rod."""
    stored = Bore.objects.select_related("job__jurisdiction").get(pk=bore.pk)
    scene = compute_bores([bore.pk])[bore.pk].scene
    points = np.array([one.point_m for one in drilled_path(scene, gather_rods([stored])[bore.pk]).joints])
    return np.column_stack([1e5 * scene.frame.to_geographic(points[:, :2]), points[:, 2]])


def entry_moved(bore):
    bore.alignment = line((2, 0), (100, 0))
    bore.alignment_length_m = factories.ground_length_m(bore)
    bore.profile_stations_m = [0.0, 20.0, 80.0, bore.alignment_length_m]


def turned_aside(bore):
    bore.alignment = line((0, 0), (6, 0.5), (100, 0))
    bore.alignment_length_m = factories.ground_length_m(bore)
    bore.profile_stations_m = [0.0, 20.0, 80.0, bore.alignment_length_m]


def begun_deeper(bore):
    bore.profile_values_m = [0.5, 2.0, 2.0, 0.0]


def begun_lower_by_elevation(bore):
    bore.profile_by, bore.profile_values_m = "elevation", [-0.25, -2.0, -2.0, 0.0]


def begun_lower_rod_by_rod(bore):
    bore.profile_by, bore.profile_stations_m, bore.profile_values_m = "", [], []
    bore.rods_entry_elevation_m, bore.rod_lengths_m = -1.0, [0.0, 50.0, 50.0]
    bore.rod_pitches_ratio, bore.rod_headings_rad = [0.0] * 3, [None] * 3


MOVES = (entry_moved, turned_aside, begun_deeper, begun_lower_by_elevation, begun_lower_rod_by_rod)


def refused(bore):
    with pytest.raises(ValidationError) as refusal:
        bore.save()
    [words] = refusal.value.messages
    return words


@pytest.mark.parametrize("move", MOVES)
def test_what_would_move_a_rod_is_refused_with_the_rod_and_how_far(bore, move):
    drilled(bore)
    before = places(bore)
    move(bore)
    words = refused(bore)
    assert words.startswith("Nothing is stored: by this plan rod ")
    assert MOVED in words
    assert "Accepted is a plan that leaves all of it there" in words
    assert places(bore) == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize("move", MOVES)
def test_before_the_first_rod_and_after_one_that_was_never_in_the_ground_any_plan_is_taken(bore, move):
    factories.RodWithdrawalFactory(rod=drilled(bore, 1)[0], kind="undo", reason="")
    factories.HolePassWithdrawalFactory(hole_pass=HolePassFactory(bore=bore))
    move(bore)
    bore.save()
    assert bore.version == 2


def deeper_ahead(bore):
    bore.profile_values_m = [0.0, 2.4, 2.4, 0.0]


def turned_aside_ahead(bore):
    bore.alignment = line((0, 0), (60, 0), (100, 3))
    bore.alignment_length_m = factories.ground_length_m(bore)
    bore.profile_stations_m = [0.0, 20.0, 80.0, bore.alignment_length_m]


def same_start_by_elevation(bore):
    bore.profile_by, bore.profile_values_m = "elevation", [0.0, -2.2, -2.0, 0.0]


@pytest.mark.parametrize("change", [deeper_ahead, turned_aside_ahead, same_start_by_elevation])
def test_a_plan_that_differs_ahead_of_the_head_alone_is_taken_and_every_rod_stays(bore, change):
    drilled(bore)
    before = places(bore)
    change(bore)
    bore.save()
    # Within 1 mm: a ten-thousandth of a degree is 8 m or more.
    assert places(bore) == pytest.approx(before, abs=1e-3)


def test_ground_that_was_surveyed_anew_is_taken(bore):
    """Depths are below the ground: that it lies elsewhere was so before, too."""
    drilled(bore)
    bore.ground_stations_m, bore.ground_elevations_m = [0.0, 100.0], [3.0, 3.2]
    bore.save()
    assert places(bore)[0, 2] == pytest.approx(3.0 + 0.2 * 0.03 - 0.3, abs=0.01)


def test_an_abandoned_leg_is_in_the_ground_too(bore):
    rods = drilled(bore)
    factories.RodWithdrawalFactory(rod=rods[0], reason="a stone")
    entry_moved(bore)
    assert "of the abandoned leg 1 would lie 6 ft 6" in refused(bore)


@pytest.mark.parametrize("stations", [{}, {"from_station_m": 5.0, "to_station_m": 30.0}])
@pytest.mark.parametrize("move", [entry_moved, turned_aside, begun_deeper])
def test_what_was_reamed_stays_where_it_is(bore, move, stations):
    HolePassFactory(bore=bore, **stations)
    move(bore)
    assert "by this plan what was reamed or pulled in would lie" in refused(bore)


def test_a_plan_without_a_path_is_refused_while_something_is_in_the_ground(bore):
    drilled(bore)
    bore.profile_stations_m = [0.0, 20.0, 10.0, bore.alignment_length_m]
    assert "no path follows from this plan" in refused(bore)


def test_nothing_but_the_plan_of_a_closed_out_bore_is_held(bore):
    from_plan = Bore.objects.get(pk=bore.pk)
    close_out(bore)
    deeper_ahead(from_plan)
    assert "is closed out: it was drilled by the plan that it has" in refused(from_plan)
    again = Bore.objects.get(pk=bore.pk)
    again.name = "As it is called now"
    again.save()


def shallow_profile(entry_m=0.0):
    """Rods of 3 m down 12 %, level, and up 10 %, from a station of the alignment."""
    count = round((100.0 - entry_m) / 2.98)
    pitches = np.concatenate([np.full(10, -0.12), np.zeros(12), np.full(count - 21, 0.1)])
    text = ".".join(str(round(one * 1e7)) for one in pitches)
    return f"{round(entry_m * 1e6)}~0~3000000x{count}~{text}"


def test_a_profile_with_another_entry_is_not_taken_once_a_rod_is_in_the_ground(client, bore):
    person = person_in_role("Coordinator")
    client.force_login(person)
    drilled(bore)
    before = places(bore)
    sent = {"plan": shallow_profile(-2.0), "edits": "", "version": bore.version, "pit": "stays"}
    answer = client.post(reverse("conflicts:profile-take", args=[bore.pk]), sent)
    assert answer.status_code == 409
    assert MOVED in answer.content.decode()
    assert places(bore) == pytest.approx(before, abs=1e-9)
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []
    # With the entry that it has, it is.
    take_profile(bore, read_plan(shallow_profile()), by=person, opened_version=bore.version)
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m
    assert places(bore) == pytest.approx(before, abs=1e-3)


def test_no_profile_is_taken_of_a_closed_out_bore(client, bore):
    client.force_login(person_in_role("Coordinator"))
    close_out(bore)
    sent = {"plan": shallow_profile(), "edits": "", "version": bore.version}
    answer = client.post(reverse("conflicts:profile-take", args=[bore.pk]), sent)
    assert answer.status_code == 409
    assert "is closed out" in answer.content.decode()
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []


def test_the_form_says_why_and_keeps_what_was_typed(client, bore):
    client.force_login(person_in_role("Coordinator"))
    drilled(bore)
    address = reverse("conflicts:bore-edit", args=[bore.pk])
    answer = client.post(address, form_of(client, address) | {"profile-0-value": "2 ft"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert MOVED in text
    assert 'value="2 ft"' in text
    assert Bore.objects.get(pk=bore.pk).profile_values_m[0] == 0.0
    renamed = client.post(address, form_of(client, address) | {"name": "B-2"})
    assert renamed.status_code == 302
    assert Bore.objects.get(pk=bore.pk).name == "B-2"


def test_the_admin_says_why(admin_client, bore):
    drilled(bore)
    address = reverse("admin:conflicts_bore_change", args=[bore.pk])
    sent = form_of(admin_client, address) | {"profile_values_m": "0.5,2.0,2.0,0.0"}
    answer = admin_client.post(address, sent)
    assert answer.status_code == 200
    assert MOVED in answer.content.decode()
    assert Bore.objects.get(pk=bore.pk).profile_values_m[0] == 0.0


def test_a_job_file_replaces_no_bore_with_a_pass(bore):
    HolePassFactory(bore=bore)
    with pytest.raises(JobFileError, match="signed or kept for good"):
        load_job(document_text(export_job(bore.job)).encode(), replace=True)
    assert HolePass.objects.exists()
