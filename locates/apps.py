"""Django's configuration of the locates app: what was called in, painted and found."""

from django.apps import AppConfig


class LocatesConfig(AppConfig):
    """The locates app."""

    name = "locates"
    default_auto_field = "django.db.models.BigAutoField"
