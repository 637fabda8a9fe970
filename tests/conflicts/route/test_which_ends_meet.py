"""Which ends of bores are joined, and of which it is said why not."""

import pytest

from conflicts.route.joints import MEET_M, How, Why, find_meetings
from tests.conflicts.route.made_bores import bore, end, ends_of, pit, stated

WEST = bore("West", (0, 0), (100, 0))
# As floats go, a hundred metres and a foot lie a shade more than a foot from a hundred metres.
NEAR, FAR = 100 + MEET_M - 1e-9, 100 + MEET_M + 1e-6


def one_joint(*bores, said=()):
    found = find_meetings(bores, said)
    assert found.unjoined == ()
    [joint] = found.joints
    return joint


def one_unjoined(*bores, said=()):
    found = find_meetings(bores, said)
    assert found.joints == ()
    [unjoined] = found.unjoined
    return unjoined


def test_a_bore_that_ends_where_another_begins_meets_it():
    joint = one_joint(WEST, bore("East", (NEAR, 0), (200, 0)))
    assert ends_of(joint) == {end("West exit"), end("East entry")}
    assert joint.how is How.MEET
    assert joint.apart_m == pytest.approx(MEET_M, abs=1e-8)


def test_ends_farther_apart_than_is_stated_are_nothing_to_each_other():
    assert find_meetings([WEST, bore("East", (FAR, 0), (200, 0))]).joints == ()


def test_two_bores_may_meet_exit_to_exit():
    joint = one_joint(WEST, bore("East", (200, 0), (100, 0)))
    assert ends_of(joint) == {end("West exit"), end("East exit")}


def test_ends_that_lie_over_each_other_do_not_meet():
    unjoined = one_unjoined(WEST, bore("East", (100, 0), (200, 0), depths_m=(MEET_M + 1e-6, 0)))
    assert unjoined.why is Why.DEPTH
    assert unjoined.depth_apart_m == pytest.approx(MEET_M, abs=1e-5)
    joint = one_joint(WEST, bore("East", (100, 0), (200, 0), depths_m=(MEET_M, 0)))
    assert joint.how is How.MEET


def test_ends_of_which_a_depth_is_not_known_are_not_sure_to_meet():
    joint = one_joint(WEST, bore("East", (100, 0), (200, 0), depths_m=(None, 0)))
    assert joint.how is How.UNSURE
    assert not joint.is_sure


def test_one_pit_serves_two_bores_however_deep_they_come_into_it():
    pits = (pit(103, 0, 6), None)
    east = bore("East", (105, 1), (200, 0), pits=pits, depths_m=(1.5, 0))
    west = bore("West", (0, 0), (100, 0), pits=(None, pit(102, 0, 6)))
    joint = one_joint(west, east)
    assert joint.how is How.PIT
    assert joint.apart_m == pytest.approx(26**0.5)
    assert joint.depth_apart_m == 1.5


def test_a_pit_that_only_one_bore_has_serves_both_where_it_holds_the_other_end():
    east = bore("East", (105, 1), (200, 0))
    holding = bore("West", (0, 0), (100, 0), pits=(None, pit(103, 0, 6)))
    assert one_joint(holding, east).how is How.PIT
    beside = bore("West", (0, 0), (100, 0), pits=(None, pit(100, 0, 6)))
    assert find_meetings([beside, east]).joints == ()


def test_pits_that_only_touch_are_two():
    west = bore("West", (0, 0), (100, 0), pits=(None, pit(100, 0, 2)))
    east = bore("East", (102, 0), (200, 0), pits=(pit(102, 0, 2), None))
    assert find_meetings([west, east]).joints == ()


def test_three_ends_in_one_pit_are_joined_by_nobody():
    shared = pit(100, 0, 6)
    west = bore("West", (0, 0), (99, 0), pits=(None, shared))
    others = [
        bore(name, (101, north), (200, north), pits=(shared, None)) for name, north in (("A", 1), ("B", -1))
    ]
    unjoined = one_unjoined(west, *others)
    assert unjoined.why is Why.SEVERAL
    assert ends_of(unjoined) == {end("West exit"), end("A entry"), end("B entry")}
    assert unjoined.apart_m == pytest.approx(5**0.5)


def test_a_person_says_which_of_three_ends_in_one_pit_are_joined():
    shared = pit(100, 0, 6)
    west = bore("West", (0, 0), (99, 0), pits=(None, shared))
    others = [
        bore(name, (101, north), (200, north), pits=(shared, None)) for name, north in (("A", 1), ("B", -1))
    ]
    joint = one_joint(west, *others, said=[stated("West exit", "B entry")])
    assert ends_of(joint) == {end("West exit"), end("B entry")}
    assert joint.how is How.STATED


def test_bores_that_lie_together_at_both_sides_run_beside_each_other():
    found = find_meetings([WEST, bore("Other", (0, 0.1), (100, 0.1))])
    assert found.joints == ()
    assert {one.why for one in found.unjoined} == {Why.BESIDE}
    assert len(found.unjoined) == 2


def test_a_person_joins_ends_that_lie_apart_and_the_distance_stays_in_sight():
    joint = one_joint(WEST, bore("East", (112, 5), (200, 0)), said=[stated("West exit", "East entry")])
    assert (joint.how, joint.apart_m) == (How.STATED, pytest.approx(13.0))


def test_a_person_parts_ends_that_lie_together():
    said = stated("East entry", "West exit", is_joined=False)
    unjoined = one_unjoined(WEST, bore("East", (100, 0), (200, 0)), said=[said])
    assert (unjoined.why, unjoined.stated) == (Why.STATED_APART, (said,))


def test_an_end_that_two_people_joined_to_different_ends_is_joined_to_none():
    said = [stated("West exit", "A entry"), stated("B entry", "West exit")]
    unjoined = one_unjoined(WEST, bore("A", (120, 0), (200, 0)), bore("B", (120, 9), (200, 9)), said=said)
    assert unjoined.why is Why.STATED_TWICE
    assert ends_of(unjoined) == {end("West exit"), end("A entry"), end("B entry")}
    assert set(unjoined.stated) == set(said)


def test_what_was_said_of_a_bore_that_is_gone_changes_nothing():
    joint = one_joint(WEST, bore("East", (100, 0), (200, 0)), said=[stated("Gone exit", "West exit")])
    assert joint.how is How.MEET


def test_a_bore_never_meets_itself():
    assert find_meetings([bore("Ring", (0, 0), (50, 50), (0, 0.1))]).joints == ()
    assert find_meetings([]).joints == ()
