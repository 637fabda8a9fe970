"""A job's bores as a route: read beside their states, in a fixed number of queries."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from uuid import UUID

import numpy as np
import shapely
from django.urls import reverse

from conflicts.answering_release import answering_releases
from conflicts.bore_states import BoreState
from conflicts.closing_faults import close_out_faults
from conflicts.drawing.route_plan import NARROW, WIDE, PlanBore, PlanGap, Sheet, draw_route
from conflicts.drilled import drilled_path
from conflicts.engine.errors import PathError
from conflicts.engine.frame import GroundFrame, frame_about, polyline_length_m
from conflicts.gather_rods import gather_rods
from conflicts.models import CloseOut, JointHow, Pit, RouteJoint
from conflicts.release import ReleaseState, Standing
from conflicts.rod_log import RodLog
from conflicts.route.chains import Leg, Route, route_of
from conflicts.route.ends import ENDS, End, RouteBore, Stated
from conflicts.route.footage import Drilled, Footage, Stage, footage_of
from conflicts.route.joints import MEET_M, Joint
from conflicts.route.signs import SIGNS
from conflicts.route.words import (
    drilled_words,
    gap_words,
    joint_words,
    meeting_rule_words,
    route_words,
    unjoined_words,
)
from conflicts.watch_table import stop_words, watch_table
from locates.models import Job
from locates.units import format_length


@dataclass(frozen=True, eq=False)
class BoreNow:
    """How a bore of the route stands at this moment.

    ``reasons`` are why it may not be drilled, or what speaks against its close-out since, ``missing`` what
    that lacks.
    """

    state: BoreState
    stage: Stage
    reasons: tuple[str, ...]
    missing: tuple[str, ...]
    close_out: CloseOut | None
    drilled: Drilled


@dataclass(frozen=True)
class JointShown:
    """What is said of ends, with the address of the form that states it, and of what is stated already."""

    words: str
    is_sure: bool
    state_address: str
    stated_ids: tuple[UUID, ...] = ()


@dataclass(frozen=True, eq=False)
class RouteRow:
    """A bore in its chain, as the page shows it, and the words of what comes after it."""

    leg: Leg
    now: BoreNow
    joint: JointShown | None


@dataclass(frozen=True, eq=False)
class RoutePiece:
    """A chain with its rows, and the words of the gap before it."""

    rows: tuple[RouteRow, ...]
    gap: JointShown | None
    length_m: float
    bored_m: float
    between_m: float
    hole_length_m: float | None
    is_ring: bool


@dataclass(frozen=True, eq=False)
class RouteSheet:
    """All that is shown of a job's route."""

    job: Job
    frame: GroundFrame | None
    route: Route
    bores: Mapping[UUID, BoreNow]
    footage: Footage

    @cached_property
    def pieces(self) -> list[RoutePiece]:
        """The chains in order."""
        units = self.job.show_units
        gaps = [
            None,
            *(self._shown(gap_words(gap, self.names, units), gap.ends) for gap in self.route.gaps),
        ]
        return [
            RoutePiece(
                rows=tuple(
                    RouteRow(
                        leg,
                        self.bores[leg.bore.bore_id],
                        None if leg.joint is None else self._joint(leg.joint),
                    )
                    for leg in chain.legs
                ),
                gap=gap,
                length_m=chain.length_m,
                bored_m=chain.bored_m,
                between_m=chain.between_m,
                hole_length_m=chain.hole_length_m,
                is_ring=chain.is_ring,
            )
            for chain, gap in zip(self.route.chains, gaps[: len(self.route.chains)], strict=True)
        ]

    @property
    def plan(self) -> str:
        """The bores in plan as a picture; nothing where there are not two."""
        return self._plan(WIDE)

    @property
    def narrow_plan(self) -> str:
        """The same for a phone."""
        return self._plan(NARROW)

    def _plan(self, sheet: Sheet) -> str:
        if len(self.route.legs) < 2:
            return ""
        units = self.job.show_units
        places = {end: leg.bore.place_m(end.end) for leg in self.route.legs for end in (leg.first, leg.last)}
        parted = [(gap.ends, gap.apart_m, False) for gap in self.route.gaps]
        joined = [(joint.ends, joint.apart_m, joint.is_sure) for joint in self.route.joints]
        gaps = [
            PlanGap(
                np.array([places[end] for end in ends]), f"{format_length(apart_m, units)} apart", is_joined
            )
            for ends, apart_m, is_joined in (*parted, *joined)
        ]
        return draw_route([self._plan_bore(leg) for leg in self.route.legs], gaps, units, sheet)

    def _plan_bore(self, leg: Leg) -> PlanBore:
        stage = self.bores[leg.bore.bore_id].stage
        pits = tuple(pit for pit in leg.bore.pits if pit is not None)
        return PlanBore(leg.bore.name, stage, *SIGNS[stage], leg.bore.plan_m, pits)

    @cached_property
    def names(self) -> dict[UUID, str]:
        """Of the bores."""
        return {leg.bore.bore_id: leg.bore.name for leg in self.route.legs}

    @property
    def between_m(self) -> float:
        """What lies between joined ends, of all pieces."""
        return sum(chain.between_m for chain in self.route.chains)

    @property
    def length_m(self) -> float:
        """Of all pieces, what lies between joined ends with it; the gaps between pieces are not in it."""
        return sum(chain.length_m for chain in self.route.chains)

    @property
    def words(self) -> str:
        """Whether it is one line."""
        return route_words(self.route, self.job.show_units)

    @property
    def drilled_words(self) -> str:
        """What the drilled length rests on."""
        return drilled_words(self.footage, self.job.show_units)

    @property
    def rule_words(self) -> str:
        """When ends meet."""
        return meeting_rule_words(self.job.show_units)

    @property
    def unjoined(self) -> list[JointShown]:
        """Ends at one place that are not joined, and why."""
        return [
            self._shown(
                unjoined_words(one, self.names, self.job.show_units),
                one.ends,
                tuple(stated.stated_id for stated in one.stated),
            )
            for one in self.route.unjoined
        ]

    def _joint(self, joint: Joint) -> JointShown:
        words = joint_words(joint, self.names, self.job.show_units)
        stated_ids = () if joint.stated is None else (joint.stated.stated_id,)
        return self._shown(words, joint.ends, stated_ids, is_sure=joint.is_sure)

    def _shown(
        self, words: str, ends: Sequence[End], stated_ids: tuple[UUID, ...] = (), *, is_sure: bool = False
    ) -> JointShown:
        first, second, *_ = [f"{self.names[end.bore_id]}:{end.end}" for end in ends]
        query = {"first": first, "second": second}
        address = reverse("conflicts:joint-add", args=[self.job.pk], query=query)
        return JointShown(words, is_sure, address, stated_ids)


