"""What the renderer could not do: it writes a line in its log and leaves the picture out."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager

from conflicts.errors import IncompleteRecordError

RENDERER = logging.getLogger("weasyprint")


class _Listener(logging.Handler):
    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.heard.append(record.getMessage())


@contextmanager
def nothing_left_out() -> Iterator[None]:
    """Refuse what is rendered with something left out.

    Raises
    ------
    IncompleteRecordError
        The renderer reported an error.
    """
    listener = _Listener()
    RENDERER.addHandler(listener)
    try:
        yield
    finally:
        RENDERER.removeHandler(listener)
    if listener.heard:
        raise IncompleteRecordError(listener.heard)
