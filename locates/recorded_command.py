"""What a command of ours writes is recorded with the command's name."""

from typing import Any

from django.core.management.base import BaseCommand

from locates.acting import acting


class RecordedCommand(BaseCommand):
    """A command whose name stands in the record of what it changed."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run it, told."""
        with acting(f"command {type(self).__module__.rpartition('.')[2]}"):
            return super().execute(*args, **options)
