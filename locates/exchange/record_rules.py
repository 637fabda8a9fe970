"""What the members of one feature, or of the job, must say together; each rule needs no other feature."""

import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any
from zoneinfo import available_timezones

from locates.errors import JobFileError
from locates.exchange.job_file_schema import facility_types
from locates.exchange.moments import EARLIEST_YEAR, LATEST_YEAR, read_moment
from locates.exchange.positions import IndexedFeature
from locates.exchange.schema_words import MOMENT_WORDS, listed, nearest_words
from locates.exchange.whereabouts import Path, error_at, show

LONGEST_NAME = 200  # of the records' columns

_MACHINE_ZONES = frozenset({"localtime", "Factory"})  # of this machine or of none
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", re.ASCII | re.IGNORECASE)
_NAMING_MEMBERS = frozenset({
    "name", "organisation", "jurisdiction", "time_zone", "operator", "number", "ref", "mark_ref",
    "explained_by_mark_ref", "ticket_number", "bore_name",
})  # fmt: skip
_SHORT_MEMBERS = frozenset({"previous_number"})


def job_faults(document: Any) -> Iterator[JobFileError]:
    """What is wrong with a job of sound form.

    Parameters
    ----------
    document : object
        The file as read, whose job the schema accepts.

    Yields
    ------
    JobFileError
        A blank or long name, a time zone or a facility type that there is not, an operator or a requirement
        twice.
    """
    job = document["job"]
    yield from _false_names(document, job, ("job",))
    if job["time_zone"].strip() and job["time_zone"] not in _time_zones():
        nearest = nearest_words(job["time_zone"], _time_zones())
        yield error_at(
            document,
            ("job", "time_zone"),
            found=show(job["time_zone"]),
            accepted=f"{nearest}an IANA time zone, such as America/Chicago",
        )
    types = facility_types()
    for name in job.get("default_outside_m", {}):
        if name not in types:
            nearest = nearest_words(name, types)
            yield error_at(
                document,
                ("job", "default_outside_m", name),
                found="an unknown facility type",
                accepted=f"{nearest}one of {listed(types)}",
            )
    for member in ("operators", "requirements"):
        for place, record in enumerate(job.get(member, [])):
            yield from _false_names(document, record, ("job", member, place))
    operators = [operator["name"] for operator in job.get("operators", [])]
    yield from _repeated(document, operators, ("job", "operators"), "operator")
    scopes = [
        (requirement.get("operator"), requirement.get("facility_type"))
        for requirement in job.get("requirements", [])
    ]
    yield from _repeated(document, scopes, ("job", "requirements"), "requirement for this operator and type")


def form_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Identifiers, names and moments that the schema's types let through.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features that the schema accepts.

    Yields
    ------
    JobFileError
        An id that is no UUID, a blank or long name, a moment that is none.
    """
    for index, feature in features:
        path: Path = ("features", index)
        if "id" in feature and not _UUID.fullmatch(feature["id"]):
            yield error_at(
                document,
                (*path, "id"),
                found=show(feature["id"]),
                accepted="a UUID, such as 6f1d3c1e-2f0a-4c57-9d39-0d6c7e0b7a11, or no id",
            )
        records = [((*path, "properties"), feature["properties"])]
        for place, response in enumerate(feature["properties"].get("responses", [])):
            records.append(((*path, "properties", "responses", place), response))
        for where, record in records:
            yield from _false_names(document, record, where)
            yield from _false_moments(document, record, where)


def record_faults(document: Any, features: Iterable[IndexedFeature]) -> Iterator[JobFileError]:
    """Members of one feature that contradict or need each other.

    Parameters
    ----------
    document : object
        The file as read.
    features : iterable of (index, feature)
        Features of sound form.

    Yields
    ------
    JobFileError
        A test hole without the depth that it must have, dates out of order.
    """
    for index, feature in features:
        properties = feature["properties"]
        path: Path = ("features", index, "properties")
        if properties["kind"] == "test_hole":
            needed = "depth_to_top_m" if properties["found"] else "dug_depth_m"
            if needed not in properties:
                result = "a line" if properties["found"] else "nothing"
                yield error_at(
                    document,
                    (*path, needed),
                    found="nothing",
                    accepted=f"a number of metres, as every test hole that found {result} has",
                )
        elif properties["kind"] == "ticket":
            yield from date_order_fault(document, properties, path, "called_at", "legal_start_at")
            earlier = "legal_start_at" if "legal_start_at" in properties else "called_at"
            yield from date_order_fault(document, properties, path, earlier, "expires_at", may_equal=False)
        elif properties["kind"] == "mark":
            yield from date_order_fault(document, properties, path, "marked_at", "re_marked_at")


def date_order_fault(
    document: Any, properties: dict[str, Any], path: Path, earlier: str, later: str, *, may_equal: bool = True
) -> Iterator[JobFileError]:
    """Two dates of one feature in the wrong order.

    Parameters
    ----------
    document : object
        The file as read.
    properties : dict
        Of the feature; either date may be absent.
    path : tuple
        Where the properties are.
    earlier, later : str
        Members in the order in which they must follow each other.
    may_equal : bool
        Whether both may be the same moment.

    Yields
    ------
    JobFileError
        At the later one, if it comes too early.
    """
    if earlier not in properties or later not in properties:
        return
    first, second = read_moment(properties[earlier]), read_moment(properties[later])
    if second < first or (second == first and not may_equal):
        words = "not before" if may_equal else "after"
        yield error_at(
            document,
            (*path, later),
            found=properties[later],
            accepted=f"a moment {words} {earlier}, which is {properties[earlier]}",
        )


@cache
def _time_zones() -> frozenset[str]:
    return frozenset(available_timezones()) - _MACHINE_ZONES


def _false_names(document: Any, record: dict[str, Any], path: Path) -> Iterator[JobFileError]:
    for member, value in record.items():
        if member in _NAMING_MEMBERS and not value.strip():
            yield error_at(document, (*path, member), found=show(value), accepted="text that is not blank")
        elif member in _NAMING_MEMBERS | _SHORT_MEMBERS and len(value) > LONGEST_NAME:
            accepted = f"at most {LONGEST_NAME} characters"
            yield error_at(document, (*path, member), found=f"{len(value)} characters", accepted=accepted)


def _false_moments(document: Any, record: dict[str, Any], path: Path) -> Iterator[JobFileError]:
    for member, value in record.items():
        if not member.endswith("_at"):
            continue
        try:
            read_moment(value)
        except ValueError:
            accepted = f"{MOMENT_WORDS}, of the years {EARLIEST_YEAR} to {LATEST_YEAR}"
            yield error_at(document, (*path, member), found=show(value), accepted=accepted)


def _repeated(document: Any, keys: list[Any], path: Path, what: str) -> Iterator[JobFileError]:
    first: dict[Any, int] = {}
    for place, key in enumerate(keys):
        if key in first:
            field = f"{path[-1]}[{first[key]}]"
            yield error_at(
                document, (*path, place), found=f"a second {what}", accepted=f"one; {field} is it already"
            )
        first.setdefault(key, place)
