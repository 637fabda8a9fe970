"""Whoever sends a form after the login has ended is led back to that form, not to where it was sent."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme

UNSENT = "unsent"
"""Member of the login page's address that has it say that nothing was saved."""


class LoginAgainMiddleware(LoginRequiredMiddleware):
    """Ask for a login before every page; many addresses of forms take nothing but what is sent to them."""

    def handle_no_permission(
        self, request: HttpRequest, view_func: Callable[..., Any]
    ) -> HttpResponseRedirect:
        """Lead to the login, and from there to the page on which something was sent."""
        form_page = request.headers.get("Referer", "")
        if request.method != "POST" or not url_has_allowed_host_and_scheme(
            form_page, {request.get_host()}, require_https=request.is_secure()
        ):
            return super().handle_no_permission(request, view_func)
        answer = redirect_to_login(form_page, self.get_login_url(view_func))
        answer["Location"] += f"&{UNSENT}=yes"
        return answer
