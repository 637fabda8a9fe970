"""The broker made of files, whose messages appear whole: no worker reads one that is still being written."""

from pathlib import Path
from time import monotonic
from typing import Any
from uuid import uuid4

from kombu.exceptions import ChannelError
from kombu.transport import filesystem
from kombu.utils.json import dumps


class Channel(filesystem.Channel):
    """Kombu's channel of files, but for how a message is put there.

    Kombu writes a message under the name by which it is found. A worker that looks at that moment takes an
    empty file, and ends.
    """

    # Kombu's own classes do not agree on the name of what is put there.
    def _put(self, queue: str, message: Any, **kwargs: Any) -> None:  # type: ignore[override]
        """Write a message under another name, and give it its own in one step."""
        content = dumps(message).encode()
        file = Path(self.data_folder_out) / f"{round(monotonic() * 1000)}_{uuid4()}.{queue}.msg"
        unfinished = file.with_name(f"{file.name}.unfinished")
        try:
            unfinished.write_bytes(content)
            unfinished.replace(file)
        except OSError as error:
            raise ChannelError(f"Cannot add file {str(file)!r} to directory") from error


class Transport(filesystem.Transport):
    """Kombu's transport of files with this channel."""

    Channel = Channel
