"""JSON from anywhere: bounded, without NaN, doubled names or text that a database cannot hold."""

import json
import math
from collections.abc import Iterable, Iterator
from itertools import islice

from locates.errors import MOST_COUNTED, JobFileError, JobFileRefused
from locates.exchange.whereabouts import Path, error_at, show

LARGEST_FILE_BYTES = 32 * 1024 * 1024  # common practice, no source: a job of 100,000 features stays below it
DEEPEST_NESTING = 32  # the deepest member of a job file, a number in a MultiPolygon, stands at 8

_PLAIN_INTEGER_DIGITS = 15  # exact as a double; longer ones are read as doubles, as JSON's readers do


class _DoubledNames(dict[str, object]):
    """An object in which a member name stands more than once."""

    def __init__(self, pairs: list[tuple[str, object]], doubled: list[str]) -> None:
        super().__init__(pairs)
        self.doubled = doubled


def read_json(raw: bytes) -> object:
    """Value of a JSON document.

    Parameters
    ----------
    raw : bytes
        UTF-8, with or without a byte order mark, at most `LARGEST_FILE_BYTES`.

    Returns
    -------
    object
        Dictionaries, lists, strings, finite numbers, booleans and None.

    Raises
    ------
    JobFileError
        Too large, not UTF-8, not JSON, too deep; a number that is not finite, a member name that stands
        twice in its object, text that holds a NUL or half of a surrogate pair.
    """
    check_size(len(raw))
    document = _parse(_decode(raw))
    errors = list(islice(_faults(document), MOST_COUNTED))
    if errors:
        raise JobFileRefused(errors)
    return document


def check_size(size_bytes: int) -> None:
    """Refuse a file that is larger than any job.

    Parameters
    ----------
    size_bytes : int
        Size, which can be asked of a file before it is read.

    Raises
    ------
    JobFileError
        Larger than `LARGEST_FILE_BYTES`.
    """
    if size_bytes > LARGEST_FILE_BYTES:
        raise JobFileError(
            found=f"{size_bytes:,} bytes", accepted=f"at most {LARGEST_FILE_BYTES:,} bytes (32 MiB)"
        )


def _decode(raw: bytes) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise JobFileError(
            found=f"what is not UTF-8: 0x{raw[error.start]:02x} at byte {error.start} (counted from 0)",
            accepted="JSON in UTF-8",
        ) from error


def _parse(text: str) -> object:
    try:
        document: object = json.loads(text, object_pairs_hook=_object, parse_int=_integer)
    except json.JSONDecodeError as error:
        raise JobFileError(
            found=f"what is not JSON, at line {error.lineno}, column {error.colno}: {error.msg}",
            accepted="one JSON document",
        ) from error
    except RecursionError as error:
        raise _too_deep() from error
    return document


def _too_deep() -> JobFileError:
    return JobFileError(
        found="lists or objects nested too deep for a job file", accepted=f"at most {DEEPEST_NESTING} levels"
    )


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    members = dict(pairs)
    if len(members) == len(pairs):
        return members
    seen: set[str] = set()
    doubled: list[str] = []
    for name, _ in pairs:
        if name in seen and name not in doubled:
            doubled.append(name)
        seen.add(name)
    return _DoubledNames(pairs, doubled)


def _integer(digits: str) -> int | float:
    return int(digits) if len(digits) <= _PLAIN_INTEGER_DIGITS else float(digits)


def _faults(document: object) -> Iterator[JobFileError]:
    """What JSON's reader lets through and a job file may not hold; without recursion."""
    if not isinstance(document, dict | list):
        yield from _faults_of_scalar(document, document, ())
        return
    waiting: list[tuple[dict[str, object] | list[object], Path]] = [(document, ())]
    while waiting:
        container, path = waiting.pop()
        if len(path) > DEEPEST_NESTING:
            yield _too_deep()
            return
        inner = []
        for key, value in _members(container):
            if isinstance(key, str):
                yield from _faults_of_name(document, container, key, path)
            if isinstance(value, dict | list):
                inner.append((value, (*path, key)))
            else:
                yield from _faults_of_scalar(document, value, (*path, key))
        waiting.extend(reversed(inner))


def _members(container: dict[str, object] | list[object]) -> Iterable[tuple[str | int, object]]:
    return container.items() if isinstance(container, dict) else enumerate(container)


def _faults_of_name(document: object, container: object, name: str, path: Path) -> Iterator[JobFileError]:
    if isinstance(container, _DoubledNames) and name in container.doubled:
        yield error_at(
            document, (*path, name), found="this member more than once in its object", accepted="it once"
        )
    if not _is_storable(name):
        yield _unstorable(document, name, path)


def _faults_of_scalar(document: object, value: object, path: Path) -> Iterator[JobFileError]:
    if isinstance(value, float) and not math.isfinite(value):
        found = "NaN" if math.isnan(value) else f"{'-' if value < 0 else ''}Infinity or a number as large"
        yield error_at(document, path, found=found, accepted="a finite number")
    elif isinstance(value, str) and not _is_storable(value):
        yield _unstorable(document, value, path)


def _is_storable(text: str) -> bool:
    return not any(character == "\x00" or "\ud800" <= character <= "\udfff" for character in text)


def _unstorable(document: object, text: str, path: Path) -> JobFileError:
    return error_at(
        document, path, found=show(text), accepted="text without NUL characters or halves of surrogate pairs"
    )
