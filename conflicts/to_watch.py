"""The crossings of a bore that have to be watched: the plan's, those of the drilled hole alone, those gone.

Of the drilled hole alone is one that the rods in the ground, or those of an abandoned leg, meet, and that no
planned crossing of its line is near.

Gone is a crossing that a release under which the bore may have been drilled names, and that no present
crossing of its line and kind is near. Whatever became of the records since, the bore may have passed it. So
is one that the entry of a rod names, where the line is not recorded as it was and no other crossing is there.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from conflicts.checks import Assessed, crossing_now
from conflicts.crossings import FoundCrossing
from conflicts.drilled import DrilledCrossing
from conflicts.inputs import TestHoleInput, asked_separation
from conflicts.met_lines import MetByRod, every_line_met, is_as_it_was
from conflicts.rests_on import gone_fault
from conflicts.same_place import is_same_place, may_be_off_m
from conflicts.site_records import CrossingNow, NamedCrossing
from conflicts.watch_matching import CrossingPlace, CrossingReach, crossing_of_watch


@dataclass(frozen=True)
class ToWatch(CrossingNow):
    """A crossing as its watches are held against it, in metres.

    ``required_m`` is the largest of what is required now, of what was when it was last released and of what
    was when rods met it since: what was signed for is not lowered without a signature. ``asked_now_m`` is the
    first; None where it is gone, and so is ``found``. ``is_drilled`` is one of the drilled hole alone,
    ``leg`` the abandoned leg that alone meets it: no pass after the pilot goes there.
    """

    mark_ref: str
    operator: str
    facility_type: str
    station_m: float
    hole_bottom_m: float | None
    asked_now_m: float | None
    named: NamedCrossing | None
    found: FoundCrossing | None = None
    is_drilled: bool = False
    leg: str = ""

    @property
    def is_gone(self) -> bool:
        """Whether the records know nothing of it any more."""
        return self.asked_now_m is None

    @property
    def is_held_to_then(self) -> bool:
        """Whether more was required when it was released, or drilled past, than is now."""
        return self.asked_now_m is not None and self.asked_now_m < self.required_m


def crossings_to_watch(assessed: Assessed) -> tuple[ToWatch, ...]:
    """All that have to be watched: the planned ones in their order along the bore, drilled ones, those gone.

    Parameters
    ----------
    assessed : Assessed
    """
    near_m = same_place_m(assessed)
    present = [_present(assessed, one) for one in assessed.crossings]
    present += drilled_alone(assessed, present, near_m)
    gone = sorted(
        (
            _gone(assessed, one)
            for one in assessed.site.named
            if not any(_is_near(one, it, near_m) for it in present)
        ),
        key=lambda one: (one.station_m, one.mark_ref, one.kind),
    )
    gone += _met_and_gone(assessed, [*present, *gone], near_m)
    released = [_held_to_release(one, assessed.site.named, near_m) for one in present]
    return (*_held_to_rods(assessed, released, near_m), *gone)


def drilled_alone(assessed: Assessed, planned: Sequence[ToWatch], near_m: float) -> list[ToWatch]:
    """The crossings that the drilled hole alone has, by station, then those of abandoned legs alone.

    Parameters
    ----------
    assessed : Assessed
    planned : sequence of ToWatch
    near_m : float
        From `same_place_m`.
    """
    known = list(planned)
    found = []
    for leg, one in assessed.drilled.every:
        if not any(is_same_place(one.lies, other, near_m) for other in known):
            found.append(_drilled(one, leg))
            known.append(found[-1])
    return found


def _met_and_gone(assessed: Assessed, known: Sequence[ToWatch], near_m: float) -> list[ToWatch]:
    """The crossings that entries of rods name and that are none of those, by station."""
    places: list[CrossingNow] = list(known)
    found = []
    for met in every_line_met(assessed.site.log):
        one = _met(assessed, met)
        if any(is_same_place(one, other, near_m) for other in places):
            continue
        if not is_as_it_was(assessed.scene, met.line):
            found.append(one)
            places.append(one)
    return sorted(found, key=lambda one: (one.station_m, one.mark_ref, one.kind))


def drilled_at(assessed: Assessed, planned: FoundCrossing) -> list[DrilledCrossing]:
    """The crossings of the rods in the ground with the line of a planned one, where that lies, by station."""
    lies, near_m = crossing_now(assessed, planned), same_place_m(assessed)
    return [one for one in assessed.drilled.crossings if is_same_place(one.lies, lies, near_m)]


def place_of_watch(watched: CrossingPlace, lying: Sequence[ToWatch], near_m: float) -> int | None:
    """Which of the crossings to watch a watch belongs to; None where it proves none.

    Parameters
    ----------
    watched : CrossingPlace
        The crossing as it was then.
    lying : sequence of ToWatch
        From `crossings_to_watch`.
    near_m : float
        From `same_place_m`.
    """
    reaches = [_reach(one, near_m) for one in lying]
    present = [one for one in lying if not one.is_gone]
    return crossing_of_watch(watched, reaches[: len(present)], reaches[len(present) :])


def same_place_m(assessed: Assessed) -> float:
    """How far the same place may be off: by what the bore steers beside, and by the tolerance zone.

    Parameters
    ----------
    assessed : Assessed
    """
    return may_be_off_m(assessed.scene.inputs.job)


def bottom_of(holes: tuple[TestHoleInput, ...]) -> float | None:
    """Depth of the shallowest hole at a crossing that may be open, m; None where one is unknown or all shut.

    The head must stay in sight in every hole it may be watched through; a depth nobody recorded may be less,
    and a hole of which nobody recorded whether it is open may be the one that is looked into.
    """
    depths = [hole.dug_depth_m for hole in holes if hole.is_open is not False]
    known = [depth for depth in depths if depth is not None]
    return min(known, default=None) if len(known) == len(depths) else None


def _reach(one: ToWatch, near_m: float) -> CrossingReach:
    """From where to where a watch is of it: its extent, and on either side what the same place may be off."""
    return CrossingReach(one.mark_id, one.kind, one.station_m, one.from_m - near_m, one.to_m + near_m)


def _is_near(named: NamedCrossing, present: ToWatch, near_m: float) -> bool:
    """Whether a present crossing is the one that a release names."""
    is_line = (
        named.mark_id == present.mark_id if named.mark_id else named.mark_ref == present.mark_ref
    ) and named.kind == present.kind
    return is_line and present.from_m - near_m <= named.station_m <= present.to_m + near_m


def _held_to_release(present: ToWatch, named: Sequence[NamedCrossing], near_m: float) -> ToWatch:
    """The same with what was required of it when it was last released, where that was more."""
    near = [one for one in named if _is_near(one, present, near_m)]
    if not near:
        return present
    last_at = max(one.named_at for one in near)
    last = min(
        (one for one in near if one.named_at == last_at),
        key=lambda one: abs(one.station_m - present.station_m),
    )
    return replace(present, named=last, required_m=max(present.required_m, last.required_m))


def _held_to_rods(assessed: Assessed, present: Sequence[ToWatch], near_m: float) -> list[ToWatch]:
    """The same with what was required of each when rods met it since its last release, where that was more.

    Of a line that lies as it did an entry of the other kind counts not: half passed one looks alongside.
    """
    met = [(one, is_as_it_was(assessed.scene, one.line)) for one in every_line_met(assessed.site.log)]
    held = []
    for now in present:
        then = [
            one.line.required_m
            for one, is_same in met
            if is_same_place(now, one.line, near_m)
            and (one.line.kind == now.kind or not is_same)
            and (now.named is None or one.rod.logged_at > now.named.named_at)
        ]
        held.append(replace(now, required_m=max([now.required_m, *then])))
    return held


def _present(assessed: Assessed, one: FoundCrossing) -> ToWatch:
    now = crossing_now(assessed, one)
    return ToWatch(
        **vars(now),
        mark_ref=one.mark.ref,
        operator=one.mark.operator,
        facility_type=one.mark.facility_type,
        station_m=one.clearance.station_m,
        hole_bottom_m=bottom_of(one.exposing_holes),
        asked_now_m=now.required_m,
        named=None,
        found=one,
    )


def _drilled(one: DrilledCrossing, leg: str) -> ToWatch:
    mark = one.crossing.mark
    return ToWatch(
        **{**vars(one.lies), "rests_on": one.records},
        mark_ref=mark.ref,
        operator=mark.operator,
        facility_type=mark.facility_type,
        station_m=one.station_m,
        hole_bottom_m=bottom_of(one.crossing.exposing_holes),
        asked_now_m=one.asked_now_m,
        named=None,
        found=one.along_plan,
        is_drilled=True,
        leg=leg,
    )


def _met(assessed: Assessed, met: MetByRod) -> ToWatch:
    """A crossing as the entry of a rod names it."""
    line = met.line
    named = NamedCrossing(
        release_id="",
        named_at=met.rod.logged_at,
        mark_id=line.mark_id,
        mark_ref=line.mark_ref,
        operator=line.operator,
        facility_type=line.facility_type,
        kind=line.kind,
        station_m=line.station_m,
        from_m=line.from_m,
        to_m=line.to_m,
        verdict=line.verdict,
        worst_case_m=line.worst_case_m,
        required_m=line.required_m,
        rod=met.rod.number,
    )
    return replace(_gone(assessed, named), is_drilled=True, leg=met.leg)


def _gone(assessed: Assessed, named: NamedCrossing) -> ToWatch:
    requirements = assessed.scene.inputs.job.requirements
    asked = asked_separation(requirements, named.operator, named.facility_type, named.kind)
    return ToWatch(
        mark_id=named.mark_id,
        kind=named.kind,
        from_m=named.from_m,
        to_m=named.to_m,
        verdict=named.verdict,
        worst_case_m=named.worst_case_m,
        required_m=max(named.required_m, asked.required_m),
        rests_on=(gone_fault(named),),
        mark_ref=named.mark_ref,
        operator=named.operator,
        facility_type=named.facility_type,
        station_m=named.station_m,
        hole_bottom_m=None,
        asked_now_m=None,
        named=named,
    )
