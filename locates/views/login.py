"""The login of the site and of its admin."""

from datetime import timedelta

from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.http import HttpResponse
from django.utils import timezone


class DayLoginView(LoginView):
    """The login of site and admin; it ends by itself, however busy somebody is."""

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Log in until a moment that no later page moves."""
        answer = super().form_valid(form)
        self.request.session.set_expiry(timezone.now() + timedelta(hours=settings.SESSION_HOURS))
        return answer
