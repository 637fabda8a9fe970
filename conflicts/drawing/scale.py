"""The scale of a picture: from metres across and up to its units, and where its ticks stand."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from locates.minus import format_decimal
from locates.units import METRES_PER_FOOT

STATION_STEPS = {
    "feet": (5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000),
    "metric": (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000),
}
HEIGHT_STEPS = {"feet": (0.5, 1, 2, 5, 10, 20, 50, 100), "metric": (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50)}
UNIT_M = {"feet": METRES_PER_FOOT, "metric": 1.0}


@dataclass(frozen=True)
class Scale:
    """Where a place in metres stands in the picture.

    Attributes
    ----------
    left_px, top_px : float
        Corner of the plot.
    left_m, top_m : float
        Distance across and elevation at that corner.
    across_px_per_m, up_px_per_m : float
    """

    left_px: float
    top_px: float
    left_m: float
    top_m: float
    across_px_per_m: float
    up_px_per_m: float

    @property
    def exaggeration(self) -> float:
        """How many times larger heights are drawn than lengths."""
        return self.up_px_per_m / self.across_px_per_m

    def x(self, across_m: float) -> float:
        """Place across the picture."""
        return self.left_px + (float(across_m) - self.left_m) * self.across_px_per_m

    def y(self, elevation_m: float) -> float:
        """Place down the picture."""
        return self.top_px + (self.top_m - float(elevation_m)) * self.up_px_per_m


def tick_step_m(px_per_m: float, least_px: float, steps: Sequence[float], unit_m: float) -> float:
    """The smallest of some steps that keeps ticks so far apart; the largest where none does."""
    for step in steps:
        if step * unit_m * px_per_m >= least_px:
            return step * unit_m
    return steps[-1] * unit_m


def ticks_m(low_m: float, high_m: float, step_m: float) -> list[float]:
    """Whole multiples of a step from a low to a high figure."""
    first, last = math.ceil(low_m / step_m - 1e-9), math.floor(high_m / step_m + 1e-9)
    return [number * step_m for number in range(first, last + 1)]


def tick_label(at_m: float, step_m: float, unit_m: float) -> str:
    """A tick's figure in its unit, with a decimal only where its step has one."""
    figure = at_m / unit_m
    is_whole = abs(step_m / unit_m - round(step_m / unit_m)) < 1e-9
    return format_decimal(figure, 0 if is_whole else 1)
