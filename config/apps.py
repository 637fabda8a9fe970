"""Where Django meets Celery: once Django is set up, shared tasks belong to the project's Celery app.

The package's `__init__` cannot do it: config/bootstrap.py runs before Celery is installed.
"""

from django.apps import AppConfig

from config.celery import app


class CrosswatchConfig(AppConfig):
    """The project as a whole."""

    name = "config"
    verbose_name = "Crosswatch"

    def ready(self) -> None:
        """Make the Celery app the default one in every thread."""
        app.set_default()
