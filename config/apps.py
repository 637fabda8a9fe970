"""Where Django meets Celery: once Django is set up, shared tasks belong to the project's Celery app.

The package's `__init__` cannot do it: config/bootstrap.py runs before Celery is installed.
"""

from django.apps import AppConfig, apps
from django.db.models.signals import post_migrate
from django.utils.module_loading import import_string

from config.celery import app


class CrosswatchConfig(AppConfig):
    """The project as a whole."""

    name = "config"
    verbose_name = "Crosswatch"

    def ready(self) -> None:
        """Make the Celery app the default one in every thread; say what signs, what ends a migration."""
        app.set_default()
        # By name, since models cannot be imported before every app is there.
        import_string("locates.signed_kinds.register_signing_command")("demo_data")
        # Once a migration, when the tables of all apps are there.
        grant = import_string("config.serving_role.grant_after_migrating")
        post_migrate.connect(grant, sender=apps.get_app_config("conflicts"))
