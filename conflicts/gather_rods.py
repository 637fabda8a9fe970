"""Reads the as-drilled logs of many bores, in three queries; in one where none has a rod."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from conflicts.models import Bore, DrilledRod, LocatorCheck, RodWithdrawal
from conflicts.rod_log import (
    LocatingError,
    LocatorCheckInput,
    MetLine,
    RodInput,
    RodLog,
    WithdrawalInput,
    rod_log,
)


def gather_rods(bores: Sequence[Bore], until: datetime | None = None) -> Mapping[UUID, RodLog]:
    """The as-drilled logs of bores that were read with their job, by bore; up to a moment if one is given."""
    rods: dict[UUID, list[RodInput]] = defaultdict(list)
    for rod in DrilledRod.objects.filter(bore__in=bores, **_until("logged_at", until)).order_by(
        "logged_at", "entered_at", "id"
    ):
        rods[rod.bore_id].append(rod_input(rod))
    withdrawals: dict[UUID, list[WithdrawalInput]] = defaultdict(list)
    taken = RodWithdrawal.objects.filter(rod__bore__in=bores, **_until("withdrawn_at", until)).select_related(
        "rod"
    )
    for one in taken.order_by("withdrawn_at", "entered_at", "id"):
        withdrawals[one.rod.bore_id].append(
            WithdrawalInput(str(one.rod_id), one.kind, one.reason, one.withdrawn_at, one.withdrawn_by_name)
        )
    checks: dict[UUID, list[LocatorCheckInput]] = defaultdict(list)
    held = LocatorCheck.objects.filter(bore__in=bores, **_until("checked_at", until)).select_related("hole")
    for check in held.order_by("checked_at", "entered_at", "id"):
        checks[check.bore_id].append(
            LocatorCheckInput(
                check.hole.ref,
                check.device,
                check.read_depth_m,
                check.measured_depth_m,
                check.checked_at,
                check.checked_by_name,
            )
        )
    return {
        bore.pk: rod_log(
            LocatingError(bore.job.drilled_fixed_m, bore.job.drilled_depth_ratio),
            rods[bore.pk],
            withdrawals[bore.pk],
            checks[bore.pk],
        )
        for bore in bores
    }


def drilled_logs(bores: Sequence[Bore], until: datetime | None = None) -> Mapping[UUID, RodLog]:
    """The logs of those of the bores of which a rod was ever logged, by bore; the others are left out."""
    logged = DrilledRod.objects.filter(bore__in=bores, **_until("logged_at", until))
    ids = set(logged.order_by().values_list("bore_id", flat=True).distinct())
    return gather_rods([bore for bore in bores if bore.pk in ids], until) if ids else {}


def _until(column: str, until: datetime | None) -> dict[str, datetime]:
    return {} if until is None else {f"{column}__lte": until}


def rod_input(rod: DrilledRod) -> RodInput:
    """A rod, stored or about to be, as a plain value."""
    has_dot = rod.dot_longitude_deg is not None
    return RodInput(
        rod_id=str(rod.pk),
        after_id=None if rod.after_id is None else str(rod.after_id),
        number=rod.number,
        length_m=rod.length_m,
        pitch_ratio=rod.pitch_ratio,
        depth_m=rod.depth_m,
        roll_rad=rod.roll_rad,
        heading_rad=rod.heading_rad,
        dot=(rod.dot_longitude_deg, rod.dot_latitude_deg) if has_dot else None,
        dot_error_m=rod.dot_error_m,
        confirmed=tuple(one["sentence"] for one in rod.confirmed),
        remarks=rod.remarks,
        logged_at=rod.logged_at,
        logged_by=rod.logged_by_name,
        confirmed_codes=tuple(one["code"] for one in rod.confirmed),
        met=None if rod.met is None else tuple(MetLine(**one) for one in rod.met),
    )
