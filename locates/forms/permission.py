"""Who may write which records: asked before a form is shown, so that nobody fills in one in vain."""

from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import HttpRequest

from locates.models import Organisation

NO_COMPANY = (
    "Your account belongs to no company yet, so there is nothing that you could add to or look at. "
    "Ask whoever keeps the accounts to put you into your company."
)


def ask_to_write(request: HttpRequest, model: type[Model], action: str = "change") -> None:
    """Refuse whoever may not ``add`` or ``change`` records of a kind; to retire is to change."""
    if not request.user.has_perm(f"{model._meta.app_label}.{action}_{model._meta.model_name}"):
        raise PermissionDenied


def company_of(request: HttpRequest) -> Organisation | None:
    """The company of whoever asks; None where they belong to none."""
    return Organisation.objects.filter(memberships__user_id=request.user.pk).first()


def ask_for_company(request: HttpRequest) -> Organisation:
    """The company of whoever begins something that belongs to a company; refuse whoever has none."""
    company = company_of(request)
    if company is None:
        raise PermissionDenied(NO_COMPANY)
    return company
