"""A company with a job that has a record of every kind, each marked by one word that stands nowhere else."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.contrib.auth.models import AbstractUser
from django.db.models import Model
from django.test import Client, TestCase
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import Assessment, Bore, RecordMaking
from locates.changes import job_changed
from locates.company_gate import OF_NO_COMPANY, subject_of
from locates.desk.bring_file import keep_file
from locates.desk.bring_tickets import keep_rows
from locates.desk.calendar_address import make_address
from locates.desk.retire import retire
from locates.models import (
    Job,
    JurisdictionRule,
    Mark,
    Organisation,
    OutgoingMail,
    Retirement,
    Ticket,
    VectorImport,
)
from locates.models.retirable import Retirable
from locates.photographed import PHOTOGRAPHED
from tests import factories
from tests.signed_records import sign_everything

THEIRS = "Heronsfold"
"""A word of the other company's, in every name and text of its records."""


OURS = "Quillmere"
"""The word of the company whose people ask."""


CENTRE = "ZX"
"""Of a one-call centre of which each company knows a day of its own, and has its own reading."""


@dataclass(frozen=True)
class Company:
    """A company, its people by role, its job, and the secret of a calendar's address."""

    organisation: Organisation
    people: dict[str, AbstractUser]
    job: Job
    token: str


def populated_company(word: str = THEIRS) -> Company:
    """A company of that word with three people and a job with a record of every kind."""
    organisation = factories.OrganisationFactory(name=f"{word} Boring")
    people = {
        role: factories.person_in_role(
            role,
            organisation,
            username=f"{word}-{role.split()[0]}".lower(),
            email=f"a@{word}.example".lower(),
        )
        for role in ("Coordinator", "Foreman", "Safety manager")
    }
    job = populated_job(organisation, people, word)
    made_record(job.bores.get())
    factories.CentreDayFactory(organisation=organisation, code=CENTRE, words=f"told to {word}")
    factories.OwnRuleFactory(organisation=organisation, code=CENTRE, citation=f"As {word} reads it")
    token = make_address(people["Coordinator"], followed_only=False, at=timezone.now())
    return Company(organisation, people, job, token)


class TwoCompanies(TestCase):
    """Tests of a class share two companies, ours and theirs; what one of them writes is undone after it."""

    @classmethod
    def setUpTestData(cls) -> None:
        """Populate both, once for the class."""
        cls.ours = populated_company(OURS)
        cls.theirs = populated_company(THEIRS)


def client_of(person: AbstractUser, **how: Any) -> Client:
    """A browser in which a person is logged in."""
    client = Client(**how)
    client.force_login(person)
    return client


def populated_job(organisation: Organisation, people: dict[str, AbstractUser], word: str) -> Job:
    """A job with a record of every kind, current today."""
    now, day = timezone.now(), timedelta(days=1)
    job = factories.JobFactory(organisation=organisation, name=f"{word} Street")
    operator = factories.FacilityOperatorFactory(job=job, name=f"{word} Gas")
    factories.ClearanceRequirementFactory(job=job)
    ticket = factories.TicketFactory(
        job=job,
        number=f"{word}-1",
        called_at=now - 9 * day,
        legal_start_at=now - 5 * day,
        expires_at=now + day,
        dates_rule=factories.OwnRuleFactory(organisation=organisation, citation="An older reading"),
    )
    answer = factories.ResponseFactory(ticket=ticket, operator=operator, response="awaiting")
    factories.ResponsePaperFactory(
        response=answer, file_name=f"{word}.txt", content=f"{word} marked it.".encode()
    )
    mark = factories.MarkFactory(job=job, operator=operator, ticket=ticket, ref=f"{word}-M")
    hole = factories.TestHoleFactory(job=job, mark=mark, ticket=ticket, ref=f"{word}-H")
    factories.SurfaceFeatureFactory(job=job, explained_by_mark=mark, ref=f"{word}-S")
    factories.GroundPointFactory(job=job)
    factories.LineworkFactory(job=job, label=f"{word} curb")
    bore = factories.BoreFactory(
        job=job, name=f"{word}-B", product=f"{word} duct", planned_start_at=now, planned_finish_at=now + day
    )
    factories.PitFactory(bore=bore)
    # The other bore is retired: of the job's live bores there is one.
    spur = factories.BoreFactory(job=job, name=f"{word}-spur", product=f"{word} duct", retired_at=now)
    factories.RouteJointFactory(job=job, first_bore=bore, second_bore=spur, note=f"{word} trench")
    factories.TextReaderFactory(organisation=organisation, name=f"{word} layout")
    _bring_files(job, people, word)
    sign_everything(bore, hole, people, word)
    store_assessment(bore.pk)
    _tell(ticket, people, word)
    retire(factories.MarkFactory(job=job, operator=operator, ref=f"{word}-X"), by=people["Coordinator"])
    gone = factories.JobFactory(organisation=organisation, name=f"{word} Lane")
    retire(gone, by=people["Coordinator"])
    job_changed(job.pk)
    store_assessment(bore.pk)
    stored = Assessment.objects.get(bore=bore)
    factories.DrilledAloneCrossingFactory(assessment=stored, mark=mark, drilled_by_name=f"{word} Farrow")
    return job


