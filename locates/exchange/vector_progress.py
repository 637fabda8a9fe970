"""How far the work on a file is, told by what does the work to whoever wants to know."""

from collections.abc import Callable
from enum import StrEnum

EVERY = 500
"""Rows between two tellings."""


class Phase(StrEnum):
    """What is being done with the rows; each goes through all of them once."""

    READ = "read"
    FORM = "form"
    TOGETHER = "together"
    STORE = "store"


Told = Callable[[Phase, int], None]
"""Takes what is being done and with how many rows it is done."""


def tell_nobody(phase: Phase, rows: int) -> None:
    """For work that is over before anybody asks."""
