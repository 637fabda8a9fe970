"""A real SMTP server in a process of its own: it keeps what it takes, and refuses what it is told to.

Run as a program with a port and a folder, it takes each message into a file of the folder. What it answers to
a recipient, or whether it hangs after the message, is read from the folder at each message.
"""

import asyncio
import json
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path

from tests.polling import wait_until

START_S = 30.0


@dataclass
class MailServer:
    """The server as a test sees it: stopped until it is started."""

    folder: Path
    port: int
    process: subprocess.Popen[bytes] | None = field(default=None)

    @property
    def settings(self) -> dict[str, object]:
        """What the site is told of it."""
        return {
            "host": "127.0.0.1",
            "port": self.port,
            "username": "",
            "password": "",
            "use_tls": False,
            "use_ssl": False,
        }

    @property
    def url(self) -> str:
        """What the environment of another process is told of it."""
        return f"smtp://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it, and come back when it listens."""
        program = [sys.executable, __file__, str(self.port), str(self.folder)]
        root = Path(__file__).resolve().parent.parent
        self.process = subprocess.Popen(program, cwd=root, env={"PYTHONPATH": str(root)})
        wait_until(self._listens, "the mail server listens", START_S)

    def stop(self) -> None:
        """End it at once, as an outage does."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def answer(self, **answers: str) -> None:
        """Have it answer so to recipients, named by what stands before the at sign."""
        (self.folder / "answers.json").write_text(json.dumps(answers))

    def hang_after_the_message(self, *, hangs: bool) -> None:
        """Have it keep a message and never say that it has."""
        if hangs:
            (self.folder / "hangs").touch()
        else:
            (self.folder / "hangs").unlink()

    def messages(self) -> list[EmailMessage]:
        """What it has taken, in order."""
        kept = sorted(self.folder.glob("*.eml"))
        return [message_from_bytes(path.read_bytes(), policy=policy.default) for path in kept]

    def _listens(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0


@contextmanager
def mail_server_in(folder: Path) -> Iterator[MailServer]:
    """A server that runs, and ends with the block."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = MailServer(folder, port)
    server.start()
    try:
        yield server
    finally:
        server.stop()


class _Keeper:
    """What the server does with a message."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.count = len(list(folder.glob("*.eml")))

    async def handle_RCPT(self, server, session, envelope, address, options):
        answers = self.folder / "answers.json"
        known = json.loads(answers.read_text()) if answers.exists() else {}
        answer = known.get(address.partition("@")[0], "250 OK")
        if answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server, session, envelope):
        part = self.folder / "part"
        part.write_bytes(envelope.content)
        part.rename(self.folder / f"{self.count:04d}.eml")
        self.count += 1
        if (self.folder / "hangs").exists():
            await asyncio.sleep(60)
        return "250 OK"


def _serve(port: int, folder: Path) -> None:
    from aiosmtpd.controller import Controller  # noqa: PLC0415 - for this process alone

    controller = Controller(_Keeper(folder), hostname="127.0.0.1", port=port)
    controller.start()
    signal.pause()


if __name__ == "__main__":
    _serve(int(sys.argv[1]), Path(sys.argv[2]))
