"""Marks that only the drilled hole comes near, or the way ahead of its head: beside those of the plan."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from uuid import UUID

from django.contrib.gis.geos import LineString, MultiLineString

from conflicts.candidates import Site, near
from conflicts.drilled_plan import plans_drilled
from conflicts.gather_marks import in_order, marks_by_id
from conflicts.inputs import BoreInputs
from conflicts.met_lines import every_line_met
from conflicts.models import Bore
from locates.models import Mark


def with_marks_beside(
    found: Mapping[UUID, BoreInputs], bores: Sequence[Bore], reaches_m: Mapping[UUID, float]
) -> dict[UUID, BoreInputs]:
    """The inputs of bores with the marks that are near what was drilled, or were met, and not near the plan.

    About what was drilled they are looked for as much farther as its least sure place is past the steering
    allowance: `reaches_m` are those about the plans.

    Nothing is asked where no rod was ever logged; one query more where one was, two besides for such marks.
    """
    sites, wider_m = [], {}
    for bore in bores:
        plans = plans_drilled(found[bore.pk])
        if plans is not None:
            shape = MultiLineString([LineString(plan.tolist()) for plan in plans.lon_lat], srid=4326)
            sites.append(Site(bore.pk, bore.job_id, shape))
            wider_m[bore.pk] = reaches_m[bore.pk] + plans.farther_m
    near_drilled = near(sites, Mark, "geometry", wider_m) if sites else {}
    new = {
        bore_id: (near_drilled.get(bore_id, set()) | _met(found[bore_id]))
        - {UUID(mark.mark_id) for mark in found[bore_id].marks}
        for bore_id in wider_m
    }
    wanted = set().union(*new.values())
    if not wanted:
        return dict(found)
    beside = in_order(new, marks_by_id(wanted))
    return {key: replace(inputs, marks_beside=tuple(beside[key])) for key, inputs in found.items()}


def _met(inputs: BoreInputs) -> set[UUID]:
    """The lines that entries of rods name: whether one lies as it did is asked wherever it lies."""
    return {UUID(one.line.mark_id) for one in every_line_met(inputs.site.log)}
