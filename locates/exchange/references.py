"""Names that must stand once in a job file, and names that must stand there at all."""

from collections.abc import Iterable, Iterator
from typing import Any

from locates.errors import JobFileError
from locates.exchange.positions import IndexedFeature
from locates.exchange.schema_words import nearest_words
from locates.exchange.whereabouts import Path, error_at, show

_NAMED_ONCE = {"ticket": ("number",), "mark": ("ref",), "test_hole": ("ref",), "surface_feature": ("ref",)}
_REFERENCES = {
    "mark": {"ticket_number": ("ticket", "number")},
    "test_hole": {"ticket_number": ("ticket", "number"), "mark_ref": ("mark", "ref")},
    "surface_feature": {"explained_by_mark_ref": ("mark", "ref")},
}


def reference_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Names that stand twice, and references to what is not in the file.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        All of its features, of sound form.

    Yields
    ------
    JobFileError
    """
    indexed = list(features)
    yield from _ids_twice(document, indexed)
    for kind, members in _NAMED_ONCE.items():
        yield from named_twice(document, indexed, kind, members)
    for kind, references in _REFERENCES.items():
        for member, target in references.items():
            yield from dangling(document, indexed, kind, member, target)
    yield from _operators_of_nothing(document, indexed)


def named_twice(
    document: Any, features: Iterable[IndexedFeature], kind: str, members: tuple[str, ...]
) -> Iterator[JobFileError]:
    """Features of a kind that share what must tell them apart.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of sound form.
    kind : str
        Kind that is looked at.
    members : tuple of str
        Members that together must stand once.

    Yields
    ------
    JobFileError
        At every feature but the first.
    """
    first: dict[tuple[str, ...], int] = {}
    for index, properties in _of_kind(features, kind):
        key = tuple(properties[member] for member in members)
        if key in first:
            yield error_at(
                document,
                ("features", index, "properties", members[-1]),
                found=f"{show(properties[members[-1]])}, which feature {first[key]} has already",
                accepted=f"a {' and '.join(members)} that no other {kind} of the file has",
            )
        first.setdefault(key, index)


def dangling(
    document: Any, features: Iterable[IndexedFeature], kind: str, member: str, target: tuple[str, str]
) -> Iterator[JobFileError]:
    """References of a kind's member to a feature that is not in the file.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        All features, of sound form.
    kind, member : str
        Kind and member that refer.
    target : (str, str)
        Kind and member that are referred to.

    Yields
    ------
    JobFileError
    """
    target_kind, target_member = target
    indexed = list(features)
    there = {properties[target_member] for _, properties in _of_kind(indexed, target_kind)}
    for index, properties in _of_kind(indexed, kind):
        if member in properties and properties[member] not in there:
            nearest = nearest_words(properties[member], there)
            yield error_at(
                document,
                ("features", index, "properties", member),
                found=f"{show(properties[member])}, which no {target_kind} of the file has",
                accepted=f"{nearest}the {target_member} of a {target_kind} in the same file",
            )


def _of_kind(features: Iterable[IndexedFeature], kind: str) -> Iterator[tuple[int, dict[str, Any]]]:
    for index, feature in features:
        if feature["properties"]["kind"] == kind:
            yield index, feature["properties"]


def _ids_twice(document: Any, features: list[IndexedFeature]) -> Iterator[JobFileError]:
    first: dict[str, int] = {}
    for index, feature in features:
        if "id" not in feature:
            continue
        key = feature["id"].lower()
        if key in first:
            yield error_at(
                document,
                ("features", index, "id"),
                found=f"{show(feature['id'])}, which feature {first[key]} has already",
                accepted="an id that no other feature of the file has",
            )
        first.setdefault(key, index)


def _operators_of_nothing(document: Any, features: list[IndexedFeature]) -> Iterator[JobFileError]:
    """Requirements of an operator whom nothing else names: a slip there would weaken the requirement."""
    named = {operator["name"] for operator in document["job"].get("operators", [])}
    named.update(properties["operator"] for _, properties in _of_kind(features, "mark"))
    for _, properties in _of_kind(features, "ticket"):
        named.update(response["operator"] for response in properties.get("responses", []))
    for place, requirement in enumerate(document["job"].get("requirements", [])):
        if "operator" in requirement and requirement["operator"] not in named:
            path: Path = ("job", "requirements", place, "operator")
            nearest = nearest_words(requirement["operator"], named)
            yield error_at(
                document,
                path,
                found=f"{show(requirement['operator'])}, whom nothing else in the file names",
                accepted=f"{nearest}the name of an operator in the same file",
            )
