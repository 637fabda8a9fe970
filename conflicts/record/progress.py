"""How far a worker is with a clearance record, in words and figures."""

from typing import Any

from conflicts.models import RecordMaking
from conflicts.models.record_making import MakingPhase
from locates.models.queued_work import WorkState

_STEPS = {
    MakingPhase.READ: ("Reading the records", "The bore, its lines, tickets, photos and signatures."),
    MakingPhase.DRAW: ("Drawing", "Plan, profile and the cross-section of every crossing."),
    MakingPhase.LAY_OUT: ("Laying out the pages", "This takes longest where crossings and photos are many."),
    MakingPhase.KEEP: ("Keeping the record", "Its bytes and its SHA-256."),
}
_ORDER = list(_STEPS)


def progress_of(making: RecordMaking | None) -> dict[str, Any]:
    """What the page that waits shows; settled where nothing waits.

    Returns
    -------
    dict
        ``is_settled``, whether the page is to be loaded again; ``step`` and ``words``; ``rows_done``, the
        steps that are done, None before the first, and ``rows_total``.
    """
    total = len(_ORDER)
    if making is None or not making.is_waiting:
        return {"is_settled": True, "step": "", "words": "", "rows_done": None, "rows_total": total}
    step, words, done = "Waiting to be made", "The record waits for a worker.", None
    if making.state == WorkState.RUNNING and making.phase:
        phase = MakingPhase(making.phase)
        (step, words), done = _STEPS[phase], _ORDER.index(phase)
    again = f" Attempt {making.attempts}: the one before ended too early." if making.attempts > 1 else ""
    return {
        "is_settled": False,
        "step": step,
        "words": f"{words}{again}",
        "rows_done": done,
        "rows_total": total,
    }
