"""What was seen at the site, on the page of a bore as it stood: walks, watches, photos, and none of later."""

import pytest
from django.urls import reverse

from conflicts.desk.record_watch import record_camera, record_watch
from conflicts.desk.sign_walk import sign_walk
from conflicts.models import Bore, CameraInspection, CrossingWatch, DailyWalk
from locates.desk.keep_photo import keep_photo
from locates.exchange.moments import write_moment
from locates.past_moments import database_clock
from locates.roles import FOREMAN, SAFETY_MANAGER
from tests import factories
from tests.photo_files import photo_upload

pytestmark = pytest.mark.django_db(transaction=True, serialized_rollback=True)

PILOT = {"pass_made": "pilot"}


@pytest.fixture
def bore() -> Bore:
    return factories.small_job().bores.get()


@pytest.fixture
def shown(client, bore):
    client.force_login(factories.person_in_role(SAFETY_MANAGER))

    def at(moment) -> str:
        address = reverse("conflicts:bore-as-of", args=[bore.pk], query={"at": write_moment(moment)})
        return client.get(address).content.decode()

    return at


def see(bore, by, word) -> None:
    """A walk, a watch with a photo and a camera inspection, each with a word in its remarks."""
    mark = bore.job.marks.get()
    answers = {"marks_intact": True, "device_checked": True, "device": "receiver 7", "holes_open": True}
    sign_walk(DailyWalk(bore=bore, remarks=f"{word} walk", **answers), by=by)
    watch = CrossingWatch(
        bore=bore, mark=mark, kind="crossing", station_m=50.0, seen=True, gap_m=0.2, **PILOT,
        required_m=0.305, remarks=f"{word} watch",
    )  # fmt: skip
    record_watch(watch, by=by)
    keep_photo(watch, photo_upload(name=f"{word}.jpg"), by=by)
    look = CameraInspection(
        bore=bore, mark=mark, stage="before", inspected_at=database_clock(), inspected_by="Lowmoor Pipe",
        result="no_damage", remarks=f"{word} camera",
    )  # fmt: skip
    record_camera(look, by=by)


def test_walks_watches_cameras_and_photos_stand_as_of_then(bore, shown):
    foreman = factories.person_in_role(FOREMAN)
    nothing = database_clock()
    see(bore, foreman, "early")
    between = database_clock()
    see(bore, foreman, "late")
    seen = ("walk", "watch", "camera")
    before = shown(nothing)
    assert "Nobody had signed a walk along this bore by then." in before
    assert "Nobody had watched a pass by then." in before
    then = shown(between)
    assert [f"early {one}" in then for one in seen] == [True] * 3
    assert 'alt="Photo early.jpg"' in then
    assert "less than required" in then
    assert "late" not in then.partition("Walks of this bore")[2].partition("As of</dt>")[0]
    now = shown(database_clock())
    assert [f"late {one}" in now for one in seen] == [True] * 3


def test_the_pages_of_walks_stay_at_the_moment(bore, shown):
    for _ in range(31):
        factories.DailyWalkFactory(bore=bore)
    at = database_clock()
    assert f'href="?at={write_moment(at).replace(":", "%3A")}&amp;page=2#walks"' in shown(at)
