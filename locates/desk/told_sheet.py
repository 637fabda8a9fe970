"""A page of what everybody was told, the newest first."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from locates.errors import PlaceInListError
from locates.models import Notice
from locates.models.board_queries import page_after, place_in
from locates.models.told_queries import TOLD_ORDER, ToldFilters, told

ROWS_A_PAGE = 50


@dataclass(frozen=True)
class ToldPage:
    """Notices, and where the next page begins."""

    notices: list[Notice]
    next_place: str


def read_told(filters: ToldFilters, after: str) -> ToldPage:
    """A page of what was told.

    Raises `PlaceInListError` where ``after`` is no place in the list.
    """
    found = list(page_after(told(filters), TOLD_ORDER, _place(after), ROWS_A_PAGE + 1))
    if len(found) <= ROWS_A_PAGE:
        return ToldPage(found, "")
    made_at, key = place_in(TOLD_ORDER, found[ROWS_A_PAGE - 1])
    return ToldPage(found[:ROWS_A_PAGE], f"{made_at.isoformat()}_{key}")


def _place(text: str) -> tuple[datetime, UUID] | None:
    if not text:
        return None
    written_at, _, key = text.partition("_")
    try:
        made_at, row = datetime.fromisoformat(written_at), UUID(key)
    except ValueError as error:
        raise PlaceInListError(text) from error
    if made_at.tzinfo is None:
        raise PlaceInListError(text)
    return made_at, row