def _bring_files(job: Job, people: dict[str, AbstractUser], word: str) -> None:
    """Files that wait for their columns: test holes of two people, and tickets."""
    now, holes = timezone.now(), f"ref,lat,lon\n{word}-P,38.0,-78.5\n".encode()
    for role in ("Coordinator", "Foreman"):
        keep_file(job, "test_hole", f"{word}.csv", holes, by=people[role], at=now)
    numbers = f"number\n{word}-2\n".encode()
    keep_rows(job, "ticket", f"{word} office.csv", numbers, by=people["Coordinator"], at=now)


def _tell(ticket: Ticket, people: dict[str, AbstractUser], word: str) -> None:
    """What people are told, follow and keep as views; one mail went to somebody without a role."""
    notice = factories.NoticeFactory(
        ticket=ticket, person=people["Coordinator"], subject=f"{word} notice", words=f"{word} has expired."
    )
    factories.FollowFactory(ticket=ticket, person=people["Coordinator"])
    factories.OutgoingMailFactory(
        person=people["Coordinator"], kind="alert", notice=notice, digest_on=None, subject=f"{word} mail"
    )
    factories.OutgoingMailFactory(person=people["Safety manager"], subject=f"{word} digest", body=word)
    organisation = ticket.job.organisation
    clerk = factories.PersonFactory(membership__organisation=organisation, username=f"{word}-clerk".lower())
    factories.OutgoingMailFactory(person=clerk, subject=f"{word} letter")
    for person in people.values():
        factories.SavedViewFactory(user=person, name=f"{word} view")


def made_record(bore: Bore) -> RecordMaking:
    """A clearance record of a bore that is finished, of bytes that are no PDF."""
    content = b"%PDF-1.7 of nothing"
    return factories.RecordMakingFactory(
        bore=bore,
        state="done",
        content=content,
        sha256=sha256(content).hexdigest(),
        size_bytes=len(content),
        said_digest=factories.DIGEST,
        inputs_digest=factories.DIGEST,
        page_count=1,
        as_of=timezone.now(),
        finished_at=timezone.now(),
    )


@dataclass(frozen=True)
class Address:
    """One address of the site: its name, its route, and what names its records."""

    name: str
    route: str
    pattern: URLPattern

    @property
    def parts(self) -> set[str]:
        """What stands in the address or beside it."""
        return {*self.pattern.pattern.converters, *self.pattern.default_args}

    @property
    def of_a_company(self) -> set[str]:
        """Those that name what belongs to a company."""
        return self.parts - set(OF_NO_COMPANY)


def addresses() -> list[Address]:
    """Every address of the site but those of Django's admin."""
    return list(_addresses(get_resolver().url_patterns, "", ""))


def _addresses(patterns: list[Any], prefix: str, space: str) -> Any:
    for one in patterns:
        route = prefix + str(one.pattern)
        if isinstance(one, URLResolver):
            if one.namespace != "admin":
                yield from _addresses(
                    one.url_patterns, route, f"{one.namespace}:" if one.namespace else space
                )
        else:
            yield Address(f"{space}{one.name}", route, one)


def path_of(address: Address, company: Company, role: str = "Coordinator") -> str:
    """The address, filled with a company's own records, and with the role's own where they are a person's."""
    path = address.route
    for part in address.pattern.pattern.converters:
        value = _key(part, address, company, role)
        converter = address.pattern.pattern.converters[part]
        kind = next(kind for kind in ("uuid", "int", "str", "slug") if f"<{kind}:{part}>" in path)
        path = path.replace(f"<{kind}:{part}>", converter.to_url(value))
    return f"/{path}"


def _key(part: str, address: Address, company: Company, role: str) -> UUID | str | int:
    if part == "view_id":
        return company.people[role].saved_views.get().pk
    if part == "import_id":
        return _brought(address, company, role).pk
    if part in _CHOSEN:
        return _CHOSEN[part](company).pk
    subject = subject_of(part, address.route)
    if subject is not None:
        model, path = subject
        found = model._base_manager.filter(**{path: company.organisation})
        if issubclass(model, Retirable):
            found = found.filter(retired_at=None)
        return found.order_by("pk")[:1].get().pk
    if part == "kind" and address.route.startswith("photos/"):
        return next(iter(PHOTOGRAPHED))
    if part == "making_id":
        return RecordMaking.objects.get(bore__job=company.job).request_id
    others: dict[str, Any] = {
        "code": "VA",
        "token": company.token,
        "sequence": 0,
        "pass_made": "pilot",
        "board_list": "tickets",
        "format_name": "csv",
        "kind": "ticket",
    }
    return others[part]


def _brought(address: Address, company: Company, role: str) -> VectorImport:
    """The role's own file, or the coordinator's where it has none."""
    kind = "ticket" if "/bulk/" in address.route else "test_hole"
    files = VectorImport.objects.filter(job=company.job, kind=kind)
    own = files.filter(made_by=company.people[role]).first()
    return own or files.get(made_by=company.people["Coordinator"])


_CHOSEN: dict[str, Callable[[Company], Model]] = {
    "rule_id": lambda company: JurisdictionRule.objects.get(organisation=company.organisation, code=CENTRE),
    "mail_id": lambda company: OutgoingMail.objects.get(
        person__groups=None, person__membership__organisation=company.organisation
    ),
    "retirement_id": lambda company: Retirement.objects.get(job=company.job, model=Mark._meta.label_lower),
}
"""Parts of an address for which it matters which record stands there."""
