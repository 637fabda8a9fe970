"""Django's configuration of the conflicts app: what the bore does among the lines."""

from django.apps import AppConfig


class ConflictsConfig(AppConfig):
    """The conflicts app."""

    name = "conflicts"
    default_auto_field = "django.db.models.BigAutoField"
