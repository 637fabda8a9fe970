"""Steps told as they are done, each with its seconds. Standard library alone."""

import contextlib
import sys
import threading
import time
from collections.abc import Iterator
from typing import TextIO


class Progress:
    """One line for each step; on a terminal its seconds count up while it works."""

    def __init__(self, stream: TextIO = sys.stdout) -> None:
        self._stream = stream

    @contextlib.contextmanager
    def step(self, title: str) -> Iterator[None]:
        """Tell a step, and when it has ended how long it took."""
        began_s = time.monotonic()
        over = threading.Event()
        counter = threading.Thread(target=self._count, args=(title, began_s, over), daemon=True)
        if self._stream.isatty():
            counter.start()
        outcome = "FAILED"
        try:
            yield
            outcome = "done"
        finally:
            over.set()
            if counter.is_alive():
                counter.join()
            start = "\r" if self._stream.isatty() else ""
            self.say(f"{start}  {title}: {outcome} in {time.monotonic() - began_s:.1f} s")

    def say(self, words: str) -> None:
        """Tell something by itself."""
        self._stream.write(f"{words}\n")
        self._stream.flush()

    def _count(self, title: str, began_s: float, over: threading.Event) -> None:
        while not over.wait(0.5):
            self._stream.write(f"\r  {title}: {time.monotonic() - began_s:.0f} s ")
            self._stream.flush()
