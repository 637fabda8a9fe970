"""Bores of the route in plain metres, each named, with ends, depths and pits as a test wants them."""

from uuid import UUID, uuid5

import numpy as np
import shapely

from conflicts.engine.frame import polyline_length_m
from conflicts.route.ends import End, RouteBore, Stated

_SPACE = UUID(int=6)


def id_of(name: str) -> UUID:
    """The id of a bore, the same for the same name."""
    return uuid5(_SPACE, name)


def bore(name, *places_m, depths_m=(0.0, 0.0), pits=(None, None), hole_length_m=None) -> RouteBore:
    """A bore through places given as (east, north)."""
    plan = np.array(places_m, dtype=float)
    length = polyline_length_m(plan)
    return RouteBore(id_of(name), name, plan, length, hole_length_m, depths_m, pits)


def pit(east_m, north_m, side_m=2.0) -> shapely.Polygon:
    """A square pit about a place."""
    half = side_m / 2
    return shapely.box(east_m - half, north_m - half, east_m + half, north_m + half)


def end(text: str) -> End:
    """An end, written "A exit"."""
    name, which = text.rsplit(" ", 1)
    return End(id_of(name), which)


def stated(first: str, second: str, *, is_joined=True) -> Stated:
    """What a person said of two ends."""
    return Stated(uuid5(_SPACE, f"{first}{second}"), (end(first), end(second)), is_joined, "pit", "")


def ends_of(joint) -> set[End]:
    """The ends of a joint or of what is not joined."""
    return set(joint.ends)


def order_of(chain) -> str:
    """The bores of a chain in order, "<" before each that is run from its exit."""
    return " ".join(("<" if leg.is_reversed else "") + leg.bore.name for leg in chain.legs)
