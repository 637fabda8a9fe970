"""Settings of the tests: the real ones, with a key of the moment and static files as they lie."""

import atexit
import os
import secrets
import shutil
import tempfile
from pathlib import Path

# Set before the settings are read, which refuse to work without a key.
os.environ.setdefault("SECRET_KEY", secrets.token_urlsafe(50))
os.environ.setdefault("PLAIN_HTTP", "1")
os.environ.setdefault("LOG_LEVEL", "WARNING")

from config.env import file_broker
from config.settings import *  # noqa: F403 - Django's way to settings that differ in a few lines
from config.settings import STORAGES as SITE_STORAGES

STORAGES = {
    **SITE_STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
# The slow hasher is for real passwords; tests log in hundreds of times.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Bells of the tests ring in a folder of their own, where no worker of the site hears them.
BROKER_FOLDER = Path(tempfile.mkdtemp(prefix="crosswatch-tests-"))
CELERY_BROKER_URL = "filesystem://localhost"
CELERY_BROKER_TRANSPORT_OPTIONS = file_broker(BROKER_FOLDER)
atexit.register(shutil.rmtree, BROKER_FOLDER, ignore_errors=True)
