"""Bores computed of late by this process, for pages that show the same bores again and again.

What is computed follows from the inputs alone, so it is kept under them: other inputs are computed anew.
"""

from collections import OrderedDict
from dataclasses import replace
from threading import Lock

from conflicts.assess import Computed, compute
from conflicts.inputs import BoreInputs

MOST_KEPT = 64

_kept: OrderedDict[tuple[str, ...], Computed] = OrderedDict()
_lock = Lock()


def computed(inputs: BoreInputs) -> Computed:
    """A bore computed from these inputs, now or before; of what is kept, that asked for least lately goes.

    The site is the one of these inputs, which no figure rests on and the digest leaves out.

    Raises
    ------
    EngineError
        Records that no figure can be computed from.
    """
    # The digest leaves out the keys of the marks, which a job loaded anew has others of.
    key = (inputs.digest(), *(mark.mark_id for mark in inputs.marks))
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _with_inputs(_kept[key], inputs)
    made = compute(inputs)
    with _lock:
        _kept[key] = made
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return made


def _with_inputs(kept: Computed, inputs: BoreInputs) -> Computed:
    return replace(kept, scene=replace(kept.scene, inputs=inputs))