def read_route(job: Job, states: Sequence[BoreState]) -> RouteSheet:
    """Read the route of a job.

    Parameters
    ----------
    job : Job
    states : sequence of BoreState
        Of all its bores with their close-outs (`bore_states`, `Bore.objects.with_close_out`).
    """
    bores = [state.bore for state in states]
    now = {one.state.bore.pk: one for one in _bores_now(states)}
    frame = frame_about([bore.alignment.coords for bore in bores], job.mean_height_m) if bores else None
    if frame is None:
        return RouteSheet(job, None, route_of([]), now, footage_of([]))
    stated = [_stated(one) for one in RouteJoint.objects.filter(job=job)]
    route = route_of(_route_bores(states, frame), stated)
    return RouteSheet(job, frame, route, now, footage_of(one.drilled for one in now.values()))


def _bores_now(states: Sequence[BoreState]) -> list[BoreNow]:
    ids = [state.bore.pk for state in states]
    standings = {bore_id: standing for bore_id, (_, standing) in answering_releases(ids).items()}
    logs = gather_rods([state.bore for state in states])
    return [_bore_now(state, standings.get(state.bore.pk), logs[state.bore.pk]) for state in states]


def _bore_now(state: BoreState, standing: Standing | None, log: RodLog) -> BoreNow:
    close_out = getattr(state.bore, "close_out", None)
    drilled = _drilled(state, log, is_closed_out=close_out is not None)
    if close_out is not None:
        return BoreNow(state, Stage.CLOSED_OUT, state.since_closed, (), close_out, drilled)
    missing: tuple[str, ...] = ()
    if state.assessed is not None and standing is not None:
        table = watch_table(state.assessed, state.bore.pilot_diameter_m)
        missing = tuple(close_out_faults(table, state.assessed))
    return BoreNow(state, *_stage(state, standing), missing, None, drilled)


