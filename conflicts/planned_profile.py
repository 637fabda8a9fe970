"""What a search for a bore's profile came to, with the engine's own figures."""

from dataclasses import dataclass

from conflicts.crossings import FoundCrossing
from conflicts.engine.path import Ground
from conflicts.engine.profile_arcs import RodProfile
from conflicts.engine.profile_conflict import Conflict
from conflicts.head_start import HeadStart
from conflicts.inputs import BoreInputs
from conflicts.profile_demands import Demands
from conflicts.profile_relax import Relaxation
from conflicts.scene import Scene


@dataclass(frozen=True, eq=False)
class PlannedProfile:
    """What a search for a bore's profile came to, or a profile that somebody gave.

    Attributes
    ----------
    inputs : BoreInputs
        The bore as recorded.
    demands : Demands or None
        None where the profile was given, not searched.
    rods : RodProfile or None
        The profile found or given; None where there is none.
    ground : Ground
        By station from the recorded entry.
    scene : Scene or None
        The bore with the profile drawn into it, stations from the profile's own entry.
    crossings : tuple of FoundCrossing
        Of the profile found, by the engine, stations from its own entry.
    faults : tuple of str
        What the project's own check of a profile says about it.
    no_margin_above_m : float or None
        A margin that is proven to be out of reach; None where none is, or it was not asked for.
    is_proven : bool
        Nothing found, and it is proven that there is nothing.
    conflict : Conflict or None
        Where it is proven, the fewest demands that cannot all hold.
    relaxations : tuple of Relaxation
        Where nothing was found, what makes a profile possible.
    is_cut_short : bool
        The time was over before every relaxation was tried.
    head : HeadStart or None
        What is drilled, where rods are in the ground.
    """

    inputs: BoreInputs
    demands: Demands | None
    rods: RodProfile | None
    ground: Ground
    scene: Scene | None = None
    crossings: tuple[FoundCrossing, ...] = ()
    faults: tuple[str, ...] = ()
    no_margin_above_m: float | None = None
    is_proven: bool = False
    conflict: Conflict | None = None
    relaxations: tuple[Relaxation, ...] = ()
    is_cut_short: bool = False
    head: HeadStart | None = None

    @property
    def drilled_rods(self) -> int:
        """How many of its rods are in the ground; 0 where it does not go through the bit as that lies now."""
        if self.head is None or self.rods is None or not self.head.is_kept_by(self.rods):
            return 0
        return self.head.count

    @property
    def entry_m(self) -> float:
        """The station of its entry, counted from the recorded one."""
        return 0.0 if self.rods is None else self.rods.entry_station_m

    @property
    def least_margin_m(self) -> float | None:
        """The least of worst case less required over the crossings of known depth; None without one."""
        known = [margin for margin in map(margin_of, self.crossings) if margin is not None]
        return min(known, default=None)


def margin_of(crossing: FoundCrossing) -> float | None:
    """Worst case less required, metres; None where the depth is unknown."""
    worst_m = crossing.clearance.worst_case_m
    return None if worst_m is None else worst_m - crossing.required_m
