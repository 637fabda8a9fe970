"""What to do first when a line is hit, read from the data beside this module."""

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ADVICE_FILE = Path(__file__).parent / "advice.json"


class AdviceError(ValueError):
    """Data of the strike page that lacks something or names a source that is not there."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where an instruction comes from, and how far that was checked."""

    number: int
    citation: str
    says: str
    standing: str


@dataclass(frozen=True, slots=True)
class Instruction:
    """One thing to do, with at least one source."""

    words: str
    sources: tuple[Source, ...]


@dataclass(frozen=True, slots=True)
class FacilityAdvice:
    """What threatens where a line of one facility type is hit, and what to do, in order."""

    facility_type: str
    danger: str
    steps: tuple[Instruction, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """All that the strike page says of its own."""

    version: str
    emergency_number: str
    emergency: Instruction
    first: tuple[Instruction, ...]
    facilities: tuple[FacilityAdvice, ...]
    cautions: tuple[Instruction, ...]
    sources: tuple[Source, ...]


def read_advice(text: str, facility_types: Collection[str]) -> Advice:
    """Words for the strike page, each with its sources.

    Parameters
    ----------
    text : str
        JSON as in ``advice.json``.
    facility_types : collection of str
        Every facility type that a line can be of.

    Returns
    -------
    Advice
        In the order of the data.

    Raises
    ------
    AdviceError
        A facility type without steps or one that is none, words that are empty, an instruction without a
        source, or one that names a source that is not there.
    """
    try:
        document = json.loads(text)
        sources = {
            key: Source(number, *(_words(one[name], f"sources.{key}.{name}") for name in _SOURCE_MEMBERS))
            for number, (key, one) in enumerate(document["sources"].items(), start=1)
        }
        facilities = tuple(
            FacilityAdvice(
                kind,
                _words(one["danger"], f"facilities.{kind}.danger"),
                _instructions(one["steps"], sources, f"facilities.{kind}.steps"),
            )
            for kind, one in document["facilities"].items()
        )
        advice = Advice(
            _words(document["version"], "version"),
            _words(document["emergency"]["number"], "emergency.number"),
            _instruction(document["emergency"], sources, "emergency"),
            _instructions(document["first"], sources, "first"),
            facilities,
            _instructions(document["cautions"], sources, "cautions"),
            tuple(sources.values()),
        )
    except KeyError as error:
        raise AdviceError(f"{error} is not there.") from error
    found = [one.facility_type for one in facilities]
    if sorted(found) != sorted(facility_types):
        raise AdviceError(f"facilities: found {sorted(found)}; accepted: {sorted(facility_types)}.")
    return advice


_SOURCE_MEMBERS = ("citation", "says", "standing")


def _instructions(
    listed: list[Mapping[str, Any]], sources: Mapping[str, Source], where: str
) -> tuple[Instruction, ...]:
    if not listed:
        raise AdviceError(f"{where}: found none; accepted: at least one.")
    return tuple(_instruction(one, sources, f"{where}[{number}]") for number, one in enumerate(listed))


def _instruction(one: Mapping[str, Any], sources: Mapping[str, Source], where: str) -> Instruction:
    named = one["sources"]
    unknown = [key for key in named if key not in sources]
    if unknown or not named:
        raise AdviceError(
            f"{where}.sources: found {unknown or 'none'}; accepted: at least one of {', '.join(sources)}."
        )
    return Instruction(_words(one["words"], f"{where}.words"), tuple(sources[key] for key in named))


def _words(found: Any, where: str) -> str:
    if not isinstance(found, str) or not found.strip():
        raise AdviceError(f"{where}: found {found!r}; accepted: words.")
    return found
