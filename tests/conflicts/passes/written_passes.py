"""Passes as plain values."""

from dataclasses import replace

from conflicts.hole_passes import PassInput
from tests.factories import PLANNED_START_AT as AT


def reamed(diameter_m, from_m=None, to_m=None, **values):
    """A reamer through all of the bore, or a stretch of it."""
    plain = PassInput(
        pass_id=f"{diameter_m} {from_m} {to_m}", kind="reaming", diameter_m=diameter_m, conduits=(),
        is_measured=False, direction="", from_m=from_m, to_m=to_m, confirmed=(), remarks="", made_at=AT,
        logged_at=AT, logged_by="R. Pell",
    )  # fmt: skip
    return replace(plain, **values)


def pulled(diameter_m):
    """One conduit pulled in."""
    return reamed(diameter_m, kind="pullback", conduits=((1, diameter_m),))
