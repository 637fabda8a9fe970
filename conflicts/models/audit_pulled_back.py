"""The pull-backs of the bores that an audit looks at, from where on each and what outdates a watch by it."""

import json
from collections import defaultdict
from uuid import UUID

from conflicts.models.audit_filters import AuditFilters, of_bore, of_company
from conflicts.models.drilled_rod import DrilledRod
from conflicts.models.rod_withdrawal import RodWithdrawal, WithdrawalKind
from conflicts.pull_backs import RodOfHole, pull_backs

# What a statement reads of them, as `PulledBack` has it.
PULLED_BACK = "jsonb_to_recordset(%(pulled)s::jsonb) AS p(bore_id uuid, from_m float8, anew_from timestamptz)"


def pulled_back_json(filters: AuditFilters) -> str:
    """The pull-backs for `PULLED_BACK`: where a rod began is summed up rod by rod, as for the close-out."""
    pulled = RodWithdrawal.objects.filter(
        of_company(filters, "rod__bore__job"), of_bore(filters, "rod__bore"), kind=WithdrawalKind.PULL_BACK
    )
    read = DrilledRod.objects.filter(bore__in=pulled.values("rod__bore")).values_list(
        "bore_id",
        "id",
        "after_id",
        "number",
        "length_m",
        "pitch_ratio",
        "dot_station_m",
        "logged_at",
        "withdrawal__kind",
        "withdrawal__withdrawn_at",
    )
    rods: dict[UUID, list[RodOfHole]] = defaultdict(list)
    for bore_id, rod_id, after_id, *place, logged_at, kind, withdrawn_at in read:
        pulled_at = withdrawn_at if kind == WithdrawalKind.PULL_BACK else None
        is_undone = kind == WithdrawalKind.UNDO
        rods[bore_id].append(RodOfHole(rod_id, after_id, *place, pulled_at, logged_at, is_undone))
    return json.dumps(
        [
            {
                "bore_id": str(bore_id),
                "from_m": one.from_m,
                "anew_from": None if one.anew_from is None else one.anew_from.isoformat(),
            }
            for bore_id, logged in rods.items()
            for one in pull_backs(logged)
        ]
    )
