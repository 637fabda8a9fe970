"""Where Django meets Celery: once Django is set up, shared tasks belong to the project's Celery app.

The package's `__init__` cannot do it: config/bootstrap.py runs before Celery is installed.
"""

from django.apps import AppConfig
from django.utils.module_loading import import_string

from config.celery import app


class CrosswatchConfig(AppConfig):
    """The project as a whole."""

    name = "config"
    verbose_name = "Crosswatch"

    def ready(self) -> None:
        """Make the Celery app the default one in every thread; say which command signs."""
        app.set_default()
        # By name, since models cannot be imported before every app is there.
        import_string("locates.signed_kinds.register_signing_command")("demo_data")
