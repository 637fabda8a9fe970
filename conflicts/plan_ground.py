"""What profiles of a bore are searched and measured from, laid out once for many profiles given by hand."""

from collections import OrderedDict
from dataclasses import dataclass
from functools import cached_property
from threading import Lock
from time import monotonic
from uuid import UUID

from conflicts.drawing.profile_rods import rods_of
from conflicts.engine.frame import chainages_m
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_limits import ENOUGH_MARGIN_M
from conflicts.find_profile import measured_profile, read_to_plan
from conflicts.gather_plan import ToPlan
from conflicts.ground_changes import last_event_id
from conflicts.head_start import HeadStart, as_located, head_start
from conflicts.inputs import JobInput, RigInput
from conflicts.plan_sheet import OUT_OF_GROUND_M
from conflicts.planned_profile import PlannedProfile
from conflicts.profile_check import profile_faults
from conflicts.recently_computed import computed
from conflicts.scene import Scene, lay_out

# Records read so long ago are read again whatever the record of changes says, s.
KEPT_S = 60.0
MOST_KEPT = 16


@dataclass(frozen=True, eq=False)
class PlanGround:
    """A bore as recorded and carried straight back, both laid out.

    Attributes
    ----------
    data : ToPlan
    """

    data: ToPlan

    @cached_property
    def recorded(self) -> Scene:
        """The bore as it is planned."""
        return lay_out(self.data.recorded)

    @cached_property
    def carried_back(self) -> Scene:
        """The bore carried straight back with nothing planned."""
        return lay_out(self.data.carried_back)

    @cached_property
    def head(self) -> HeadStart | None:
        """What is drilled; None where no rod is in the ground."""
        return head_start(self.recorded, self.data.log)

    @cached_property
    def located_job(self) -> JobInput | None:
        """The job with the errors of a bore that goes on from its head; None where no rod is in the ground.

        Raises
        ------
        DemandError
            A head from which no planned way leads on.
        """
        return None if self.head is None else as_located(self.recorded, self.head)

    @property
    def rig(self) -> RigInput:
        """The recorded limits of the rig."""
        return self.data.recorded.rig

    @property
    def entry_depth_m(self) -> float:
        """Depth of the hole's centre at the entry of the recorded profile."""
        return self._depth_m(0.0)

    @property
    def exit_depth_m(self) -> float:
        """Depth of the hole's centre at its end."""
        return self._depth_m(self.recorded.path.length_m)

    @property
    def ends_at_surface(self) -> bool:
        """Whether the recorded profile ends at the ground, as near as anybody measures."""
        return abs(self.exit_depth_m) <= OUT_OF_GROUND_M

    @property
    def exit_station_m(self) -> float:
        """Where the alignment ends."""
        return float(chainages_m(self.carried_back.alignment_m)[-1]) - self.data.behind_m

    @property
    def enough_margin_m(self) -> float:
        """The margin past which a shorter profile is worth more where nobody says."""
        return ENOUGH_MARGIN_M

    def measured(self, rods: RodProfile) -> PlannedProfile:
        """A profile that somebody gave, held against the lines and the recorded limits."""
        return measured_profile(self.data, self.carried_back, rods, self.head, self.located_job)

    def planned(self) -> PlannedProfile:
        """The recorded profile, held against the same."""
        figures = computed(self.data.recorded)
        return PlannedProfile(
            inputs=self.data.recorded,
            demands=None,
            rods=rods_of(figures.scene),
            ground=figures.scene.ground,
            scene=figures.scene,
            crossings=tuple(figures.crossings),
            faults=tuple(profile_faults(figures.scene)),
            head=self.head,
        )

    def _depth_m(self, station_m: float) -> float:
        scene = self.recorded
        depth_m = float(scene.ground.at(station_m) - scene.path.at(station_m)[2])
        # Elevations of the record and of the frame differ in their last digits.
        return 0.0 if abs(depth_m) < 1e-9 else depth_m


_kept: OrderedDict[UUID, tuple[int, float, PlanGround]] = OrderedDict()
_lock = Lock()


def plan_ground(bore_id: UUID) -> PlanGround:
    """The ground of a bore's profiles, from the records as they are now.

    Raises
    ------
    EngineError
        Records that no path or line can be built from.
    """
    return PlanGround(read_to_plan(bore_id))


def lately_read(bore_id: UUID) -> PlanGround:
    """The same, from a reading of the last minute where no record changed since: for margins while editing.

    Whatever is stored or released is read anew.
    """
    known, now = last_event_id(), monotonic()
    with _lock:
        kept = _kept.get(bore_id)
    if kept is not None and kept[0] == known and now - kept[1] < KEPT_S:
        return kept[2]
    ground = plan_ground(bore_id)
    with _lock:
        _kept[bore_id] = (known, now, ground)
        _kept.move_to_end(bore_id)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return ground
