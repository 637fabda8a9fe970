"""Who may do what, for everybody who is logged in."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from locates.role_actions import rows
from locates.roles import ROLES


@require_safe
def roles(request: HttpRequest) -> HttpResponse:
    """Show the table of roles by actions, and which roles the person has."""
    mine = list(request.user.groups.filter(name__in=ROLES).values_list("name", flat=True))
    return render(request, "locates/roles.html", {"roles": ROLES, "rows": rows(), "mine": mine})
