"""Marks and test holes as inputs, and how far about a bore marks are looked for."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from typing import Protocol, TypeVar
from uuid import UUID

from django.contrib.gis.geos import LineString, Point

from conflicts.candidates import farthest_hole_offsets_m, widest_lines_m
from conflicts.hole_passes import HoleSize
from conflicts.inputs import JobInput, MarkInput, Position, TestHoleInput
from conflicts.models import Bore
from locates.models import Mark, TestHole


def mark_reaches_m(
    bores: Sequence[Bore], jobs: Mapping[UUID, JobInput], sizes: Mapping[UUID, HoleSize]
) -> Mapping[UUID, float]:
    """How far from its hole a mark may be painted whose line lies in the tolerance zone, by bore, metres."""
    offsets = farthest_hole_offsets_m(list(jobs))
    widest = widest_lines_m(list(jobs))
    reaches_m = {}
    for bore in bores:
        job = jobs[bore.job_id]
        width = max(widest.get(bore.job_id, 0.0), *job.default_outside_m.values())
        # A hole moves its line by its own offset, and a line that goes from hole to hole leaves the mark by
        # less than the reach besides.
        moved = offsets.get(bore.job_id, 0.0) + job.reach_m
        reaches_m[bore.pk] = job.tolerance_zone_m + 0.5 * sizes[bore.pk].widest_m + 0.5 * width + moved
    return reaches_m


def marks_by_id(mark_ids: Collection[UUID]) -> Mapping[UUID, MarkInput]:
    """The live ones of these marks, each with every test hole dug for it."""
    holes: dict[UUID, list[TestHoleInput]] = defaultdict(list)
    for hole in TestHole.objects.filter(mark__in=mark_ids).order_by("ref"):
        holes[hole.mark_id].append(hole_input(hole))
    return {
        mark.pk: _mark(mark, tuple(holes[mark.pk]))
        for mark in Mark.objects.filter(pk__in=mark_ids).select_related("operator")
    }


def _mark(mark: Mark, holes: tuple[TestHoleInput, ...]) -> MarkInput:
    shape = mark.geometry
    return MarkInput(
        mark_id=str(mark.pk),
        ref=mark.ref,
        operator=mark.operator.name,
        facility_type=mark.facility_type,
        stated_width_m=mark.stated_width_m,
        stated_height_m=mark.stated_height_m,
        horizontal_accuracy_m=mark.horizontal_accuracy_m,
        is_intact=mark.is_intact,
        re_marked_at=mark.re_marked_at,
        points=(position(shape),) if isinstance(shape, Point) else positions(shape),
        holes=holes,
    )


def hole_input(hole: TestHole) -> TestHoleInput:
    """A test hole as a plain value."""
    return TestHoleInput(
        ref=hole.ref,
        found=hole.found,
        depth_to_top_m=hole.depth_to_top_m,
        dug_depth_m=hole.dug_depth_m,
        outside_width_m=hole.outside_width_m,
        outside_height_m=hole.outside_height_m,
        ground_elevation_m=hole.ground_elevation_m,
        measured_at=hole.measured_at,
        error_m=hole.error_m,
        is_open=hole.is_open,
        position=position(hole.position),
    )


class _Referenced(Protocol):
    """An input that people call by a reference."""

    @property
    def ref(self) -> str: ...


Named = TypeVar("Named", bound=_Referenced)


def in_order(found: Mapping[UUID, set[UUID]], records: Mapping[UUID, Named]) -> Mapping[UUID, list[Named]]:
    """The records found for each bore, by reference; ids that are not among the records are left out."""
    beside: dict[UUID, list[Named]] = defaultdict(list)
    for bore_id, ids in found.items():
        beside[bore_id] = sorted((records[key] for key in ids if key in records), key=lambda one: one.ref)
    return beside


def position(point: Point) -> Position:
    """Longitude and latitude of a point."""
    return point.x, point.y


def positions(line: LineString) -> tuple[Position, ...]:
    """Longitude and latitude of each vertex of a line."""
    return tuple((x, y) for x, y in line.coords)
