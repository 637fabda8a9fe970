"""A camera's look before the bore goes stale as an exposure does, and is told with its date and its age."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.utils import timezone

from conflicts.bore_states import computed_states
from conflicts.checks import release_checks
from conflicts.models import Bore, CameraInspection
from locates.local_time import format_moment
from tests import factories
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

NOT_SEEN = "Gravity sewer not exposed: S-1."


@pytest.fixture
def sewer():
    """A sewer across a bore in a state that asks for a camera where it is not exposed."""
    bore = bore_of_today()
    return factories.MarkFactory(
        job=bore.job,
        ref="S-1",
        operator=bore.job.operators.get(),
        facility_type="sewer_drain",
        geometry=factories.line((70, -15), (70, 15)),
    )


def look(sewer, *, days_ago, result="no_damage"):
    return CameraInspection.objects.create(
        bore=sewer.job.bores.get(),
        mark=sewer,
        stage="before",
        inspected_at=timezone.now() - timedelta(days=days_ago),
        inspected_by="Lowmoor Pipe",
        result=result,
        recorded_by=factories.PersonFactory(),
        recorded_by_name="R. Pell",
    )


def duties_of(sewer):
    stored = Bore.objects.select_related("job__jurisdiction").get(job=sewer.job)
    [state] = computed_states([stored], timezone.now())
    [check] = [one for one in release_checks(state.assessed) if one.code == "duties"]
    return check


def change(mark, **values):
    for name, value in values.items():
        setattr(mark, name, value)
    mark.save()


def test_a_sewer_that_nobody_looked_into_holds(sewer):
    assert NOT_SEEN in duties_of(sewer).sentence


def test_a_look_counts_until_the_line_is_re_marked(sewer):
    seen = look(sewer, days_ago=12)
    assert NOT_SEEN not in duties_of(sewer).sentence
    change(sewer, re_marked_at=timezone.now() - timedelta(days=13))
    assert NOT_SEEN not in duties_of(sewer).sentence
    change(sewer, re_marked_at=timezone.now() - timedelta(days=3))
    sentence, zone = duties_of(sewer).sentence, sewer.job.time_zone
    assert NOT_SEEN in sentence
    assert f"A camera looked into S-1 {format_moment(seen.inspected_at, zone)}, 12 days ago, and" in sentence
    assert (
        f"does not count: the line was re-marked since ({format_moment(sewer.re_marked_at, zone)})"
        in sentence
    )
    look(sewer, days_ago=1)
    assert NOT_SEEN not in duties_of(sewer).sentence


def test_no_look_counts_where_the_mark_is_reported_gone(sewer):
    look(sewer, days_ago=0)
    change(sewer, is_intact=False)
    assert "today, and that does not count: its mark is reported gone." in duties_of(sewer).sentence


@pytest.mark.parametrize(
    ("result", "why"), [("damage", "it saw damage"), ("not_conclusive", "it was not conclusive")]
)
def test_a_look_that_did_not_see_it_whole_does_not_count_and_says_so(sewer, result, why):
    look(sewer, days_ago=1, result=result)
    sentence = duties_of(sewer).sentence
    assert NOT_SEEN in sentence
    assert f"1 day ago, and that does not count: {why}" in sentence


def test_the_passed_check_tells_when_a_camera_looked_and_how_long_ago(sewer):
    seen = look(sewer, days_ago=40)
    [state] = computed_states([sewer.job.bores.select_related("job__jurisdiction").get()], timezone.now())
    scene = state.assessed.scene
    rule = replace(scene.inputs.job.rule, every_line_must_be_exposed=False)
    inputs = replace(scene.inputs, job=replace(scene.inputs.job, rule=rule))
    assessed = replace(state.assessed, scene=replace(scene, inputs=inputs))
    [check] = [one for one in release_checks(assessed) if one.code == "duties"]
    assert not check.holds
    when = format_moment(seen.inspected_at, sewer.job.time_zone)
    assert check.sentence.endswith(
        f"S-1 is not exposed; a camera looked into it before the bore, {when}, 40 days ago."
    )


def test_how_long_ago_it_was_makes_it_no_other_fault(sewer):
    look(sewer, days_ago=4)
    change(sewer, is_intact=False)
    stored = Bore.objects.select_related("job__jurisdiction").get(job=sewer.job)
    keys = []
    for later in (timedelta(), timedelta(days=2)):
        [state] = computed_states([stored], timezone.now() + later)
        [check] = [one for one in release_checks(state.assessed) if one.code == "duties"]
        keys.append([one.key for one in check.faults if "Gravity sewer" in one.key])
        assert f"{4 + later.days} days ago" in check.sentence
    assert keys[0] == keys[1] != []
