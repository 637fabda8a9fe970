"""Where a bore was drilled and where its head goes on, in plan: about these too marks are looked for."""

from dataclasses import replace

from conflicts.drilled_beside import drilled_beside
from conflicts.engine.errors import EngineError
from conflicts.engine.frame import FloatArray
from conflicts.inputs import BoreInputs
from conflicts.scene import lay_out
from conflicts.way_ahead import rig_of, way_ahead


def plans_drilled(inputs: BoreInputs) -> list[FloatArray]:
    """The paths of the rods in the ground, of abandoned legs and of the way ahead, in plan.

    Parameters
    ----------
    inputs : BoreInputs
        Whose site has the log of rods.

    Returns
    -------
    list of (n, 2) float array
        Longitude and latitude. Empty where no rod was logged, and where the records give no plan or path: no
        figure is shown of such a bore.
    """
    log = inputs.site.log
    if log is None:
        return []
    try:
        scene = lay_out(replace(inputs, marks=()))
        beside = drilled_beside(scene, log)
        paths = [named.drilled.path for named in beside.paths]
        rig = rig_of(inputs.rig)
        if beside.drilled is not None and rig is not None:
            way = way_ahead(scene, beside.drilled.head, rig)
            paths += [] if way is None else [way.path]
    except EngineError:
        return []
    return [scene.frame.to_geographic(path.points_m[:, :2]) for path in paths]
