"""What makes the writing of a large file quick: each of its objects is packed once, nothing is collected."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

import pydyf


class WrittenObject(pydyf.Object):
    """An object of a file as the bytes that it will be."""

    def __init__(self, found: pydyf.Object) -> None:
        super().__init__()
        self.number, self.generation, self.free = found.number, found.generation, found.free
        self._compressible = found.compressible
        self._data = b"" if found.free == "f" else found.data

    @property
    def data(self) -> bytes:
        """The bytes."""
        return self._data

    @property
    def compressible(self) -> bool:
        """Whether it may stand in a stream of objects."""
        return self._compressible


def written_once(_document: object, file: pydyf.PDF) -> None:
    """Have each object of a file packed once: the library asks for its bytes again for the identifier."""
    file.objects = [WrittenObject(one) for one in file.objects]


@contextmanager
def nothing_collected() -> Iterator[None]:
    """Keep the collector of cycles still: boxes live until the file is written, so that it finds nothing."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
