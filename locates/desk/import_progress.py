"""How far a worker is with a large file, in words and figures."""

from typing import Any

from locates.exchange.vector_progress import Phase
from locates.models import ImportWork
from locates.models.import_work import WorkKind, WorkState

_COUNTED = {
    Phase.READ: ("Reading the rows", "Read"),
    Phase.FORM: ("Checking the rows one by one", "Checked"),
    Phase.STORE: ("Storing the rows: all of them or none", "Stored"),
}
_TOGETHER = "Comparing the rows with each other and with the job"


def progress_of(work: ImportWork | None) -> dict[str, Any]:
    """What the page that waits shows; None is work that somebody did away with meanwhile.

    Returns
    -------
    dict
        ``is_settled``, whether the page is to be loaded again; ``step`` and ``words``; ``rows_done``, None
        where nothing can be counted, and ``rows_total``.
    """
    if work is None or not work.is_waiting:
        return {"is_settled": True, "step": "", "words": "", "rows_done": None, "rows_total": 0}
    asked = "stored" if work.kind == WorkKind.STORE else "checked"
    step, done = f"Waiting to be {asked}", None
    words = f"{work.rows_total:,} rows wait for a worker."
    if work.state == WorkState.RUNNING:
        step, words, done = _running(work)
    again = f" Attempt {work.attempts}: the one before ended too early." if work.attempts > 1 else ""
    return {
        "is_settled": False,
        "step": step,
        "words": f"{words}{again}",
        "rows_done": done,
        "rows_total": work.rows_total,
    }


def _running(work: ImportWork) -> tuple[str, str, int | None]:
    if work.phase == Phase.TOGETHER:
        return _TOGETHER, f"{work.rows_total:,} rows are read and checked one by one.", None
    step, verb = _COUNTED[Phase(work.phase or Phase.READ)]
    words = f"{verb} {work.rows_done:,} of {work.rows_total:,} rows."
    return step, words, work.rows_done
