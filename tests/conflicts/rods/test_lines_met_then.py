"""A line that the hole met when a rod was logged is asked for, whatever became of its record since."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from conflicts.desk.log_rod import log_rod, withdraw_rods
from conflicts.desk.variance import request_variance, sign_variance
from conflicts.desk.withdraw_release import withdraw_release
from conflicts.errors import RodAskedError
from conflicts.models import (
    DrilledRod,
    Reassessment,
    Release,
    ReleaseWithdrawal,
    RodWithdrawal,
    Variance,
    VarianceSignature,
)
from conflicts.reassess import run
from conflicts.release import sign_release
from locates.desk.retire import retire
from locates.models import Mark
from tests import factories
from tests.conflicts.rods.test_lines_beside import AWAY, TO_EXIT, faults_of, look_at, table_of
from tests.conflicts.site.test_lost_stops import move_away, release
from tests.factories import person_in_role
from tests.site_of_today import bore_of_today

pytestmark = pytest.mark.django_db

ALONG = ((20.0, 0.0), (40.0, 0.0), (60.0, 0.0), (80.0, 0.0))


@pytest.fixture
def bore():
    stored = bore_of_today()
    release(stored, factories.PersonFactory())
    return stored


@pytest.fixture
def sewer(bore):
    """A sewer across the dots whose near end is 4 m off the plan."""
    return factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=factories.line((70.0, -9.0), (70.0, -4.0)),
    )


def log_at(bore, after, east_m, north_m, error_m=0.1):
    """A rod of 20 m that ends at a dot, or without one at None, whatever is asked about it."""
    person, dot = factories.PersonFactory(), {}
    rod = {"bore": bore, "after": after, "length_m": 20.0, "pitch_ratio": 0.0, "depth_m": 2.0}
    if east_m is not None:
        longitude, latitude = factories.point(east_m, north_m).coords
        dot = {"dot_longitude_deg": longitude, "dot_latitude_deg": latitude, "dot_error_m": error_m}
    try:
        return log_rod(DrilledRod(**rod, **dot), by=person)
    except RodAskedError as asked:
        tokens = [one.token for one in asked.oddities]
    return log_rod(DrilledRod(**rod, **dot), by=person, confirmed=tokens)


def drill(bore, places, after=None):
    for east_m, north_m in places:
        after = log_at(bore, after, east_m, north_m)
    return after


def gone_of(bore):
    return [(row.lies.mark_ref, row.lies.leg, len(row.passes)) for row in table_of(bore).gone]


def told_of(bore, words):
    return [one for one in faults_of(bore) if words in one and "SS9" in one]


def retype(mark, facility_type):
    mark.facility_type = facility_type
    mark.save()


def test_an_entry_keeps_the_lines_that_its_rod_came_to_and_no_others(bore, sewer):
    drill(bore, AWAY)
    kept = [[one["mark_ref"] for one in rod.met] for rod in DrilledRod.objects.order_by("number")]
    [gas] = [one.ref for one in Mark.objects.exclude(pk=sewer.pk)]
    # The rods end at 20, 40, 60 and 80 m; the lines lie at 50 and at 70 m.
    assert kept == [[], [], [gas], ["SS9"]]
    [line] = DrilledRod.objects.get(number=4).met
    assert (line["mark_id"], line["facility_type"]) == (str(sewer.pk), "sewer_drain")
    assert line["station_m"] == pytest.approx(70.0, abs=0.2)


def test_a_line_that_is_retired_after_it_was_drilled_past_is_watched_and_looked_into_all_the_same(
    bore, sewer
):
    drill(bore, TO_EXIT)
    asked = len(table_of(bore).rows)
    retire(sewer, by=factories.PersonFactory())
    assert len(table_of(bore).rows) == asked
    assert gone_of(bore) == [("SS9", "", 3)]
    assert len(told_of(bore, "No watch of the ")) == 3
    [words] = told_of(bore, "No camera inspection after the bore of the sewer")
    assert "SS9, which the drilled hole met and which is not there any more" in words
    [row] = table_of(bore).gone
    for name in ("pilot", "reaming", "pullback"):
        look_at(bore, row, name)
    assert told_of(bore, "No watch of the ") == []


def test_a_sewer_that_is_called_water_after_it_was_drilled_past_is_looked_into_all_the_same(
    client, bore, sewer
):
    drill(bore, AWAY)
    retype(sewer, "potable_water")
    [words] = told_of(bore, "No camera inspection after the bore of the sewer")
    assert "SS9, a sewer when it was drilled past" in words
    # It lies where it lay, so it is one crossing of the hole and none that is gone.
    assert gone_of(bore) == []
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:bore", args=[bore.pk])).content.decode()
    assert page.count("Record a camera inspection") == 1


def test_what_was_required_when_a_line_was_drilled_past_is_not_lowered_with_its_type(client, bore, sewer):
    for facility_type, asked_m in (("sewer_drain", 1.2), ("potable_water", 0.0)):
        factories.ClearanceRequirementFactory(
            job=bore.job,
            operator=None,
            facility_type=facility_type,
            crossing_m=asked_m,
            alongside_m=asked_m,
        )
    drill(bore, AWAY)
    retype(sewer, "potable_water")
    [row] = [one for one in table_of(bore).rows if one.lies.mark_ref == "SS9"]
    assert (row.lies.required_m, row.lies.asked_now_m) == (1.2, 0.0)
    # It measures 0.6 m: half of what was required of the hole there.
    look_at(bore, row, "pilot")
    assert told_of(bore, "less than required") != []
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "as released or drilled past; now" in page


def test_a_release_on_less_that_is_signed_after_the_rods_is_the_signature_for_it(bore):
    bore.job.requirements.update(crossing_m=0.6)
    drill(bore, ALONG)
    bore.job.requirements.update(crossing_m=0.1)
    [row] = table_of(bore).rows
    assert (row.lies.required_m, row.lies.asked_now_m) == (0.6, 0.1)
    release(bore, factories.PersonFactory())
    [row] = table_of(bore).rows
    assert row.lies.required_m == 0.1


def test_a_line_half_passed_is_held_to_more_than_its_crossing_asks_only_once_it_is_another(bore):
    """The third rod ends at 60 m; its bit is in the zone of a line at 61 m, which so far looks alongside."""
    place = factories.line((61.0, -9.0), (61.0, -4.0))
    line = factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        facility_type="sewer_drain",
        geometry=place,
    )
    drill(bore, AWAY)
    entries = DrilledRod.objects.filter(number__in=(3, 4)).order_by("number")
    met = [(one["kind"], one["required_m"]) for rod in entries for one in rod.met if one["mark_ref"] == "SS9"]
    assert met == [("alongside", 0.61), ("crossing", 0.305)]

    def required():
        return [row.lies.required_m for row in table_of(bore).rows if row.lies.mark_ref == "SS9"]

    assert required() == [0.305]
    retype(line, "potable_water")
    assert required() == [0.61]


def test_a_line_that_is_drawn_elsewhere_after_it_was_drilled_past_is_asked_for_where_it_lay(bore, sewer):
    drill(bore, AWAY)
    sewer.geometry = factories.line((70.0, -39.0), (70.0, -34.0))
    sewer.save()
    assert gone_of(bore) == [("SS9", "", 3)]


def test_an_entry_that_was_taken_back_names_nothing(bore, sewer):
    third = drill(bore, AWAY[:3])
    wrong = log_at(bore, third, *AWAY[3])
    assert "SS9" in str(wrong.met)
    withdraw_rods(RodWithdrawal(rod=wrong, kind="undo"), by=factories.PersonFactory())
    retire(sewer, by=factories.PersonFactory())
    assert gone_of(bore) == []


# Of the second the hole is so far off that nothing else has the sewer looked up.
@pytest.mark.parametrize("turned_back", [(94.0, 9.0), (94.0, 20.0)])
def test_of_a_line_that_is_recorded_as_it_was_the_readings_since_say_whether_the_hole_meets_it(
    bore, sewer, turned_back
):
    """A rod without a dot goes on as it headed, through the sewer; the next dot shows that it turned back,
    and farther from the sewer than the rod without a dot may be off.
    """
    third = drill(bore, AWAY[:3])
    blind = log_at(bore, third, None, None)
    assert [one["mark_ref"] for one in blind.met] == ["SS9"]
    drill(bore, [turned_back], after=blind)
    assert not any("SS9" in row.lies.mark_ref for row in table_of(bore).rows)
    # Once its record is another, nobody can say so any more.
    retire(sewer, by=factories.PersonFactory())
    assert gone_of(bore) == [("SS9", "", 3)]


def test_a_line_that_a_release_named_is_the_rods_once_that_is_taken_back_before_its_shift():
    bore, now = bore_of_today(), timezone.now()
    shift = {"shift_from": now + timedelta(minutes=30), "shift_until": now + timedelta(hours=2)}
    signed = sign_release(
        Release(bore=bore, crew="Crew 2", rig="Rig 7", **shift), by=factories.PersonFactory()
    )
    drill(bore, ALONG)
    gas = Mark.objects.get()
    move_away(bore)
    run(Reassessment.objects.get(bore=bore).pk)
    assert not bore.drilled_alone.exists()
    withdraw_release(ReleaseWithdrawal(release=signed, reason="Rain."), by=factories.PersonFactory())
    run(Reassessment.objects.get(bore=bore).pk)
    assert [(one.mark_ref, one.is_gone) for one in bore.drilled_alone.all()] == [(gas.ref, True)]


def test_a_greater_steering_allowance_since_takes_no_line_away(bore):
    """A dot off by 0.7 m, and a line 0.85 m beside: met for what 0.7 m are past the 0.3 m allowed then."""
    factories.MarkFactory(
        job=bore.job,
        operator=bore.job.operators.get(),
        ref="SS9",
        geometry=factories.line((25.0, 0.85), (35.0, 0.85)),
    )
    rough = log_at(bore, log_at(bore, None, 20.0, 0.0), 40.0, 0.0, error_m=0.7)
    assert [one["mark_ref"] for one in rough.met] == ["SS9"]
    assert [row.lies.mark_ref for row in table_of(bore).rows if row.lies.is_drilled] == ["SS9"]
    bore.job.bore_horizontal_m = 0.7
    bore.job.save()
    assert gone_of(bore) == [("SS9", "", 3)]


def test_a_line_that_only_an_abandoned_leg_met_is_asked_for_the_pilot_alone(bore, sewer):
    drill(bore, AWAY)
    first = DrilledRod.objects.get(number=1)
    pulled = RodWithdrawal(rod=DrilledRod.objects.get(number=2), kind="pull_back", reason="Too far right.")
    withdraw_rods(pulled, by=factories.PersonFactory())
    drill(bore, ALONG[1:], after=first)
    retire(sewer, by=factories.PersonFactory())
    assert gone_of(bore) == [("SS9", "Leg 1", 1)]


def test_a_variance_for_it_as_a_whole_excuses_it(client, bore, sewer):
    drill(bore, AWAY)
    retire(sewer, by=factories.PersonFactory())
    [row] = table_of(bore).gone
    asked = Variance(
        bore=bore,
        subject="gone",
        mark=sewer,
        kind=row.lies.kind,
        station_m=row.lies.station_m,
        reason="The mark was of the next street; the camera of the city shows no sewer here.",
    )
    request_variance(asked, by=factories.PersonFactory())
    signature = VarianceSignature(variance=asked, valid_until=timezone.now() + timedelta(days=2))
    sign_variance(signature, by=person_in_role("Safety manager"))
    assert told_of(bore, "") == []
    client.force_login(person_in_role("Safety manager", bore.job.organisation))
    shown = client.get(reverse("conflicts:variance", args=[asked.pk])).content.decode()
    assert "The crossing of SS9 as rod 4 met it, which is not there any more." in shown


def test_the_pages_say_that_a_rod_met_it(client, bore, sewer):
    drill(bore, AWAY)
    retire(sewer, by=factories.PersonFactory())
    client.force_login(person_in_role("Foreman", bore.job.organisation))
    page = client.get(reverse("conflicts:watches", args=[bore.pk])).content.decode()
    assert "Rod 4 met it" in page
    [row] = table_of(bore).gone
    form = client.get(reverse("conflicts:watch", args=[bore.pk, row.place, "pilot"])).content.decode()
    assert "Rod 4 met this line as it was recorded" in form
