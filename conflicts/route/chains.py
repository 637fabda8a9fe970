"""The bores of a job in order, chain by chain, and the gaps between chains."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

import numpy as np

from conflicts.engine.frame import FloatArray
from conflicts.route.ends import ENTRY, EXIT, End, RouteBore, Stated
from conflicts.route.joints import Joint, Unjoined, find_meetings


@dataclass(frozen=True, eq=False)
class Leg:
    """A bore in its chain, with the joint behind it that leads to the next one.

    ``is_reversed`` where the chain passes it from its exit to its entry. ``from_m`` is where it begins,
    measured along the chain in plan.
    """

    bore: RouteBore
    is_reversed: bool
    from_m: float
    joint: Joint | None

    @property
    def first(self) -> End:
        """The end at which the chain comes to it."""
        return End(self.bore.bore_id, EXIT if self.is_reversed else ENTRY)

    @property
    def last(self) -> End:
        """The end at which the chain leaves it."""
        return self.first.other

    @property
    def to_m(self) -> float:
        """Where it ends, along the chain."""
        return self.from_m + self.bore.length_m

    @property
    def plan_m(self) -> FloatArray:
        """Its alignment in the chain's direction."""
        return self.bore.plan_m[::-1] if self.is_reversed else self.bore.plan_m


@dataclass(frozen=True, eq=False)
class Chain:
    """Bores joined end to end, in order; ``is_ring`` where the last is joined to the first."""

    legs: tuple[Leg, ...]
    is_ring: bool

    @property
    def bored_m(self) -> float:
        """Length of its bores in plan."""
        return sum(leg.bore.length_m for leg in self.legs)

    @property
    def between_m(self) -> float:
        """What lies between the joined ends, in plan."""
        return sum(leg.joint.apart_m for leg in self.legs if leg.joint is not None)

    @property
    def length_m(self) -> float:
        """From end to end in plan, the stretches between joined ends with it."""
        return self.bored_m + self.between_m

    @property
    def hole_length_m(self) -> float | None:
        """Along the holes, in three dimensions; None where that of a bore is not known."""
        lengths = [leg.bore.hole_length_m for leg in self.legs]
        known = [one for one in lengths if one is not None]
        return sum(known) if len(known) == len(lengths) else None

    @property
    def plan_m(self) -> FloatArray:
        """One line from end to end; straight between joined ends."""
        parts = [leg.plan_m for leg in self.legs]
        if self.is_ring:
            parts.append(parts[0][:1])
        points = np.concatenate(parts)
        repeats = np.concatenate([[False], (np.diff(points, axis=0) == 0.0).all(axis=1)])
        line: FloatArray = points[~repeats]
        return line


@dataclass(frozen=True)
class Gap:
    """The nearest ends of two chains that nothing joins, and how far they lie from each other in plan."""

    ends: tuple[End, End]
    apart_m: float


@dataclass(frozen=True, eq=False)
class Route:
    """All bores of a job: the longest chain first, and each other one behind the gap that parts it."""

    chains: tuple[Chain, ...]
    gaps: tuple[Gap, ...]
    unjoined: tuple[Unjoined, ...]

    @property
    def is_one_line(self) -> bool:
        """Whether every bore is of one chain and nothing about it is unsure."""
        return len(self.chains) == 1 and all(joint.is_sure for joint in self.joints)

    @property
    def joints(self) -> list[Joint]:
        """All joints in order."""
        return [leg.joint for chain in self.chains for leg in chain.legs if leg.joint is not None]

    @property
    def legs(self) -> list[Leg]:
        """All bores in order."""
        return [leg for chain in self.chains for leg in chain.legs]

    @property
    def bored_m(self) -> float:
        """Length of all bores in plan."""
        return sum(chain.bored_m for chain in self.chains)


def route_of(bores: Sequence[RouteBore], stated: Iterable[Stated] = ()) -> Route:
    """The bores of a job in order.

    Parameters
    ----------
    bores : sequence of RouteBore
        In one frame. Their order decides where nothing else does: which of two chains of one length comes
        first, and where a ring begins.
    stated : iterable of Stated

    Returns
    -------
    Route
        A chain runs the way in which more of its footage is drilled from entry to exit; several bores behind
        a gap begin at the gap.
    """
    meetings = find_meetings(bores, stated)
    joint_at = {end: joint for joint in meetings.joints for end in joint.ends}
    of = {bore.bore_id: bore for bore in bores}
    chains: list[Chain] = []
    seen: set[UUID] = set()
    for bore in bores:
        if bore.bore_id not in seen:
            chain = _chain(of, joint_at, bore)
            chains.append(chain)
            seen |= {leg.bore.bore_id for leg in chain.legs}
    ordered, gaps = _nearest_first(chains)
    for place, gap in enumerate(gaps, 1):
        legs = ordered[place].legs
        if len(legs) > 1 and gap.ends[1] == legs[-1].last:
            turned = [leg.last for leg in reversed(legs)]
            ordered[place] = Chain(_legs(of, joint_at, turned), is_ring=False)
    return Route(tuple(ordered), tuple(gaps), meetings.unjoined)


