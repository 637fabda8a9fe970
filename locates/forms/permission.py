"""Who may write which records: asked before a form is shown, so that nobody fills in one in vain."""

from django.core.exceptions import PermissionDenied
from django.db.models import Model
from django.http import HttpRequest


def ask_to_write(request: HttpRequest, model: type[Model], action: str = "change") -> None:
    """Refuse whoever may not ``add`` or ``change`` records of a kind; to retire is to change."""
    if not request.user.has_perm(f"{model._meta.app_label}.{action}_{model._meta.model_name}"):
        raise PermissionDenied
