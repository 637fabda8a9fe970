"""What was logged while a bore was drilled, for the entries of the ledger in its clearance record."""

from datetime import datetime
from uuid import UUID

from conflicts.models import Bore, DrilledRod, HolePass, LocatorCheck


def read_logged(bore: Bore, at: datetime) -> dict[UUID, str]:
    """Rods, passes, what took either out of the log, and checks of the device until a moment.

    Three queries.

    Returns
    -------
    dict of UUID to str
        By the id of the record, what it is.
    """
    found: dict[UUID, str] = {}
    rods = DrilledRod.objects.filter(bore=bore, logged_at__lte=at).order_by("logged_at", "entered_at", "id")
    for key, number, out, out_at in rods.values_list(
        "id", "number", "withdrawal__id", "withdrawal__withdrawn_at"
    ):
        found[key] = f"Rod {number}"
        if out is not None and out_at <= at:
            found[out] = f"Withdrawal from rod {number} on"
    passes = HolePass.objects.filter(bore=bore, logged_at__lte=at).select_related("withdrawal")
    for one in passes.order_by("logged_at", "entered_at", "id"):
        name = one.get_kind_display()
        found[one.pk] = name.capitalize()
        if hasattr(one, "withdrawal") and one.withdrawal.withdrawn_at <= at:
            found[one.withdrawal.pk] = f"Withdrawal of a {name}"
    checks = LocatorCheck.objects.filter(bore=bore, checked_at__lte=at).order_by("checked_at", "id")
    for key, ref in checks.values_list("id", "hole__ref"):
        found[key] = f"Check at {ref}"
    return found
