"""How the finished job's pilot went, rod by rod: what the locating device read, and two rods pulled back.

All invented: the figures say when each rod ended and how far it was off the plan; the readings follow.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from conflicts.assess import compute_bores
from conflicts.demo.people import DemoPeople
from conflicts.desk.place_along import place_along
from conflicts.engine.frame import FloatArray
from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal, WithdrawalKind
from conflicts.models.signed import name_of
from conflicts.scene import Scene


@dataclass(frozen=True)
class RodTold:
    """The end of a rod: minutes after eight, and how much deeper and farther right than planned."""

    minutes: int
    deeper_m: float
    right_m: float
    remarks: str = ""


PILOT = (
    RodTold(8, 0.0, 0.01),
    RodTold(15, 0.01, 0.02),
    RodTold(23, 0.02, 0.02),
    RodTold(31, 0.03, 0.03),
    RodTold(39, 0.03, 0.04),
    RodTold(48, 0.03, 0.04),
    RodTold(57, 0.02, 0.03),
    RodTold(62, 0.02, 0.02),
    RodTold(74, 0.01, 0.01, "Drilled again, slower: below the stone."),
    RodTold(78, 0.01, -0.01),
    RodTold(82, 0.0, -0.03),
    RodTold(90, 0.0, -0.04),
    RodTold(98, 0.01, -0.06),
    RodTold(105, 0.02, -0.06),
    RodTold(115, 0.02, -0.05),
    RodTold(124, 0.02, -0.04),
    RodTold(134, 0.03, -0.03),
    RodTold(151, 0.02, -0.02),
    RodTold(160, 0.02, 0.0),
    RodTold(167, 0.01, 0.01),
    RodTold(174, 0.0, 0.01),
)
STONE_AFTER = 8
STONE = (RodTold(65, -0.07, 0.06), RodTold(68, -0.24, 0.15, "The head climbs, whatever we do."))
PULLED_BACK_MINUTES = 71
PULL_BACK_REASON = "A stone turned the head up and to the right. Back to the end of rod 8, and on below it."
CHECKED_AT = "P2"


def check_of_device(bore: Bore, people: DemoPeople, at: datetime) -> LocatorCheck:
    """The device held over its transmitter on the floor of a test hole, before the first rod."""
    return LocatorCheck(
        bore=bore,
        hole=bore.job.test_holes.get(ref=CHECKED_AT),
        device="Locator 3",
        measured_depth_m=1.42,
        read_depth_m=1.45,
        checked_by=people.foreman,
        checked_by_name=name_of(people.foreman),
        checked_at=at,
    )


def rods_of_pilot(bore: Bore, people: DemoPeople, eight: datetime) -> Iterator[DrilledRod | RodWithdrawal]:
    """Every rod in order of time, with the two that were pulled back; none of them is stored yet."""
    crew = _Crew(bore, people, compute_bores([bore.pk])[bore.pk].scene, eight)
    rod, was = None, replace(PILOT[0], deeper_m=0.0)
    for number, told in enumerate(PILOT, start=1):
        rod = crew.rod(rod, number, told, was)
        was = told
        yield rod
        if number == STONE_AFTER:
            yield from _leg(crew, rod, was)


def _leg(crew: "_Crew", before: DrilledRod, was: RodTold) -> Iterator[DrilledRod | RodWithdrawal]:
    rod, first = before, None
    for number, told in enumerate(STONE, start=before.number + 1):
        rod = crew.rod(rod, number, told, was)
        first, was = first or rod, told
        yield rod
    yield RodWithdrawal(
        rod=first,
        kind=WithdrawalKind.PULL_BACK,
        reason=PULL_BACK_REASON,
        withdrawn_by=crew.people.foreman,
        withdrawn_by_name=name_of(crew.people.foreman),
        withdrawn_at=crew.eight + timedelta(minutes=PULLED_BACK_MINUTES),
    )


@dataclass(frozen=True)
class _Crew:
    bore: Bore
    people: DemoPeople
    scene: Scene
    eight: datetime

    def rod(self, after: DrilledRod | None, number: int, told: RodTold, was: RodTold) -> DrilledRod:
        """The rod as it was read; ``was`` is what is told of the one before."""
        planned = self.scene.inputs.rods
        length_m = planned.lengths_m[number]
        station_m, elevation_m = _planned_ends(self.scene)[number - 1].tolist()
        depth_m = float(self.scene.ground.at(station_m)) - elevation_m + told.deeper_m
        [(longitude, latitude)] = place_along(self.bore.pk, [(number, (station_m, told.right_m))])
        return DrilledRod(
            bore=self.bore,
            after=after,
            number=number,
            length_m=length_m,
            pitch_ratio=round(planned.pitches_ratio[number] - (told.deeper_m - was.deeper_m) / length_m, 3),
            depth_m=max(0.0, round(depth_m, 2)),
            dot_station_m=station_m,
            dot_offset_m=told.right_m,
            dot_longitude_deg=longitude,
            dot_latitude_deg=latitude,
            dot_error_m=0.05,
            remarks=told.remarks,
            logged_by=self.people.foreman,
            logged_by_name=name_of(self.people.foreman),
            logged_at=self.eight + timedelta(minutes=told.minutes),
        )


def _planned_ends(scene: Scene) -> FloatArray:
    """Station and elevation of the end of each planned rod, metres."""
    points_m = scene.path.points_m
    along_m = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points_m, axis=0), axis=1))])
    ends_m = np.cumsum(scene.inputs.rods.lengths_m)[1:]
    return np.column_stack(
        [np.interp(ends_m, along_m, values) for values in (scene.path.stations_m, points_m[:, 2])]
    )
