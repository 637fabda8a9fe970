"""What is planned of a job's bores, what is drilled, and what is left; how each bore stands."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Stage(StrEnum):
    """How a bore stands; the first that fits."""

    CLOSED_OUT = "closed out"
    STOPPED = "stopped"
    RELEASED = "may be drilled"
    SIGNED_AHEAD = "released for later"
    UNKNOWN = "not known"
    HELD = "not released"


@dataclass(frozen=True)
class Drilled:
    """How much of a bore is drilled.

    ``logged_m`` is the length of the rods in the ground, None where no rod is logged; ``reached_m`` the
    station of the head by their log, None where it is not known.
    """

    planned_m: float
    logged_m: float | None
    reached_m: float | None
    is_closed_out: bool

    @property
    def drilled_m(self) -> float:
        """What counts as drilled: without a log nothing but what a close-out was signed for."""
        if self.logged_m is not None:
            return self.logged_m
        return self.planned_m if self.is_closed_out else 0.0

    @property
    def left_m(self) -> float:
        """What is still to be drilled of it."""
        if self.is_closed_out:
            return 0.0
        return max(0.0, self.planned_m - (self.drilled_m if self.reached_m is None else self.reached_m))

    @property
    def is_by_close_out(self) -> bool:
        """Whether its planned length stands for the drilled one, which nobody logged."""
        return self.is_closed_out and self.logged_m is None


@dataclass(frozen=True)
class Footage:
    """Of all bores of a job together."""

    planned_m: float
    drilled_m: float
    left_m: float
    by_close_out_m: float
    bores: int
    closed_out: int
    unlogged: int
    """Bores that are not closed out and of which no rod is logged: nothing of them counts as drilled."""


def footage_of(bores: Iterable[Drilled]) -> Footage:
    """Add up the bores of a job.

    Parameters
    ----------
    bores : iterable of Drilled

    Returns
    -------
    Footage
    """
    each = list(bores)
    return Footage(
        planned_m=sum(one.planned_m for one in each),
        drilled_m=sum(one.drilled_m for one in each),
        left_m=sum(one.left_m for one in each),
        by_close_out_m=sum(one.drilled_m for one in each if one.is_by_close_out),
        bores=len(each),
        closed_out=sum(one.is_closed_out for one in each),
        unlogged=sum(one.logged_m is None and not one.is_closed_out for one in each),
    )
