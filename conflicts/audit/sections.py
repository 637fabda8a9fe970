"""The parts of the audit: what each lists, in which order, and by which columns."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from conflicts.audit.columns import Column, Look
from conflicts.audit.places import Readers
from conflicts.models.audit_filters import AuditFilters


@dataclass(frozen=True)
class Section:
    """One part.

    Attributes
    ----------
    code, title, words : str
        In addresses and names of files; the heading; what is listed, in a sentence or two.
    empty_words : str
        What is said where there is nothing yet.
    columns : tuple of Column
    look_of : callable
        From a row to how its job wants figures and moments.
    rows : callable
        From filters, a place or None and a number to so many rows after it; newest or least first.
    count : callable
        From filters to how many rows there are.
    place_of : callable, readers : tuple of callable
        From a row to the values of its place, and what reads them back.
    days : str
        Which days of a row count where days are chosen, in a sentence.
    passed_by : tuple of str
        Filters that this part does not have: it is not narrowed by them.
    """

    code: str
    title: str
    words: str
    empty_words: str
    columns: tuple[Column, ...]
    look_of: Callable[[Any], Look]
    rows: Callable[[AuditFilters, tuple[Any, ...] | None, int], list[Any]]
    count: Callable[[AuditFilters], int]
    place_of: Callable[[Any], tuple[Any, ...]]
    readers: Readers
    days: str
    passed_by: tuple[str, ...] = ()
