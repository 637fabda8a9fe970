"""People who sign over real HTTP, one paper after the other, and note what the site acknowledged."""

import re
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from http.client import HTTPConnection, HTTPException
from http.cookies import SimpleCookie
from threading import Event
from typing import NamedTuple
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.urls import reverse
from django.utils import timezone

from config.supervisor import HOST
from conflicts.errors import GroundsChangedError
from conflicts.models import Bore
from locates.local_time import write_local
from tests.factories import PASSWORD
from tests.polling import wait_until

ANSWER_S = 60.0
BETWEEN_TRIES_S = 0.1
MORE_S = 60.0
CHANGED = str(GroundsChangedError())


class Paper(NamedTuple):
    """What is signed again and again: its kind in the ledger, its form, and where a signed one leads."""

    kind: str
    address: str
    answers: dict[str, str]
    leads_to: str
    names: str = ""
    """Hidden field in which its form says what the page showed."""


def papers_of(bore: Bore) -> list[Paper]:
    """A walk, a watch and a release of a bore of today."""
    now, zone = timezone.now(), bore.job.time_zone
    walk = {"marks_intact": "yes", "device_checked": "yes", "device": "receiver 7", "holes_open": "yes"}
    shift = {
        "shift_from": write_local(now - timedelta(minutes=1), zone),
        "shift_until": write_local(now + timedelta(hours=4), zone),
        "crew": "Crew 2",
        "rig": "Rig 7",
        "password": PASSWORD,
    }
    page = reverse("conflicts:bore", args=[bore.pk])
    watches = reverse("conflicts:watches", args=[bore.pk])
    watch = reverse("conflicts:watch", args=[bore.pk, 0, "pilot"])
    return [
        Paper("walk", reverse("conflicts:walk", args=[bore.pk]), walk, page),
        Paper("watch", watch, {"seen": "yes", "gap_m": "2 ft"}, watches, "crossing"),
        Paper(
            "release", reverse("conflicts:release-sign", args=[bore.pk]), shift, "/releases/{key}/", "shown"
        ),
    ]


class Answer(NamedTuple):
    """What came back, complete."""

    status: int
    location: str
    text: str


class Visitor:
    """A person who is logged in; follows no redirect, for that is the acknowledgement."""

    def __init__(self, port: int, username: str) -> None:
        self.port = port
        self.cookies: dict[str, str] = {}
        login = reverse("login")
        self.ask("GET", login)
        answer = self.ask("POST", login, {"username": username, "password": PASSWORD})
        assert "sessionid" in self.cookies, answer.text

    def ask(self, method: str, address: str, answers: dict[str, str] | None = None) -> Answer:
        """Ask once; raises ``OSError`` or ``HTTPException`` where no whole answer comes."""
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        body = None
        if answers is not None:
            body = urlencode(answers | {"csrfmiddlewaretoken": self.cookies["csrftoken"]})
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection = HTTPConnection(HOST, self.port, timeout=ANSWER_S)
        try:
            connection.request(method, address, body, headers)
            answer = connection.getresponse()
            text = answer.read().decode()
        finally:
            connection.close()
        for words in answer.headers.get_all("Set-Cookie") or ():
            self.cookies |= {name: morsel.value for name, morsel in SimpleCookie(words).items()}
        return Answer(answer.status, answer.headers.get("Location") or "", text)

    def shown(self, paper: Paper) -> dict[str, str]:
        """What the page of a paper's form says that it shows; raises as `ask` where there is no page."""
        if not paper.names:
            return {}
        answer = self.ask("GET", paper.address)
        if answer.status >= 500:
            raise OSError(answer.status)
        [shown] = re.findall(rf'name="{paper.names}" value="([^"]*)"', answer.text)
        return {paper.names: shown}


@dataclass
class Signer:
    """Signs until it is told to stop; what gets no answer is sent again, under the same id."""

    visitor: Visitor
    papers: Sequence[Paper]
    is_over: Event
    acknowledged: dict[UUID, Paper] = field(default_factory=dict)
    unanswered: set[UUID] = field(default_factory=set)

    def sign_on(self) -> None:
        """One paper of each kind after the other."""
        while not self.is_over.is_set():
            for paper in self.papers:
                key = uuid4()
                while not self.is_over.is_set() and not self.sign(paper, key):
                    time.sleep(BETWEEN_TRIES_S)

    def sign(self, paper: Paper, key: UUID) -> bool:
        """Send a paper; True once the site says that it is signed.

        Where somebody else signed between its form and its sending it is looked at again; any other refusal
        is a fault of the test.
        """
        try:
            shown = self.visitor.shown(paper)
        except (OSError, HTTPException):
            return False
        try:
            answer = self.visitor.ask("POST", paper.address, paper.answers | shown | {"new_id": str(key)})
        except (OSError, HTTPException):
            answer = Answer(500, "", "no answer")
        if answer.status >= 500:
            self.unanswered.add(key)
            return False
        if CHANGED in answer.text:
            return False
        assert (answer.status, answer.location) == (302, paper.leads_to.format(key=key)), answer.text
        self.acknowledged[key] = paper
        return True


@contextmanager
def signing_on(signers: Sequence[Signer]) -> Iterator[None]:
    """All of them sign at the same time, for as long as the block lasts."""
    with ThreadPoolExecutor(len(signers)) as people:
        futures = [people.submit(one.sign_on) for one in signers]
        try:
            yield
        finally:
            for one in signers:
                one.is_over.set()
    for future in futures:
        future.result()


def wait_for_more(signers: Sequence[Signer], count: int, told: Callable[[], str]) -> None:
    """Wait until so many more papers are acknowledged, whoever signed them."""
    before = sum(len(one.acknowledged) for one in signers)
    wait_until(
        lambda: sum(len(one.acknowledged) for one in signers) >= before + count,
        f"{count} more signatures",
        MORE_S,
        told,
    )


def acknowledged_of(signers: Sequence[Signer], kind: str) -> set[UUID]:
    """Ids of all papers of a kind of which the site said that they are signed."""
    return {key for one in signers for key, paper in one.acknowledged.items() if paper.kind == kind}


def send_all_again(signers: Sequence[Signer]) -> None:
    """Send every paper once more under its id; each has to be acknowledged as before."""
    for one in signers:
        for key, paper in list(one.acknowledged.items()):
            assert one.sign(paper, key)
