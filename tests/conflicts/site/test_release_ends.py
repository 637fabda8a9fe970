"""What else ends a release: a close-out, retiring, what cannot be computed, changes that nobody recorded."""

from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.drill_answer import drill_answer
from conflicts.errors import ReleaseHeldError
from conflicts.ground_changes import changes_since
from conflicts.models import Bore, CloseOut, CrossingWatch, Release
from conflicts.release import ReleaseState, sign_release, standing_at, standing_of
from conflicts.watch_table import watch_table
from locates.desk.retire import retire
from locates.errors import RetiredMeanwhileError
from locates.local_time import format_moment
from locates.models import ClearanceRequirement, Mark, TestHole
from tests import factories
from tests.site_of_today import bore_of_today
from tests.wrong_clocks import RIGHT

pytestmark = pytest.mark.django_db


@pytest.fixture
def person():
    return factories.PersonFactory()


@pytest.fixture
def release(person):
    signed = new_release(bore_of_today())
    sign_release(signed, by=person)
    assert standing(signed).is_in_force
    return signed


def new_release(bore):
    now = RIGHT()
    shift = {"shift_from": now - timedelta(minutes=1), "shift_until": now + timedelta(hours=4)}
    return Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift)


def standing(release):
    return standing_of(Release.objects.with_course().get(pk=release.pk))


def test_before_its_shift_it_is_not_in_force_yet_and_says_when_it_begins(person):
    bore, now = bore_of_today(), RIGHT()
    begins = now + timedelta(minutes=20)
    shift = {"shift_from": begins, "shift_until": now + timedelta(hours=4)}
    sign_release(Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=person)
    release = Release.objects.with_course().get()
    found = standing(release)
    assert found.state is ReleaseState.NOT_YET
    assert found.reasons == (f"Its shift begins {format_moment(begins, bore.job.time_zone)}.",)
    assert standing_at(release, begins - timedelta.resolution, []).state is ReleaseState.NOT_YET
    assert standing_at(release, begins, []).is_in_force


def unrecorded(model, **values):
    """Change a table as its owner can, past the triggers that keep the record of its changes."""
    table = model._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        model.objects.update(**values)
        cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


@pytest.mark.parametrize(
    ("model", "values"),
    [
        (ClearanceRequirement, {"crossing_m": 0.31}),
        (Mark, {"stated_width_m": 0.12}),
        (TestHole, {"depth_to_top_m": 0.91}),
    ],
)
def test_a_change_that_was_kept_from_the_record_ends_it_all_the_same(release, model, values):
    unrecorded(model, **values)
    assert changes_since(release.bore, release.last_event_id) == []
    found = standing(release)
    assert found.state is ReleaseState.LAPSED
    assert found.reasons == ("The records are not those that it was signed on.",)


def test_a_check_that_holds_ends_it_though_no_change_was_recorded(release):
    """An answer is no figure, so the digest of the inputs may stay as it is."""
    unrecorded(TestHole, is_open=False)
    assert changes_since(release.bore, release.last_event_id) == []
    assert not standing(release).is_in_force


def test_a_close_out_ends_it_and_nothing_is_signed_after_it(release, person):
    bore = release.bore
    for pass_made in ("pilot", "reaming", "pullback"):
        crossing = {"mark": bore.job.marks.get(), "kind": "crossing", "station_m": 50.0}
        watch = CrossingWatch(bore=bore, pass_made=pass_made, seen=True, gap_m=0.6, **crossing)
        record_watch(watch, by=person)
    assert standing(release).is_in_force
    close_out(CloseOut(bore=bore), by=person)
    assert not standing(release).is_in_force
    assessed = computed_states([bore], timezone.now())[0].assessed
    answer = drill_answer(bore, watch_table(assessed, bore.pilot_diameter_m))
    assert (answer.is_yes, answer.close_out.bore_id) == (False, bore.pk)
    # Also by itself, for whoever asks without the changes.
    found = standing_at(Release.objects.with_course().get(), RIGHT(), [])
    assert (found.state, found.reasons) == (
        ReleaseState.OVER,
        ("The bore is closed out: it was drilled.",),
    )
    with pytest.raises(ReleaseHeldError, match="The bore is closed out"):
        sign_release(new_release(bore), by=person)


@pytest.mark.parametrize("what", ["bore", "job"])
def test_it_ends_with_the_retiring_of_its_bore_or_job(release, person, what):
    bore = Bore.objects.select_related("job").get()
    retire(bore if what == "bore" else bore.job, by=person)
    assert not standing(release).is_in_force
    found = standing_at(Release.objects.with_course().get(), RIGHT(), [])
    assert (found.state, found.reasons) == (ReleaseState.LAPSED, ("The bore or its job is retired.",))
    with pytest.raises(RetiredMeanwhileError):
        sign_release(new_release(bore), by=person)


def test_a_job_that_lacks_what_is_required_has_no_release_in_force(release):
    ClearanceRequirement.objects.all().delete()
    assert not standing(release).is_in_force
