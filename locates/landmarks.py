"""What a job is about, for whoever has to say how far from it something lies.

The lines that are bored belong to a package which this one does not know: it registers a function that gives
them, as with `locates.changes`.
"""

from collections.abc import Callable
from typing import NamedTuple
from uuid import UUID

from django.contrib.gis.geos import LineString


class Landmark(NamedTuple):
    """A line that the job is about, and its words."""

    words: str
    line: LineString


Provider = Callable[[UUID], list[Landmark]]

_providers: list[Provider] = []


def on_landmarks(provider: Provider) -> None:
    """Register a function that gives the landmarks of a job; twice is once."""
    if provider not in _providers:
        _providers.append(provider)


def landmarks_of(job_id: UUID) -> list[Landmark]:
    """Every landmark of a job."""
    return [landmark for provider in _providers for landmark in provider(job_id)]
