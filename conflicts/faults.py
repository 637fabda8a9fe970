"""One thing for which a check holds, told apart from every other one."""

from typing import NamedTuple


class Fault(NamedTuple):
    """What to act on, and what tells it from other faults of its check.

    ``key`` stays as it is while the fault does: where a record or a figure behind it changes, it is another.
    """

    key: str
    words: str


def said(sentences: list[str]) -> list[Fault]:
    """Faults of which each is told by its sentence, for all that it rests on stands there."""
    return [Fault(one, one) for one in sentences]
