"""How far along each bore its rods were ever logged: what lies farther on was not drilled, by the log."""

from collections.abc import Iterable
from math import hypot
from uuid import UUID

from conflicts.models.drilled_rod import DrilledRod
from conflicts.models.rod_withdrawal import WithdrawalKind


def logged_to_m(bores: Iterable[UUID]) -> dict[UUID, float]:
    """The greatest station that the rods of each bore reached, those pulled back among them.

    Parameters
    ----------
    bores : iterable of UUID
        Of one page of an audit.

    Returns
    -------
    dict
        Metres along the bore: of a rod the station of its dot, else the end of the rod before it and its
        length and pitch from there. A bore without rods is not in it, nor is a rod that was entered wrongly.
    """
    rods = DrilledRod.objects.filter(bore__in=set(bores)).exclude(withdrawal__kind=WithdrawalKind.UNDO)
    ends_m: dict[UUID, float] = {}
    farthest_m: dict[UUID, float] = {}
    # A rod is joined to one of a lesser number.
    for bore_id, rod_id, after_id, length_m, pitch_ratio, dot_m in rods.order_by("number").values_list(
        "bore_id", "id", "after_id", "length_m", "pitch_ratio", "dot_station_m"
    ):
        run_m = ends_m.get(after_id, 0.0) + length_m / hypot(1.0, pitch_ratio)
        ends_m[rod_id] = run_m if dot_m is None else dot_m
        farthest_m[bore_id] = max(farthest_m.get(bore_id, 0.0), ends_m[rod_id])
    return farthest_m
