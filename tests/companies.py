"""A company with a job that has a record of every kind, each marked by one word that stands nowhere else."""

from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.contrib.auth.models import AbstractUser
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from conflicts.assess import store_assessment
from conflicts.models import Bore, DamageReport, RecordMaking, Release, Variance
from locates.changes import job_changed
from locates.company_gate import OF_NO_COMPANY, subject_of
from locates.desk.bring_file import keep_file
from locates.desk.calendar_address import make_address
from locates.desk.ledger import enter
from locates.desk.retire import retire
from locates.models import Job, Organisation
from locates.models.retirable import Retirable
from locates.photographed import PHOTOGRAPHED
from tests import factories

THEIRS = "Heronsfold"
"""A word of the other company's, in every name and text of its records."""


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
    token = make_address(people["Coordinator"], followed_only=False, at=timezone.now())
    return Company(organisation, people, job, token)


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
        dates_rule=factories.JurisdictionRuleFactory(citation="An older reading"),
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
    factories.TextReaderFactory(organisation=organisation, name=f"{word} layout")
    paint = f"ref,lat,lon\n{word}-P,38.0,-78.5\n".encode()
    keep_file(job, "test_hole", f"{word}.csv", paint, by=people["Coordinator"], at=now)
    walk = factories.DailyWalkFactory(
        bore=bore, walked_by=people["Foreman"], walked_by_name=f"{word} Pell", walked_at=now
    )
    photo = factories.PhotoFactory(
        job=job, subject_model="locates.testhole", subject_id=hole.pk, file_name=f"{word}.jpg"
    )
    foreman = people["Foreman"]
    variance = Variance.objects.create(
        bore=bore,
        subject="check",
        check_code="watch_holes",
        reason=f"{word} reason",
        requested_by=foreman,
        requested_by_name=f"{word} Pell",
        requested_at=now,
    )
    release = Release.objects.create(
        bore=bore,
        document={"checks": []},
        inputs_digest=factories.DIGEST,
        grounds_digest=factories.DIGEST,
        last_event_id=0,
        shift_from=now,
        shift_until=now + day / 3,
        crew=f"{word} crew",
        rig=f"{word} rig",
        signed_by=foreman,
        signed_by_name=f"{word} Pell",
        signed_at=now,
    )
    damage = DamageReport.objects.create(
        job=job,
        kind="near_miss",
        happened_at=now,
        facility_type="electric",
        what_happened=f"{word} cable scraped",
        reported_by=foreman,
        reported_by_name=f"{word} Pell",
    )
    with transaction.atomic():
        for signed in (walk, photo, variance, release, damage):
            enter(signed, by=people["Foreman"])
    store_assessment(bore.pk)
    notice = factories.NoticeFactory(
        ticket=ticket, person=people["Coordinator"], subject=f"{word} notice", words=f"{word} has expired."
    )
    factories.FollowFactory(ticket=ticket, person=people["Coordinator"])
    factories.OutgoingMailFactory(
        person=people["Coordinator"], kind="alert", notice=notice, digest_on=None, subject=f"{word} mail"
    )
    factories.OutgoingMailFactory(person=people["Safety manager"], subject=f"{word} digest", body=word)
    factories.SavedViewFactory(user=people["Coordinator"], name=f"{word} view")
    retire(factories.MarkFactory(job=job, operator=operator, ref=f"{word}-X"), by=people["Coordinator"])
    gone = factories.JobFactory(organisation=organisation, name=f"{word} Lane")
    retire(gone, by=people["Coordinator"])
    job_changed(job.pk)
    store_assessment(bore.pk)
    return job


def made_record(bore: Bore) -> RecordMaking:
    """The clearance record of a bore, made once."""
    there = RecordMaking.objects.filter(bore=bore).first()
    if there is not None:
        return there
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


def keys_of(address: Address, company: Company) -> dict[str, Any]:
    """What fills an address with a company's own records."""
    return {part: _key(part, address, company) for part in address.pattern.pattern.converters}


def path_of(address: Address, company: Company) -> str:
    """The address, filled with a company's own records."""
    path = address.route
    for part, value in keys_of(address, company).items():
        converter = address.pattern.pattern.converters[part]
        kind = next(kind for kind in ("uuid", "int", "str", "slug") if f"<{kind}:{part}>" in path)
        path = path.replace(f"<{kind}:{part}>", converter.to_url(value))
    return f"/{path}"


def _key(part: str, address: Address, company: Company) -> UUID | str | int:
    subject = subject_of(part, address.route)
    if subject is not None:
        model, path = subject
        found = model._base_manager.filter(**{path: company.organisation})
        if issubclass(model, Retirable):
            found = found.filter(retired_at=None)
        return found[:1].get().pk
    if part == "kind" and address.route.startswith("photos/"):
        return next(iter(PHOTOGRAPHED))
    others: dict[str, Any] = {
        "rule_id": factories.seeded_rule().pk,
        "code": "VA",
        "token": company.token,
        "sequence": 0,
        "pass_made": "pilot",
        "board_list": "tickets",
        "format_name": "csv",
        "kind": "ticket",
    }
    if part == "making_id":
        return made_record(company.job.bores.get()).request_id
    if part == "view_id":
        return company.people["Coordinator"].saved_views.get().pk
    if part == "day_id":
        return factories.CentreDayFactory(code="ZX").pk
    return others[part]
