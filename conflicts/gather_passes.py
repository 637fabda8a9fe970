"""Reads the passes of the holes of many bores, in one query."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from uuid import UUID

from conflicts.hole_passes import PassInput, PassLog, WithdrawnPass, pass_log
from conflicts.models import Bore, HolePass


def gather_passes(bores: Sequence[Bore]) -> Mapping[UUID, PassLog]:
    """The passes of bores, by bore."""
    entries: dict[UUID, list[PassInput]] = defaultdict(list)
    withdrawn: dict[UUID, list[WithdrawnPass]] = defaultdict(list)
    rows = HolePass.objects.filter(bore__in=bores).select_related("withdrawal")
    for row in rows.order_by("logged_at", "entered_at", "id"):
        entry = pass_input(row)
        entries[row.bore_id].append(entry)
        end = getattr(row, "withdrawal", None)
        if end is not None:
            withdrawn[row.bore_id].append(
                WithdrawnPass(entry, end.reason, end.withdrawn_at, end.withdrawn_by_name)
            )
    return {
        bore.pk: pass_log(
            entries[bore.pk],
            sorted(withdrawn[bore.pk], key=lambda one: (one.withdrawn_at, one.entry.pass_id)),
        )
        for bore in bores
    }


def pass_input(row: HolePass) -> PassInput:
    """A pass, stored or about to be, as a plain value."""
    return PassInput(
        pass_id=str(row.pk),
        kind=row.kind,
        diameter_m=row.diameter_m,
        conduits=tuple((count, outside_m) for count, outside_m in row.conduits),
        is_measured=row.is_measured,
        direction=row.direction,
        from_m=row.from_station_m,
        to_m=row.to_station_m,
        confirmed=tuple(one["sentence"] for one in row.confirmed),
        remarks=row.remarks,
        made_at=row.made_at,
        logged_at=row.logged_at,
        logged_by=row.logged_by_name,
        ended_at=row.ended_at,
    )
