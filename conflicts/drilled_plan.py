"""Where a bore was drilled and where its head goes on, in plan: about these too marks are looked for."""

from dataclasses import dataclass, replace

from conflicts.drilled_beside import drilled_beside
from conflicts.engine.clearance import past_allowance_m
from conflicts.engine.errors import EngineError
from conflicts.engine.frame import FloatArray
from conflicts.inputs import BoreInputs
from conflicts.scene import lay_out
from conflicts.way_ahead import rig_of, way_ahead


@dataclass(frozen=True, eq=False)
class DrilledPlans:
    """Paths in plan about which marks are looked for.

    Attributes
    ----------
    lon_lat : list of (n, 2) float array
    farther_m : float
        How much farther than about the plan, for so much less sure is the least sure of their places.
    """

    lon_lat: list[FloatArray]
    farther_m: float


def plans_drilled(inputs: BoreInputs) -> DrilledPlans | None:
    """The paths of the rods in the ground, of abandoned legs and of the way ahead, in plan.

    Parameters
    ----------
    inputs : BoreInputs
        Whose site has the log of rods.

    Returns
    -------
    DrilledPlans or None
        None where no rod was logged, and where the records give no plan or path: no figure is shown of such a
        bore.
    """
    log = inputs.site.log
    if log is None:
        return None
    try:
        scene = lay_out(replace(inputs, marks=()))
        beside = drilled_beside(scene, log)
        made = [named.drilled for named in beside.paths]
        paths = [one.path for one in made]
        rig = rig_of(inputs.rig)
        if beside.drilled is not None and rig is not None:
            way = way_ahead(scene, beside.drilled.head, rig)
            paths += [] if way is None else [way.path]
    except EngineError:
        return None
    if not paths:
        return None
    least_sure_m = max(joint.horizontal_error_m for one in made for joint in one.joints)
    return DrilledPlans(
        [scene.frame.to_geographic(path.points_m[:, :2]) for path in paths],
        past_allowance_m(inputs.job.bore_horizontal_m, least_sure_m),
    )
