"""Which rods are in the ground: undo takes one entry back, a pull-back leaves an abandoned leg."""

from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from conflicts.rod_log import PULL_BACK, UNDO, LocatingError, RodInput, WithdrawalInput, rod_log
from tests.factories import PLANNED_START_AT

STATED = LocatingError(0.05, 0.05)


def rod(key, after, number, minute=0):
    return RodInput(
        rod_id=key, after_id=after, number=number, length_m=3.0, pitch_ratio=0.0, depth_m=None,
        roll_rad=None, heading_rad=None, dot=None, dot_error_m=None, confirmed=(), remarks="",
        logged_at=PLANNED_START_AT + timedelta(minutes=minute), logged_by="R. Pell",
    )  # fmt: skip


def withdrawal(key, kind=PULL_BACK):
    return WithdrawalInput(key, kind, "a cobble", PLANNED_START_AT, "R. Pell")


def keys(rods):
    return "".join(one.rod_id for one in rods)


def test_with_nothing_withdrawn_every_rod_is_in_the_ground():
    log = rod_log(STATED, [rod("a", None, 1), rod("b", "a", 2), rod("c", "b", 3)], [])
    assert keys(log.rods) == "abc"
    assert log.withdrawn == ()
    assert log.last.rod_id == "c"
    assert rod_log(STATED, [], []).last is None


def test_a_pull_back_leaves_a_leg_and_the_redrill_goes_on_from_where_it_stopped():
    rods = [rod("a", None, 1), rod("b", "a", 2), rod("c", "b", 3), rod("d", "a", 2), rod("e", "d", 3)]
    log = rod_log(STATED, rods, [withdrawal("b")])
    assert keys(log.rods) == "ade"
    [leg] = log.legs
    assert (keys(leg.before), keys(leg.rods), leg.withdrawal.reason) == ("a", "bc", "a cobble")


def test_an_undone_entry_is_kept_and_is_no_leg():
    log = rod_log(STATED, [rod("a", None, 1), rod("b", "a", 2)], [withdrawal("b", UNDO)])
    assert keys(log.rods) == "a"
    assert log.legs == ()
    assert [keys(one.rods) for one in log.withdrawn] == ["b"]


def test_a_leg_holds_only_what_was_in_the_ground_when_it_was_left():
    rods = [rod("a", None, 1), rod("b", "a", 2), rod("c", "b", 3), rod("d", "b", 3)]
    log = rod_log(STATED, rods, [withdrawal("c"), withdrawal("a")])
    assert keys(log.rods) == ""
    assert [keys(leg.rods) for leg in log.legs] == ["c", "abd"]
    assert [keys(leg.before) for leg in log.legs] == ["ab", ""]


@given(st.lists(st.integers(0, 12), min_size=1, max_size=40))
def test_the_log_says_what_a_stack_of_rods_does(steps):
    """0 drills a rod, any other number pulls that many back, as far as there are so many."""
    stack, rods, withdrawals, legs = [], [], [], []
    for step in steps:
        if step == 0 or not stack:
            key = f"r{len(rods)}"
            rods.append(rod(key, stack[-1] if stack else None, len(stack) + 1, minute=len(rods)))
            stack.append(key)
        else:
            place = max(0, len(stack) - step)
            withdrawals.append(withdrawal(stack[place]))
            legs.append(stack[place:])
            del stack[place:]
    log = rod_log(STATED, rods, withdrawals)
    assert [one.rod_id for one in log.rods] == stack
    assert [[one.rod_id for one in leg.rods] for leg in log.legs] == legs
