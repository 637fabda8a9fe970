"""The site's addresses."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LogoutView
from django.urls import include, path
from django.views.generic import RedirectView

from config.health import healthz
from locates.views.login import DayLoginView

to_the_login = login_not_required(RedirectView.as_view(pattern_name="login", query_string=True))

urlpatterns = [
    path("healthz", healthz, name="healthz"),
    path("login/", DayLoginView.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("admin/login/", to_the_login, name="admin-login"),
    path("admin/", admin.site.urls),
    path("", include("locates.urls")),
    path("", include("conflicts.urls")),
]
