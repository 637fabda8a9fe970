"""The job file's schema: each feature against the part of its kind, and every fault in a person's words."""

import json
from collections.abc import Iterator
from functools import cache
from itertools import islice
from pathlib import Path as FilePath
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from locates.errors import MOST_COUNTED, JobFileError
from locates.exchange.schema_words import accepted_words, listed, nearest_words
from locates.exchange.whereabouts import Path, error_at, show

SCHEMA_FILE = FilePath(__file__).with_name("job_file.schema.json")

_GEOMETRY_MEMBERS = ("type", "coordinates")


@cache
def schema() -> dict[str, Any]:
    """Return the schema of the whole file, which is read once."""
    document: dict[str, Any] = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    return document


@cache
def kinds() -> tuple[str, ...]:
    """Return the kinds of feature, in the schema's order."""
    return tuple(part["title"] for part in schema()["properties"]["features"]["items"]["oneOf"])


@cache
def facility_types() -> tuple[str, ...]:
    """Return the facility types, in the schema's order."""
    requirement = schema()["properties"]["job"]["properties"]["requirements"]["items"]
    return tuple(requirement["properties"]["facility_type"]["enum"])


def schema_faults(document: Any) -> Iterator[JobFileError]:
    """Everything in which a file departs from the schema.

    Parameters
    ----------
    document : object
        As read from JSON.

    Yields
    ------
    JobFileError
        In the order: the file, its job, its features.
    """
    if not isinstance(document, dict) or document.get("type") != "FeatureCollection":
        found = show(document.get("type")) if isinstance(document, dict) else show(document)
        yield JobFileError(
            field="type", found=found, accepted='"FeatureCollection", a GeoJSON one (RFC 7946)'
        )
        return
    yield from _translated(document, (), _frame_validator(), document)
    if not isinstance(document.get("features"), list):
        return
    for index, feature in enumerate(document["features"]):
        yield from _faults_of_feature(document, feature, ("features", index))


@cache
def _frame_validator() -> Draft202012Validator:
    """What surrounds the features, and the job."""
    frame = {**schema(), "properties": {**schema()["properties"], "features": {"type": "array"}}}
    return Draft202012Validator(frame)


@cache
def _kind_validators() -> dict[str, Draft202012Validator]:
    """The schema's part of each kind, closed against members that it does not name."""
    parts = schema()["properties"]["features"]["items"]["oneOf"]
    return {part["title"]: Draft202012Validator(_closed(part)) for part in parts}


def _closed(part: dict[str, Any]) -> dict[str, Any]:
    properties = dict(part["properties"])
    geometry = properties["geometry"]
    members = {name: geometry["properties"].get(name, {}) for name in _GEOMETRY_MEMBERS}
    properties["geometry"] = {**geometry, "properties": members, "additionalProperties": False}
    return {**part, "properties": properties, "additionalProperties": False}


def _faults_of_feature(document: Any, feature: Any, path: Path) -> Iterator[JobFileError]:
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        found = show(feature.get("type")) if isinstance(feature, dict) else show(feature)
        yield error_at(document, (*path, "type"), found=found, accepted='"Feature"')
        return
    properties = feature.get("properties")
    if not isinstance(properties, dict):
        found = show(properties) if "properties" in feature else "nothing"
        yield error_at(document, (*path, "properties"), found=found, accepted="an object with a kind")
        return
    kind = properties.get("kind")
    if not isinstance(kind, str) or kind not in kinds():
        found = show(kind) if "kind" in properties else "nothing"
        yield error_at(
            document,
            (*path, "properties", "kind"),
            found=found,
            accepted=f"{nearest_words(kind, kinds())}one of {listed(kinds())}",
        )
        return
    yield from _translated(document, path, _kind_validators()[kind], feature)


def _translated(
    document: Any, path: Path, validator: Draft202012Validator, instance: Any
) -> Iterator[JobFileError]:
    faults = sorted(islice(validator.iter_errors(instance), MOST_COUNTED), key=_place)
    for fault in faults:
        yield from _in_words(document, (*path, *fault.absolute_path), fault)


def _place(fault: ValidationError) -> list[tuple[bool, str | int]]:
    return [(isinstance(part, str), part) for part in fault.absolute_path]


def _in_words(document: Any, path: Path, fault: ValidationError) -> Iterator[JobFileError]:
    rule = fault.schema if isinstance(fault.schema, dict) else {}
    known = rule.get("properties", {})
    if fault.validator == "required":
        for name in rule["required"]:
            if fault.message == f"{name!r} is a required property":
                accepted = accepted_words(known.get(name, {}), name)
                yield error_at(document, (*path, name), found="nothing", accepted=accepted)
    elif fault.validator == "additionalProperties":
        for name in fault.instance:
            if name not in known:
                accepted = f"{nearest_words(name, known)}one of {listed(known)}"
                yield error_at(document, (*path, name), found="an unknown member", accepted=accepted)
    else:
        name = next((part for part in reversed(path) if isinstance(part, str)), "")
        nearest = nearest_words(fault.instance, rule.get("enum", ()))
        accepted = nearest + accepted_words(rule, name)
        yield error_at(document, path, found=show(fault.instance), accepted=accepted)