def _chain(of: dict[UUID, RouteBore], joint_at: dict[End, Joint], bore: RouteBore) -> Chain:
    """The chain of a bore, walked from one of its ends to the other."""
    start, is_ring = End(bore.bore_id, ENTRY), False
    while (joint := joint_at.get(start)) is not None:
        start = _across(joint, start).other
        if start.bore_id == bore.bore_id:
            is_ring = True
            break
    firsts = _walk(joint_at, start)
    forward_m = sum(of[end.bore_id].length_m * (1 if end.end == ENTRY else -1) for end in firsts)
    # Of a chain drilled as far one way as the other, the bore that comes first in the list is run forward.
    if forward_m < 0 or (forward_m == 0 and End(bore.bore_id, ENTRY) not in firsts):
        firsts = [end.other for end in reversed(firsts)]
    if is_ring:
        at = [end.bore_id for end in firsts].index(bore.bore_id)
        firsts = firsts[at:] + firsts[:at]
    return Chain(_legs(of, joint_at, firsts), is_ring)


def _legs(of: dict[UUID, RouteBore], joint_at: dict[End, Joint], firsts: Sequence[End]) -> tuple[Leg, ...]:
    legs: list[Leg] = []
    for first in firsts:
        from_m = 0.0
        if legs:
            before = legs[-1]
            from_m = before.to_m + (0.0 if before.joint is None else before.joint.apart_m)
        joint = joint_at.get(first.other)
        legs.append(Leg(of[first.bore_id], first.end == EXIT, from_m, joint and _from(joint, first.other)))
    return tuple(legs)


def _walk(joint_at: dict[End, Joint], start: End) -> list[End]:
    """The ends at which a walk from one end comes to each bore."""
    firsts = [start]
    while (joint := joint_at.get(firsts[-1].other)) is not None:
        following = _across(joint, firsts[-1].other)
        if following.bore_id == start.bore_id:
            break
        firsts.append(following)
    return firsts


def _from(joint: Joint, end: End) -> Joint:
    """A joint with its ends in the order in which the chain passes them."""
    return replace(joint, ends=(end, _across(joint, end)))


def _across(joint: Joint, end: End) -> End:
    first, second = joint.ends
    return second if end == first else first


def _nearest_first(chains: Sequence[Chain]) -> tuple[list[Chain], list[Gap]]:
    """The longest chain, then again and again the one nearest to those before, with the gap to it."""
    if not chains:
        return [], []
    ends = [_free_ends(chain) for chain in chains]
    places = np.array([[place for _, place in pair] for pair in ends])
    ordered, gaps = [int(np.argmax([round(chain.length_m, 3) for chain in chains]))], []
    least_m = np.full(len(chains), np.inf)
    nearest = np.zeros((len(chains), 3), dtype=int)
    waiting = np.ones(len(chains), dtype=bool)
    for _ in chains[1:]:
        before = ordered[-1]
        waiting[before] = False
        apart_m = np.linalg.norm(places[before][None, :, None] - places[:, None], axis=3).reshape(-1, 4)
        which, this_m = apart_m.argmin(axis=1), apart_m.min(axis=1)
        nearer = this_m < least_m
        least_m[nearer] = this_m[nearer]
        nearest[nearer] = np.column_stack([np.full_like(which, before), which // 2, which % 2])[nearer]
        following = int(np.where(waiting, least_m, np.inf).argmin())
        of_before, end, own_end = nearest[following].tolist()
        gaps.append(Gap((ends[of_before][end][0], ends[following][own_end][0]), float(least_m[following])))
        ordered.append(following)
    return [chains[one] for one in ordered], gaps


def _free_ends(chain: Chain) -> list[tuple[End, FloatArray]]:
    """The ends of a chain; of a ring, which has none, those of its first bore."""
    first, last = chain.legs[0], chain.legs[0 if chain.is_ring else -1]
    return [(first.first, first.plan_m[0]), (last.last, last.plan_m[-1])]
