"""The Celery app that web, worker and beat share."""

import os
from pathlib import Path

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

TRANSPORT_ALIASES["filesystem"] = "config.file_broker:Transport"

app = Celery("crosswatch")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()


@app.on_after_configure.connect
def make_broker_folders(sender: Celery, **_: object) -> None:
    """Make the folders of the file broker, which does not make them itself."""
    for name, folder in sender.conf.broker_transport_options.items():
        if name.endswith(("_folder", "_folder_in", "_folder_out")):
            Path(folder).mkdir(mode=0o700, parents=True, exist_ok=True)
