"""Which present crossing a watch belongs to, and which passes have to be watched."""

from collections.abc import Sequence
from typing import NamedTuple

PILOT = "pilot"
ALL_PASSES = (PILOT, "reaming", "pullback")


class CrossingPlace(NamedTuple):
    """Where a crossing lies, or lay when it was watched: its line, its kind, its station."""

    mark_id: str
    kind: str
    station_m: float


class CrossingReach(NamedTuple):
    """A crossing: its line, its kind, its station, and between which stations a watch is of it, m."""

    mark_id: str
    kind: str
    station_m: float
    from_m: float
    until_m: float


def crossing_of_watch(
    watched: CrossingPlace, present: Sequence[CrossingReach], gone: Sequence[CrossingReach] = ()
) -> int | None:
    """Which of a bore's crossings a watch belongs to.

    Parameters
    ----------
    watched : CrossingPlace
        The crossing as it was then.
    present : sequence of CrossingReach
        The crossings as they are computed now, in any order.
    gone : sequence of CrossingReach
        Those that releases name and that are not there any more: asked only where no present one is as near.

    Returns
    -------
    int or None
        Place in ``present``, or behind it in ``gone``, of the crossing of the same mark and kind nearest in
        station, of those within whose reach the watch lies. None where there is no such crossing, and where
        two are equally near: a watch that may be of either proves neither.
    """
    ranked = sorted(
        (number >= len(present), abs(one.station_m - watched.station_m), number)
        for number, one in enumerate((*present, *gone))
        if (one.mark_id, one.kind) == (watched.mark_id, watched.kind)
        and one.from_m <= watched.station_m <= one.until_m
    )
    if not ranked or (len(ranked) > 1 and ranked[0][:2] == ranked[1][:2]):
        return None
    return ranked[0][2]


def passes_to_watch(pilot_diameter_m: float | None, final_diameter_m: float) -> tuple[str, ...]:
    """The passes in which each crossing has to be watched, in their order.

    Parameters
    ----------
    pilot_diameter_m : float or None
        None where it is not recorded: then there is reaming.
    final_diameter_m : float

    Returns
    -------
    tuple of str
        Of "pilot", "reaming" and "pullback"; no reaming where the pilot hole is the finished one.
    """
    if pilot_diameter_m is not None and pilot_diameter_m == final_diameter_m:
        return (PILOT, "pullback")
    return ALL_PASSES
