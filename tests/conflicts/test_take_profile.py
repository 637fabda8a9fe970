"""Taking a profile as the plan of its bore: stored as it was shown, told to everybody, by whoever may."""

from datetime import timedelta

import numpy as np
import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.assess import compute_bores, store_assessment
from conflicts.desk.take_profile import area_with_entry, plan_by_rods, take_profile
from conflicts.engine.frame import frame_about
from conflicts.models import Bore, Pit, Reassessment, Release
from conflicts.plan_ground import plan_ground
from conflicts.plan_text import read_plan
from conflicts.release import sign_release
from locates.models import RecordEvent
from tests import factories
from tests.conflicts.test_profile_search_page import asked_as_shown

pytestmark = pytest.mark.django_db


@pytest.fixture
def bore():
    return factories.small_job(name="Alder Street").bores.get()


@pytest.fixture
def person():
    return factories.person_in_role("Coordinator")


@pytest.fixture
def found(client, bore, person):
    client.force_login(person)

    def search(**changes):
        def page(**asked):
            return client.get(reverse("conflicts:profile-search", args=[bore.pk]), asked)

        return page(**asked_as_shown(page, **changes)).context["shown"].text

    return search


def take(client, bore, plan, **sent):
    version = Bore.objects.get(pk=bore.pk).version
    return client.post(
        reverse("conflicts:profile-take", args=[bore.pk]),
        {"plan": plan, "edits": "", "version": version} | sent,
    )


def test_what_is_taken_is_what_was_shown_and_the_bore_is_assessed_with_it(client, bore, found, person):
    plan = found()
    shown = plan_ground(bore.pk).measured(read_plan(plan))
    assert take(client, bore, plan).url == reverse("conflicts:bore", args=[bore.pk])
    stored = Bore.objects.get(pk=bore.pk)
    assert (stored.profile_by, stored.profile_stations_m, stored.edited_by) == ("", [], person)
    assert Reassessment.objects.filter(bore=bore).exists()
    theirs = compute_bores([bore.pk])[bore.pk].crossings
    assert [one.clearance.worst_case_m for one in shown.crossings] == pytest.approx(
        [one.clearance.worst_case_m for one in theirs], abs=1e-6
    )


def test_pitches_changed_by_hand_are_taken_with_it(client, bore, found):
    plan = found()
    take(client, bore, plan, edits="5~-500000")
    assert Bore.objects.get(pk=bore.pk).rod_pitches_ratio[5] == pytest.approx(-0.05)


@pytest.mark.parametrize("station_m", [-6.0, 4.0])
def test_a_moved_rig_moves_the_entry_and_no_figure(bore, person, station_m):
    bore.ground_stations_m, bore.ground_elevations_m = [0.0, 30.0, 90.0], [100.0, 101.0, 100.5]
    bore.save()
    ground = plan_ground(bore.pk)
    count = round((100.0 - station_m) / 2.98)
    pitches = np.concatenate([np.full(10, -0.12), np.zeros(12), np.full(count - 21, 0.1)])
    rods = read_plan(
        f"{round(station_m * 1e6)}~99900000~3000000x{count}~"
        + ".".join(str(round(one * 1e7)) for one in pitches)
    )
    shown = ground.measured(rods)
    before = list(bore.alignment.coords)
    take_profile(bore, rods, by=person, opened_version=bore.version)
    stored = Bore.objects.get(pk=bore.pk)
    assert stored.alignment_length_m == pytest.approx(ground.exit_station_m - station_m, abs=1e-6)
    assert stored.alignment.coords[-1] == before[-1]
    assert stored.ground_stations_m[0] == 0.0
    theirs = compute_bores([bore.pk])[bore.pk]
    assert [one.clearance.worst_case_m for one in shown.crossings] == pytest.approx(
        [one.clearance.worst_case_m for one in theirs.crossings], abs=1e-5
    )
    assert len(shown.crossings) == 1
    # Where the recorded ground stood, the same height of it stands.
    assert float(theirs.scene.ground.at(30.0 - station_m)) == pytest.approx(101.0)


def test_whoever_may_not_edit_a_bore_takes_nothing_and_sees_no_button(client, bore, found):
    plan = found()
    client.force_login(factories.person_in_role("Safety manager"))
    answer = client.get(reverse("conflicts:profile-by-hand", args=[bore.pk]), {"plan": plan})
    assert "Take this profile" not in answer.content.decode()
    assert take(client, bore, plan).status_code == 403
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []


def test_a_bore_that_somebody_changed_meanwhile_is_not_overwritten(client, bore, found):
    plan = found()
    opened = Bore.objects.get(pk=bore.pk).version
    Bore.objects.get(pk=bore.pk).save()
    answer = take(client, bore, plan, version=opened)
    text = answer.content.decode()
    assert answer.status_code == 409
    assert "was changed by somebody else meanwhile" in text
    assert f'name="version" value="{opened + 1}"' in text
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []
    assert take(client, bore, plan).status_code == 302


def test_sent_twice_it_is_stored_once(client, bore, found):
    plan = found()
    version = Bore.objects.get(pk=bore.pk).version
    take(client, bore, plan, version=version)
    stored = Bore.objects.get(pk=bore.pk).version
    assert take(client, bore, plan, version=version).status_code == 302
    assert Bore.objects.get(pk=bore.pk).version == stored


def test_a_text_that_is_no_profile_stores_nothing(client, bore, found):
    found()
    for plan, edits in (("nonsense", ""), ("0~0~3000000~0.0", "9~1")):
        assert take(client, bore, plan, edits=edits).status_code == 400
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []


