"""The look-ahead of a bore from its records as they are: read, compute, and put into words."""

from datetime import datetime

from conflicts.ahead_sheet import AheadSheet, ahead_sheet, unread
from conflicts.answering_release import answering_releases
from conflicts.assess import Computed
from conflicts.engine.errors import EngineError
from conflicts.gather import gather
from conflicts.gather_rods import gather_rods
from conflicts.models import Bore
from conflicts.recently_computed import computed
from conflicts.snapshot import one_snapshot

NONE_SIGNED = "None was signed yet."


def look_ahead_of(bore: Bore, at: datetime) -> AheadSheet:
    """The sheet for the rig at a moment; nothing of it is stored or kept.

    Parameters
    ----------
    bore : Bore
        Read with its job.
    at : datetime
    """
    try:
        with one_snapshot():
            inputs = gather([bore.pk])[bore.pk]
            log = inputs.site.log or gather_rods([bore])[bore.pk]
        figures = computed(inputs)
    except EngineError as error:
        return unread(str(error))
    return ahead_sheet(
        figures.at(at),
        log,
        release_words=_not_released(bore, figures),
        is_closed_out=inputs.site.closed_out_at is not None,
    )


def _not_released(bore: Bore, figures: Computed) -> tuple[str, ...] | None:
    """Why no release is in force, by both clocks; None where one is, or would be but for a stop told here."""
    told = answering_releases([bore.pk], {bore.pk: figures}).get(bore.pk)
    if told is None:
        return (NONE_SIGNED,)
    _, standing = told
    if standing.is_underway:
        return None
    return standing.reasons or (f"It is {standing.state}.",)
