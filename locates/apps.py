"""Django's configuration of the locates app: what was called in, painted and found."""

from django.apps import AppConfig
from django.utils.module_loading import import_string


class LocatesConfig(AppConfig):
    """The locates app."""

    name = "locates"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have the tickets of every job that changes reckoned anew."""
        # By name, since models cannot be imported before every app is there.
        on_job_changed = import_string("locates.changes.on_job_changed")
        on_job_changed(import_string("locates.desk.reckon_tickets.reckon_job"))
