"""Django's configuration of the locates app: what was called in, painted and found."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created
from django.utils.module_loading import import_string


class LocatesConfig(AppConfig):
    """The locates app."""

    name = "locates"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Have tickets of jobs that change reckoned anew, sessions told who writes, photos proved."""
        # By name, since models cannot be imported before every app is there.
        on_job_changed = import_string("locates.changes.on_job_changed")
        on_job_changed(import_string("locates.desk.reckon_tickets.reckon_job"))
        register_signed = import_string("locates.signed_kinds.register_signed")
        register_signed(
            import_string("locates.models.Photo"), import_string("locates.models.photo.photos_of_ids")
        )
        connection_created.connect(import_string("locates.acting.tell_new_session"))
