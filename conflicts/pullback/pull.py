"""What a person says of a pull: what is pulled, through what, on what."""

from dataclasses import dataclass

from conflicts.pullback.bundle import Bundle
from conflicts.pullback.pull_load import Frictions


@dataclass(frozen=True, slots=True)
class Gear:
    """What bears the pull, and what holds the conduits; None where it is not known.

    Parameters
    ----------
    safe_pull_n : float or None
        Of one conduit.
    swivel_n, break_away_n : float or None
        Ratings.
    grip_least_m, grip_greatest_m : float or None
        Inside diameters that the pulling grip takes.
    """

    safe_pull_n: float | None = None
    swivel_n: float | None = None
    break_away_n: float | None = None
    grip_least_m: float | None = None
    grip_greatest_m: float | None = None


@dataclass(frozen=True, slots=True)
class Pull:
    """What is pulled, through what, and on what."""

    bundle: Bundle
    mud_relative_density: float
    frictions: Frictions
    above_ground_m: float
    rod_diameter_m: float
    gear: Gear
