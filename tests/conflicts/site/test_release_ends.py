"""What else ends a release: a close-out, retiring, what cannot be computed, changes that nobody recorded."""

from datetime import timedelta

import pytest
from django.contrib.gis.geos import MultiPolygon
from django.db import connection
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.desk.close_out import close_out
from conflicts.desk.record_watch import record_watch
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.drill_answer import drill_answer
from conflicts.errors import ReleaseHeldError
from conflicts.ground_changes import changes_since
from conflicts.models import Bore, CloseOut, CrossingWatch, Release, ReleaseWithdrawal
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
    answer = drill_answer(bore, watch_table(assessed, bore.pilot_diameter_m), assessed)
    assert (answer.is_yes, answer.close_out.bore_id) == (False, bore.pk)
    # Also by itself, for whoever asks without the changes.
    found = standing_at(Release.objects.with_course().get(), RIGHT(), [])
    assert (found.state, found.reasons) == (
        ReleaseState.OVER,
        ("The bore is closed out: it was drilled.",),
    )
    with pytest.raises(ReleaseHeldError, match="The bore is closed out"):
        sign_release(new_release(bore), by=person)


def far_hole(job):
    """Of the line that the bore passes, 45 m north of it: it tells how deep the line lies."""
    Mark.objects.update(geometry=factories.line((50, -60), (50, 60)))
    return factories.TestHoleFactory(
        job=job, mark=job.marks.get(), position=factories.point(50, 45), depth_to_top_m=0.9
    )


def far_mark(job):
    """The only mark of an operator who answered that all is marked: 60 m north, inside the work area."""
    ticket = job.tickets.get()
    ticket.area = MultiPolygon(factories.box(-10, -20, 110, 80), srid=4326)
    ticket.save()
    operator = factories.FacilityOperatorFactory(job=job)
    mark = factories.MarkFactory(job=job, operator=operator, geometry=factories.line((0, 60), (90, 60)))
    factories.ResponseFactory(ticket=ticket, operator=operator, response="marked")
    return mark


@pytest.mark.parametrize(
    ("made", "change"),
    [(far_hole, {"depth_to_top_m": 0.5}), (far_mark, {"retired_at": factories.PLANNED_START_AT})],
)
def test_a_far_record_that_its_figures_rest_on_ends_it_for_good_though_changed_back(person, made, change):
    bore = bore_of_today()
    record = made(bore.job)
    signed = sign_release(new_release(bore), by=person)
    assert standing(signed).is_in_force
    everyone = type(record).with_retired
    [name] = change
    before = getattr(record, name)
    everyone.filter(pk=record.pk).update(**change)
    assert standing(signed).state is ReleaseState.LAPSED
    everyone.filter(pk=record.pk).update(**{name: before})
    assert standing(signed).state is ReleaseState.LAPSED


@pytest.mark.parametrize("withdrawn", ["first", "second"])
def test_a_withdrawal_ends_every_release_of_its_bore_that_was_signed_by_then(person, withdrawn):
    bore = bore_of_today()
    signed = {name: sign_release(new_release(bore), by=person) for name in ("first", "second")}
    taken = ReleaseWithdrawal(release=signed.pop(withdrawn), reason="Line hit next door")
    withdraw_release(taken, by=person)
    [other] = signed.values()
    found = standing(other)
    assert found.state is ReleaseState.LAPSED
    assert found.reasons[0].startswith("A release of the bore was withdrawn ")
    assert standing(sign_release(new_release(bore), by=person)).is_in_force


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
