"""Names for the checks behind a release, and counts of verdicts, as a page shows them."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from django import template

from conflicts.models import Verdict

register = template.Library()

TITLES = {
    "tickets": "Tickets",
    "responses": "Operators\N{RIGHT SINGLE QUOTATION MARK} responses",
    "crossings": "Crossings",
    "surface": "Surface evidence",
    "profile": "Profile",
    "day": "Walk of the day",
    "watch_holes": "Watch holes",
    "duties": "Duties of the place",
}


@register.filter
def check_title(code: str) -> str:
    """Name of a check; a code that has none yet is shown as it is."""
    return TITLES.get(code, code)


RELEASE_STATES = {
    "in_force": "in force",
    "not_yet": "not in force yet",
    "stopped": "stopped",
    "over": "over",
    "lapsed": "lapsed",
    "withdrawn": "withdrawn",
}


@register.filter
def release_state(state: str) -> str:
    """How a release stands, in words."""
    return RELEASE_STATES[state]


@register.filter
def as_sentence(words: str) -> str:
    """Words with a capital at their head and a full stop at their end."""
    return f"{words[:1].upper()}{words[1:].removesuffix('.')}."


@register.filter
def holding(checks: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The checks that stop the release."""
    return [check for check in checks if check["holds"]]


@register.filter
def passing(checks: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The checks that pass."""
    return [check for check in checks if not check["holds"]]


@register.filter
def not_clear(crossings: Iterable[Mapping[str, Any]]) -> list[tuple[int, Mapping[str, Any]]]:
    """The crossings that are not clear, each with its place along the bore, from 1."""
    return [
        (place, crossing)
        for place, crossing in enumerate(crossings, 1)
        if crossing["verdict"] != Verdict.CLEAR
    ]


@register.filter
def verdict_counts(crossings: Iterable[Mapping[str, Any]]) -> list[tuple[str, int]]:
    """Each verdict that occurs and how often, the gravest first."""
    counts = Counter(crossing["verdict"] for crossing in crossings)
    return [(verdict, counts[verdict]) for verdict in Verdict.values if counts[verdict]]