def _drilled(state: BoreState, log: RodLog, *, is_closed_out: bool) -> Drilled:
    planned_m = state.bore.alignment_length_m
    if not log.rods:
        return Drilled(planned_m, None, None, is_closed_out)
    reached_m = None
    if state.assessed is not None:
        try:
            path = drilled_path(state.assessed.scene, log)
        except PathError:
            path = None
        reached_m = None if path is None else path.head.station_m
    return Drilled(planned_m, sum(rod.length_m for rod in log.rods), reached_m, is_closed_out)


def _stage(state: BoreState, standing: Standing | None) -> tuple[Stage, tuple[str, ...]]:
    """How a bore stands that is not closed out, and why; what is unknown is never a yes."""
    stops = () if state.assessed is None else stop_words(state.assessed)
    if stops or (standing is not None and standing.state is ReleaseState.STOPPED):
        return Stage.STOPPED, stops or standing.reasons
    if standing is not None and standing.is_in_force:
        return Stage.RELEASED, ()
    if standing is not None and standing.state is ReleaseState.NOT_YET:
        return Stage.SIGNED_AHEAD, standing.reasons
    if state.assessed is None:
        return Stage.UNKNOWN, (state.refusal,) if state.refusal else ()
    return Stage.HELD, () if standing is None else standing.reasons


def _route_bores(states: Sequence[BoreState], frame: GroundFrame) -> list[RouteBore]:
    pits: dict[UUID, dict[str, shapely.Polygon]] = defaultdict(dict)
    for pit in Pit.objects.filter(bore__in=[state.bore.pk for state in states]):
        outer, *holes = [_to_ground(frame, ring) for ring in pit.area.coords]
        pits[pit.bore_id][pit.end] = shapely.Polygon(outer, holes)
    return [
        RouteBore(
            bore_id=state.bore.pk,
            name=state.bore.name,
            plan_m=_to_ground(frame, state.bore.alignment.coords),
            length_m=state.bore.alignment_length_m,
            hole_length_m=_hole_length_m(state),
            depths_m=_depths_m(state),
            pits=tuple(pits[state.bore.pk].get(end) for end in ENDS),
        )
        for state in states
    ]


def _stated(joint: RouteJoint) -> Stated:
    ends = (End(joint.first_bore_id, joint.first_end), End(joint.second_bore_id, joint.second_end))
    return Stated(joint.pk, ends, joint.how != JointHow.APART, joint.how, joint.note)


def _to_ground(frame: GroundFrame, positions: Sequence[tuple[float, float]]) -> np.ndarray:
    lon_lat = np.array(positions)
    return frame.to_ground(lon_lat[:, 0], lon_lat[:, 1])


def _hole_length_m(state: BoreState) -> float | None:
    """Along the hole's centre; None where its path is not known."""
    return None if state.assessed is None else polyline_length_m(state.assessed.scene.path.points_m)


def _depths_m(state: BoreState) -> tuple[float | None, float | None]:
    """Depth of the hole's centre at the ends of the alignment; None where its path does not reach there."""
    if state.assessed is None:
        return None, None
    scene = state.assessed.scene
    ends = ((0, 0.0, scene.alignment_m[0]), (-1, scene.path.length_m, scene.alignment_m[-1]))
    return tuple(
        float(scene.ground.at(station_m)) - float(scene.path.points_m[piece, 2])
        if np.linalg.norm(scene.path.points_m[piece, :2] - place_m) <= MEET_M
        else None
        for piece, station_m, place_m in ends
    )
