"""Which ends of bores meet: in one pit, end to end, or because a person said so. None is joined silently."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

import numpy as np
import shapely

from conflicts.route.ends import ENDS, End, RouteBore, Stated

# Ends within one foot of each other, in plan and in depth, meet. Common practice, no source.
MEET_M = 0.3048
# Pits that share less ground than this only touch: a corner drawn by hand.
SHARED_PIT_M2 = 0.01


class How(StrEnum):
    """How two ends come to be joined."""

    PIT = "pit"
    MEET = "meet"
    UNSURE = "unsure"
    STATED = "stated"


class Why(StrEnum):
    """Why ends that lie at one place are not joined."""

    DEPTH = "depth"
    SEVERAL = "several"
    BESIDE = "beside"
    STATED_APART = "stated_apart"
    STATED_TWICE = "stated_twice"


@dataclass(frozen=True)
class Joint:
    """Two ends that are one place of the route.

    ``apart_m`` is how far they lie from each other in plan, ``depth_apart_m`` how much deeper one is.
    ``how`` is UNSURE where they meet in plan and a depth is not known.
    """

    ends: tuple[End, End]
    how: How
    apart_m: float
    depth_apart_m: float | None
    stated: Stated | None = None

    @property
    def is_sure(self) -> bool:
        """Whether nothing about it is unknown."""
        return self.how is not How.UNSURE


@dataclass(frozen=True)
class Unjoined:
    """Ends at one place that are not joined, and why."""

    ends: tuple[End, ...]
    why: Why
    apart_m: float
    depth_apart_m: float | None = None
    stated: tuple[Stated, ...] = ()


@dataclass(frozen=True)
class Meetings:
    """What is joined, and what lies together without being joined."""

    joints: tuple[Joint, ...]
    unjoined: tuple[Unjoined, ...]


def find_meetings(bores: Sequence[RouteBore], stated: Iterable[Stated] = ()) -> Meetings:
    """Find which ends of bores are joined.

    Parameters
    ----------
    bores : sequence of RouteBore
        Of one job, in one frame.
    stated : iterable of Stated
        What people said; it goes before what geometry says. Of an end that was said to be joined twice,
        nothing is taken.

    Returns
    -------
    Meetings

    Notes
    -----
    Two ends of different bores lie together where they share a pit (the pits overlap, or the pit of one
    reaches to within `MEET_M` of the other), or within `MEET_M` of each other. They are joined where exactly
    two lie together; ends outside of a pit must also be as deep to `MEET_M`. Two bores whose ends lie
    together at both sides run beside each other.
    """
    of = {bore.bore_id: bore for bore in bores}
    told = [one for one in stated if all(end.bore_id in of for end in one.ends)]
    joints, unjoined, taken = _as_stated(of, told)
    apart = {frozenset(one.ends): one for one in told if not one.is_joined}
    near = [pair for pair in _ends_together(bores) if not set(pair) & taken]
    unjoined += [
        Unjoined(
            pair, Why.STATED_APART, _apart_m(of, pair), _depth_apart_m(of, pair), (apart[frozenset(pair)],)
        )
        for pair in near
        if frozenset(pair) in apart
    ]
    groups = _groups([pair for pair in near if frozenset(pair) not in apart], list(of))
    pairs = [(group[0], group[1]) for group in groups if len(group) == 2]
    beside = _beside(pairs)
    unjoined += [Unjoined(pair, Why.BESIDE, _apart_m(of, pair)) for pair in pairs if pair in beside]
    found = [_joined(of, pair) for pair in pairs if pair not in beside]
    joints += [one for one in found if isinstance(one, Joint)]
    unjoined += [one for one in found if isinstance(one, Unjoined)]
    unjoined += [Unjoined(one, Why.SEVERAL, _widest_m(of, one)) for one in groups if len(one) > 2]
    return Meetings(tuple(joints), tuple(unjoined))


def _as_stated(
    of: Mapping[UUID, RouteBore], told: Sequence[Stated]
) -> tuple[list[Joint], list[Unjoined], set[End]]:
    """Joints as people said them, what they said twice, and the ends of both."""
    said: dict[End, list[Stated]] = defaultdict(list)
    for one in told:
        if one.is_joined:
            for end in one.ends:
                said[end].append(one)
    twice = [(end, tuple(several)) for end, several in said.items() if len(several) > 1]
    refused = {one.stated_id for _, several in twice for one in several}
    joints = [
        Joint(one.ends, How.STATED, _apart_m(of, one.ends), _depth_apart_m(of, one.ends), one)
        for one in told
        if one.is_joined and one.stated_id not in refused
    ]
    unjoined = []
    for end, several in twice:
        others = sorted({other for one in several for other in one.ends} - {end})
        ends = (end, *others)
        unjoined.append(Unjoined(ends, Why.STATED_TWICE, _widest_m(of, ends), None, several))
    return joints, unjoined, set(said)


def _ends_together(bores: Sequence[RouteBore]) -> list[tuple[End, End]]:
    """Pairs of ends of different bores at one place, found through an index of what lies about them."""
    if not bores:
        return []
    ends = [End(bore.bore_id, end) for bore in bores for end in ENDS]
    places = [shapely.Point(bore.place_m(end)) for bore in bores for end in ENDS]
    pits = [bore.pit(end) for bore in bores for end in ENDS]
    about = [
        place if pit is None else shapely.union_all([place, pit])
        for place, pit in zip(places, pits, strict=True)
    ]
    found = []
    for first, second in shapely.STRtree(about).query(about, predicate="dwithin", distance=MEET_M).T.tolist():
        if first < second and ends[first].bore_id != ends[second].bore_id:
            pair = (first, second)
            if shapely.distance(places[first], places[second]) <= MEET_M or _share_a_pit(
                [places[one] for one in pair], [pits[one] for one in pair]
            ):
                found.append((ends[first], ends[second]))
    return found


def _share_a_pit(places: Sequence[shapely.Point], pits: Sequence[shapely.Polygon | None]) -> bool:
    one, other = pits
    if (
        one is not None
        and other is not None
        and shapely.area(shapely.intersection(one, other)) > SHARED_PIT_M2
    ):
        return True
    return any(
        pit is not None and shapely.distance(pit, place) <= MEET_M
        for pit, place in ((one, places[1]), (other, places[0]))
    )


def _groups(pairs: Iterable[tuple[End, End]], order: Sequence[UUID]) -> list[tuple[End, ...]]:
    """Ends that lie together, each with all those that it is linked to; in the order of their bores."""
    group_of: dict[End, set[End]] = {}
    for first, second in pairs:
        merged = group_of.get(first, {first}) | group_of.get(second, {second})
        for end in merged:
            group_of[end] = merged
    place = {bore_id: number for number, bore_id in enumerate(order)}

    def by_bore(end: End) -> tuple[int, str]:
        return place[end.bore_id], end.end

    in_order = {tuple(sorted(group, key=by_bore)) for group in group_of.values()}
    return sorted(in_order, key=lambda group: [by_bore(end) for end in group])


def _beside(pairs: Sequence[tuple[End, End]]) -> set[tuple[End, End]]:
    """The pairs of bores that lie together at both of their ends."""
    by_bores: dict[frozenset[UUID], list[tuple[End, End]]] = defaultdict(list)
    for pair in pairs:
        by_bores[frozenset(end.bore_id for end in pair)].append(pair)
    return {pair for both in by_bores.values() if len(both) > 1 for pair in both}


def _joined(of: Mapping[UUID, RouteBore], pair: tuple[End, End]) -> Joint | Unjoined:
    apart_m, depth_apart_m = _apart_m(of, pair), _depth_apart_m(of, pair)
    places = [shapely.Point(of[end.bore_id].place_m(end.end)) for end in pair]
    if _share_a_pit(places, [of[end.bore_id].pit(end.end) for end in pair]):
        return Joint(pair, How.PIT, apart_m, depth_apart_m)
    if depth_apart_m is None:
        return Joint(pair, How.UNSURE, apart_m, None)
    if depth_apart_m > MEET_M:
        return Unjoined(pair, Why.DEPTH, apart_m, depth_apart_m)
    return Joint(pair, How.MEET, apart_m, depth_apart_m)


def _apart_m(of: Mapping[UUID, RouteBore], ends: Sequence[End]) -> float:
    first, second = (of[end.bore_id].place_m(end.end) for end in ends)
    return float(np.linalg.norm(first - second))


def _depth_apart_m(of: Mapping[UUID, RouteBore], ends: Sequence[End]) -> float | None:
    first, second = (of[end.bore_id].depth_m(end.end) for end in ends)
    return None if first is None or second is None else abs(first - second)


def _widest_m(of: Mapping[UUID, RouteBore], ends: Sequence[End]) -> float:
    """How far the two of several ends that lie farthest from each other are apart."""
    places = np.array([of[end.bore_id].place_m(end.end) for end in ends])
    return float(np.linalg.norm(places[:, None] - places[None, :], axis=2).max())
