"""Check a file: what it would add to its job, what is wrong with it, and the first of it in words."""

from typing import Any

from locates.desk.bring_file import mapping_now, table_of, tables_of
from locates.errors import LocatesError
from locates.exchange.coordinate_systems import UNIT_WORDS
from locates.exchange.vector_errors import RowsRefused, VectorFileError
from locates.exchange.vector_import import check_import
from locates.exchange.vector_kinds import KINDS
from locates.exchange.vector_preview import drawn_geometries, preview_rows
from locates.exchange.vector_progress import Told, tell_nobody
from locates.exchange.vector_shapes import system_of
from locates.models import Job, VectorImport


def check_file(brought: VectorImport, job: Job, told: Told = tell_nobody) -> dict[str, Any]:
    """What the page of the check shows, as plain values that can be kept: of the job as it is now.

    Returns
    -------
    dict
        ``lines`` of what is wrong, ``may_store``, and, where the coordinates could be read at all, ``count``,
        ``system``, ``unit_words``, ``other_unit``, ``shift``, ``whereabouts``, ``preview`` and ``shapes``.
    """
    kind, mapping = KINDS[brought.kind], mapping_now(brought)
    table = table_of(tables_of(brought), mapping)
    try:
        checked = check_import(job, table, kind, mapping, told)
        system = system_of(table, mapping)
    except VectorFileError as error:
        return refused(error)
    unit = system.unit if table.is_sure else mapping.unit
    where = checked.whereabouts
    return {
        "lines": RowsRefused(checked.errors).lines() if checked.errors else [],
        "may_store": not checked.errors,
        "count": len(checked.features),
        "system": system.name,
        "unit_words": UNIT_WORDS[unit],
        "other_unit": UNIT_WORDS[system.unit] if unit != system.unit else "",
        "shift": checked.shift,
        "whereabouts": where and {"words": where.words, "is_doubtful": where.is_doubtful},
        "preview": [row._asdict() for row in preview_rows(checked.features, checked.places, kind, job)],
        "shapes": drawn_geometries(checked.features),
    }


def refused(error: LocatesError) -> dict[str, Any]:
    """What the page shows of a file that cannot be taken."""
    lines = error.lines() if isinstance(error, RowsRefused) else [str(error)]
    return {"lines": lines, "may_store": False}
