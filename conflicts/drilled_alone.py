"""The crossings to watch that the drilled hole alone has, with the rod that came past each."""

from dataclasses import dataclass
from math import isfinite

from conflicts.checks import Assessed
from conflicts.drilled import Drilled
from conflicts.met_lines import every_line_met
from conflicts.rod_log import RodInput
from conflicts.to_watch import ToWatch, crossings_to_watch

# A crossing ends with a rod where it is not farther than this past it.
AT_JOINT_M = 1e-6


@dataclass(frozen=True, eq=False)
class DrilledAlone:
    """A crossing to watch of the drilled hole alone, and the rod that came past it, or to it so far."""

    lies: ToWatch
    rod: RodInput

    @property
    def worst_case_m(self) -> float | None:
        """None where it is not known."""
        worst_m = self.lies.worst_case_m
        return worst_m if worst_m is not None and isfinite(worst_m) else None

    @property
    def required_m(self) -> float:
        """What the hole is held to there; of a line that is not there any more what was required."""
        return self.lies.required_m if self.lies.found is None else self.lies.found.required_m


def drilled_alone_now(assessed: Assessed) -> list[DrilledAlone]:
    """Those of a bore, in the order in which they are to be watched.

    Parameters
    ----------
    assessed : Assessed

    Returns
    -------
    list of DrilledAlone
        Empty where no rod was logged, and where the readings give no path.
    """
    return [DrilledAlone(one, _rod(assessed, one)) for one in crossings_to_watch(assessed) if one.is_drilled]


def _rod(assessed: Assessed, lies: ToWatch) -> RodInput:
    """The first rod that ends past the crossing along its own path, the last one where none does.

    Of a line that is not there any more the one whose entry names it.
    """
    if lies.named is not None and lies.is_gone:
        named_at, mark_id = lies.named.named_at, lies.mark_id
        met = every_line_met(assessed.site.log)
        return next(one.rod for one in met if (one.rod.logged_at, one.line.mark_id) == (named_at, mark_id))
    place = (lies.leg, lies.mark_id, lies.kind, lies.station_m)
    crossing = next(
        one.crossing
        for leg, one in assessed.drilled.every
        if (leg, one.lies.mark_id, one.lies.kind, one.station_m) == place
    )
    joints = _path(assessed, lies.leg).joints
    to_m = crossing.clearance.to_m - AT_JOINT_M
    return next((joint.rod for joint in joints if joint.own_station_m >= to_m), joints[-1].rod)


def _path(assessed: Assessed, leg: str) -> Drilled:
    paths = [one.leg.drilled for one in assessed.drilled.legs if one.leg.name == leg]
    [path, *_] = [one for one in (paths if leg else [assessed.drilled.path]) if one is not None]
    return path
