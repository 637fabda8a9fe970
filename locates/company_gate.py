"""The gate before every page: what an address names must belong to the company of whoever asks.

Every part of an address is known here by whose it is, or known to be nobody's. One that is neither opens to
nobody, and `tests/locates/company/test_gate.py` fails on it.
"""

from collections.abc import Callable, Mapping
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db.models import Model, Q
from django.http import Http404, HttpRequest, HttpResponse

from locates.models import (
    CentreDay,
    ClearanceRequirement,
    FacilityOperator,
    GroundPoint,
    Job,
    JurisdictionRule,
    Linework,
    Mark,
    OutgoingMail,
    Photo,
    Response,
    ResponsePaper,
    Retirement,
    SurfaceFeature,
    TestHole,
    TextReader,
    Ticket,
    VectorImport,
    organisation_of,
)
from locates.photographed import PHOTOGRAPHED

Subject = tuple[type[Model], str]

SUBJECTS: dict[str, Subject] = {
    "job_id": (Job, "organisation"),
    "ticket_id": (Ticket, "job__organisation"),
    "response_id": (Response, "ticket__job__organisation"),
    "paper_id": (ResponsePaper, "response__ticket__job__organisation"),
    "import_id": (VectorImport, "job__organisation"),
    "retirement_id": (Retirement, "job__organisation"),
    "reader_id": (TextReader, "organisation"),
    "rule_id": (JurisdictionRule, "organisation"),
    "day_id": (CentreDay, "organisation"),
    "photo_id": (Photo, "job__organisation"),
    "mail_id": (OutgoingMail, "person__membership__organisation"),
    "jobs/record_id": (Job, "organisation"),
    "operators/record_id": (FacilityOperator, "job__organisation"),
    "requirements/record_id": (ClearanceRequirement, "job__organisation"),
    "tickets/record_id": (Ticket, "job__organisation"),
    "responses/record_id": (Response, "ticket__job__organisation"),
    "response-papers/record_id": (ResponsePaper, "response__ticket__job__organisation"),
    "marks/record_id": (Mark, "job__organisation"),
    "test-holes/record_id": (TestHole, "job__organisation"),
    "surface-features/record_id": (SurfaceFeature, "job__organisation"),
    "ground-points/record_id": (GroundPoint, "job__organisation"),
    "linework/record_id": (Linework, "job__organisation"),
}
"""Part of an address, ``record_id`` with the words the address begins with, to its kind and its company."""

SHARED_TOO = {
    "rule_id": "the law of a place as it is shipped",
    "day_id": "a day of a one-call centre that was told to all",
}
"""Part of an address whose records are of no company, or of one, to what is of none: that opens to all."""

OF_NO_COMPANY = {
    "code": "a jurisdiction",
    "view_id": "a person's own view; its page asks for that person",
    "token": "a secret that says whose it is",
    "sequence": "a place along the bore that stands beside it",
    "board_list": "a word",
    "format_name": "a word",
    "kind": "a word",
    "model": "a kind of record, written in the list of addresses",
    "section": "a word, written in the list of addresses",
}
"""Part of an address to why it is no company's."""


def know_subject(part: str, model: type[Model], company: str) -> None:
    """Have the gate know a part of an address: its kind of record, and the path from there to its company."""
    SUBJECTS[part] = (model, company)


def know_no_company(part: str, why: str) -> None:
    """Have the gate know a part of an address that is no company's."""
    OF_NO_COMPANY[part] = why


def subject_of(part: str, route: str, kind: str = "") -> Subject | None:
    """Kind of record and path to its company of a part of an address; None where it is not known."""
    if part == "record_id" and route.startswith("photos/"):
        photographed = PHOTOGRAPHED.get(kind or next(iter(PHOTOGRAPHED)))
        return None if photographed is None else (photographed.model, "job__organisation")
    return SUBJECTS.get(part) or SUBJECTS.get(f"{route.partition('/')[0]}/{part}")


class CompanyGateMiddleware:
    """Answer 404 where an address names what is not the company's of whoever asks, as if it were not there.

    It stands after the login. A page that opens without one has its own key, and nobody's company is asked;
    the admin narrows its lists itself. The job that the address is of is left on the request, as
    ``job_id_of_address``, for whoever stands behind the gate.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on."""
        return self.get_response(request)

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponse],
        view_args: tuple[Any, ...],
        view_kwargs: Mapping[str, Any],
    ) -> None:
        """Ask whose each part of the address is."""
        match = request.resolver_match
        if match is None or "admin" in match.namespaces or not request.user.is_authenticated:
            return
        for part, value in view_kwargs.items():
            if part in OF_NO_COMPANY:
                continue
            subject = subject_of(part, match.route, view_kwargs.get("kind", ""))
            is_shared = Q(organisation=None) if part in SHARED_TOO else Q()
            keys = [] if subject is None else _keys_of_the_company(subject, value, request.user.pk, is_shared)
            if not keys:
                raise Http404("There is no such record.")
            if subject is not None and _path_to_job(subject):
                [request.job_id_of_address] = keys


def _path_to_job(subject: Subject) -> str:
    """From a kind of record to the job it is of; nothing where it is the company's or a person's own."""
    model, company = subject
    path = "pk" if model is Job else company.removesuffix("__organisation")
    return path if model is Job or path.endswith("job") else ""


def _keys_of_the_company(subject: Subject, key: Any, person_id: int, is_shared: Q) -> list[UUID]:
    """The job of what is named, or its own key where it is of none; nothing where it is not the company's."""
    model, company = subject
    ours = Q(**{company: organisation_of(person_id)})
    try:
        # Retired ones too: their pages say so, or bring them back.
        found = model._base_manager.filter(ours | is_shared if is_shared else ours, pk=key).order_by()
        return list(found.values_list(_path_to_job(subject) or "pk", flat=True)[:1])
    except (ValidationError, ValueError):
        return []
