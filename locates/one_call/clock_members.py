"""Members of one JSON object of a clock, each read with an error that says where it stands."""

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import date, time
from typing import TypeVar

from locates.errors import LocatesError

T = TypeVar("T")

TIME_OF_DAY = "a time of day such as 07:00"

_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class ClockError(LocatesError, ValueError):
    """Something in the JSON of a clock that is not a clock's.

    Parameters
    ----------
    where : str
        Path of the member, such as ``notice.end.at``; "" for the clock as a whole.
    found, accepted : str
        What stands there, and what may stand there.
    """

    def __init__(self, where: str, found: str, accepted: str) -> None:
        super().__init__(where, found, accepted)
        self.where = where
        self.found = found
        self.accepted = accepted

    def __str__(self) -> str:
        return f"{self.where or 'the clock'}: found {self.found}; accepted: {self.accepted}"


class Members:
    """One JSON object, whose members are taken one by one.

    Parameters
    ----------
    value : object
        As read from JSON.
    where : str
        Its path.

    Raises
    ------
    ClockError
        Not an object.
    """

    def __init__(self, value: object, where: str) -> None:
        if not isinstance(value, Mapping):
            raise ClockError(where, _show(value), "an object")
        self._left = dict(value)
        self.where = where

    def path(self, name: str) -> str:
        """Path of a member."""
        return f"{self.where}.{name}" if self.where else name

    def refuse(self, name: str, found: str, accepted: str) -> ClockError:
        """Error at a member; "" is the object itself."""
        return ClockError(self.path(name) if name else self.where, found, accepted)

    def finish(self) -> None:
        """Refuse members that nobody took."""
        if self._left:
            names = ", ".join(sorted(map(str, self._left)))
            raise ClockError(
                self.where, f"the unknown member {names}", "the members that clock_reader describes"
            )

    def part(self, name: str, read: Callable[["Members"], T]) -> T | None:
        """An object read by `read`; None where the member is missing or null."""
        value = self._left.pop(name, None)
        if value is None:
            return None
        members = Members(value, self.path(name))
        read_part = read(members)
        members.finish()
        return read_part

    def needed(self, name: str, read: Callable[["Members"], T]) -> T:
        """An object that must be there."""
        found = self.part(name, read)
        if found is None:
            raise self.refuse(name, "nothing", "an object")
        return found

    def parts(self, name: str, read: Callable[["Members"], T]) -> tuple[T, ...]:
        """Objects of a list; none where the member is missing."""
        found = []
        for index, value in enumerate(self._list(name)):
            members = Members(value, f"{self.path(name)}[{index}]")
            found.append(read(members))
            members.finish()
        return tuple(found)

    def named(
        self, name: str, read: Callable[["Members"], T], names: Iterable[str]
    ) -> tuple[tuple[str, T], ...]:
        """Objects by a name out of `names`, in the order of their names."""
        inner = Members(self._left.pop(name, None) or {}, self.path(name))
        found = tuple((one, inner.needed(one, read)) for one in sorted(names) if one in inner._left)
        inner.finish()
        return found

    def text(self, name: str, default: str | None = None) -> str:
        """Text; without a default there must be some."""
        value = self._left.pop(name, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.refuse(name, _show(value), "text")
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of texts."""
        values = self._list(name)
        for index, value in enumerate(values):
            if not isinstance(value, str) or not value.strip():
                raise self.refuse(f"{name}[{index}]", _show(value), "text")
        return tuple(map(str, values))

    def choice(self, name: str, choices: Iterable[str], default: str | None = None) -> str:
        """One of some words."""
        value = self._left.pop(name, default)
        if not isinstance(value, str) or value not in choices:
            raise self.refuse(name, _show(value), f"one of {', '.join(choices)}")
        return value

    def choices(self, name: str, choices: tuple[str, ...]) -> tuple[str, ...]:
        """A list of some words."""
        values = self.texts(name)
        for value in values:
            if value not in choices:
                raise self.refuse(name, _show(value), f"a list of {', '.join(choices)}")
        return values

    def index(self, name: str, choices: tuple[str, ...]) -> int | None:
        """Place of a word in `choices`; None where it is missing."""
        if self._left.get(name) is None:
            self._left.pop(name, None)
            return None
        return choices.index(self.choice(name, choices))

    def flag(self, name: str, default: bool | None = None) -> bool:
        """Yes or no."""
        value = self._left.pop(name, default)
        if not isinstance(value, bool):
            raise self.refuse(name, _show(value), "true or false")
        return value

    def whole(self, name: str, least: int, most: int) -> int:
        """Whole number within bounds."""
        value = self.maybe_whole(name, least, most)
        if value is None:
            raise self.refuse(name, "nothing", f"a whole number, {least} to {most}")
        return value

    def maybe_whole(self, name: str, least: int, most: int, default: int | None = None) -> int | None:
        """Whole number within bounds, or the default where it is missing."""
        value = self._left.pop(name, None)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise self.refuse(name, _show(value), f"a whole number, {least} to {most}")
        return value

    def clock_time(self, name: str, default: time | None = None) -> time | None:
        """Time of day to the minute; the default where it is missing or null."""
        value = self._left.pop(name, None)
        if value is None:
            return default
        if not isinstance(value, str) or not _TIME.fullmatch(value):
            raise self.refuse(name, _show(value), TIME_OF_DAY)
        return time.fromisoformat(value)

    def day(self, name: str) -> date:
        """Date of a calendar."""
        value = self._left.pop(name, None)
        accepted = "a date such as 2026-12-24"
        if not isinstance(value, str) or not _DATE.fullmatch(value):
            raise self.refuse(name, _show(value), accepted)
        try:
            return date.fromisoformat(value)
        except ValueError as error:
            raise self.refuse(name, _show(value), accepted) from error

    def is_word(self, name: str, word: str) -> bool:
        """Whether a member is this one word; it is taken then."""
        if self._left.get(name) != word:
            return False
        del self._left[name]
        return True

    def _list(self, name: str) -> list[object]:
        values = self._left.pop(name, None)
        if values is None:
            return []
        if not isinstance(values, list):
            raise self.refuse(name, _show(values), "a list")
        return values


def _show(value: object) -> str:
    if value is None:
        return "nothing"
    shown = repr(value) if isinstance(value, str) else str(value).lower()
    return shown if len(shown) <= 60 else f"{shown[:57]}..."