def test_what_the_job_files_rules_refuse_is_told_and_not_stored(client, bore, found):
    found()
    # Ten rods of thirty-three: they end two thirds before the exit.
    short = "0~-2000000~3000000x10~" + ".".join(["0"] * 11)
    answer = take(client, bore, short)
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "It is not the plan of the bore yet" in text
    assert "end within a rod" in text
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m == []


def test_open_releases_are_named_before_they_lapse(client, bore, found):
    now = timezone.now()
    job = bore.job
    job.tickets.update(legal_start_at=now - timedelta(days=5), expires_at=now + timedelta(days=20))
    job.bores.update(planned_start_at=now - timedelta(hours=1), planned_finish_at=now + timedelta(days=1))
    factories.DailyWalkFactory(bore=bore, walked_at=now)
    store_assessment(bore.pk)
    plan = found()
    release = Release(
        bore=Bore.objects.get(pk=bore.pk),
        shift_from=now,
        shift_until=now + timedelta(hours=8),
        crew="Crew 2",
        rig="Rig 7",
    )
    sign_release(release, by=factories.person_in_role("Foreman"))
    address = reverse("conflicts:profile-by-hand", args=[bore.pk])
    text = client.get(address, {"plan": plan}).content.decode()
    assert "1 open release of this bore lapses" in text
    assert "Crew 2 with Rig 7" in text
    take(client, bore, plan)
    later = client.get(address, {"plan": plan}).content.decode()
    assert "No release of it is open now" in later


def moved_plan(station_m) -> str:
    """The text of a profile whose rig stands at a station of the factories' bore, and ends at its exit."""
    count = round((100.0 - station_m) / 2.98)
    pitches = np.concatenate([np.full(10, -0.12), np.zeros(12), np.full(count - 21, 0.1)])
    return f"{round(station_m * 1e6)}~0~3000000x{count}~" + ".".join(str(round(one * 1e7)) for one in pitches)


def entry_pit(bore) -> Pit:
    return Pit.objects.get(bore=bore, end="entry")


def offsets_m(bore, area) -> np.ndarray:
    """Corners of a pit, from the entry: along the first stretch of the bore and to its right."""
    alignment, corners = np.array(bore.alignment.coords), np.array(area.coords[0])
    frame = frame_about([alignment], bore.job.mean_height_m)
    plan = frame.to_ground(alignment[:, 0], alignment[:, 1])
    ahead = (plan[1] - plan[0]) / np.hypot(*(plan[1] - plan[0]))
    away = frame.to_ground(corners[:, 0], corners[:, 1]) - plan[0]
    return np.column_stack([away @ ahead, away @ np.array([ahead[1], -ahead[0]])])


@pytest.mark.parametrize("station_m", [-6.0, 4.0])
def test_the_entry_pit_moves_with_the_entry_and_both_are_recorded(client, bore, person, station_m):
    client.force_login(person)
    pit = entry_pit(bore)
    before = offsets_m(bore, pit.area)
    response = take(client, bore, moved_plan(station_m), pit="moves", pit_version=pit.version)
    assert response.url == reverse("conflicts:bore", args=[bore.pk])
    stored = Bore.objects.get(pk=bore.pk)
    assert stored.alignment.coords[0] != bore.alignment.coords[0]
    assert offsets_m(stored, entry_pit(bore).area) == pytest.approx(before, abs=1e-4)
    assert (entry_pit(bore).version, entry_pit(bore).edited_by) == (pit.version + 1, person)
    changed = RecordEvent.objects.filter(action="update", record_id__in=[str(bore.pk), str(pit.pk)])
    assert {one.table_name for one in changed} == {"conflicts_bore", "conflicts_pit"}


def test_the_entry_pit_turns_with_a_bore_that_begins_past_a_bend(bore):
    bore.alignment = factories.line((0, 0), (3, 0), (100, 30))
    before, area = bore.alignment, entry_pit(bore).area
    offsets = offsets_m(bore, area)
    plan_by_rods(bore, read_plan(moved_plan(4.0)))
    assert bore.alignment.coords[0] != before.coords[0]
    moved = area_with_entry(area, before, bore)
    assert offsets_m(bore, moved) == pytest.approx(offsets, abs=1e-4)


def test_the_entry_pit_stays_where_it_is_dug(client, bore, person):
    client.force_login(person)
    area = entry_pit(bore).area.coords
    take(client, bore, moved_plan(-6.0), pit="stays")
    assert Bore.objects.get(pk=bore.pk).rod_lengths_m
    assert entry_pit(bore).area.coords == area


@pytest.mark.parametrize("sent", [{}, {"pit": "perhaps"}])
def test_without_a_word_on_the_pit_nothing_is_taken_and_the_page_asks(client, bore, person, sent):
    client.force_login(person)
    response = take(client, bore, moved_plan(-6.0), **sent)
    assert response.status_code == 409
    page = " ".join(response.content.decode().split())
    assert "Say first whether it moves with it or stays." in page
    assert 'name="pit" value="moves" required' in page
    assert Bore.objects.get(pk=bore.pk).version == bore.version


def test_a_pit_that_somebody_changed_meanwhile_takes_nothing(client, bore, person):
    client.force_login(person)
    opened = entry_pit(bore).version
    changed = entry_pit(bore)
    changed.depth_m = 1.9
    changed.save()
    response = take(client, bore, moved_plan(-6.0), pit="moves", pit_version=opened)
    assert response.status_code == 409
    assert Bore.objects.get(pk=bore.pk).version == bore.version
    assert entry_pit(bore).area.coords == changed.area.coords


def test_a_bore_without_an_entry_pit_is_moved_without_a_question(client, bore, person):
    client.force_login(person)
    entry_pit(bore).delete()
    assert take(client, bore, moved_plan(-6.0)).status_code == 302
