"""Django settings, read from the environment; safe when nothing is set."""

import os
from pathlib import Path
from urllib.parse import parse_qs, unquote, urlsplit

BASE_DIR = Path(__file__).resolve().parent.parent
SECRET_KEY = os.environ.get("SECRET_KEY", "placeholder")
DEBUG = os.environ.get("DEBUG") == "1"
ALLOWED_HOSTS = ["127.0.0.1", "localhost"]
INSTALLED_APPS = [
    "django.contrib.admin", "django.contrib.auth", "django.contrib.contenttypes",
    "django.contrib.sessions", "django.contrib.messages", "django.contrib.staticfiles",
    "django.contrib.gis", "django.contrib.postgres", "leaflet", "locates", "conflicts",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "config.urls"
TEMPLATES = [{
    "BACKEND": "django.template.backends.django.DjangoTemplates",
    "DIRS": [BASE_DIR / "templates"], "APP_DIRS": True,
    "OPTIONS": {"context_processors": [
        "django.template.context_processors.request",
        "django.contrib.auth.context_processors.auth",
        "django.contrib.messages.context_processors.messages"]},
}]
_u = urlsplit(os.environ.get("DATABASE_URL", "postgres://app@/crosswatch"))
_q = {k: v[-1] for k, v in parse_qs(_u.query).items()}
DATABASES = {"default": {
    "ENGINE": "django.contrib.gis.db.backends.postgis", "NAME": unquote(_u.path.lstrip("/")),
    "USER": unquote(_u.username or ""), "PASSWORD": unquote(_u.password or ""),
    "HOST": _q.get("host") or _u.hostname or "", "PORT": _q.get("port") or str(_u.port or ""),
    "TEST": {"NAME": os.environ.get("TEST_DATABASE_NAME", "test_crosswatch")}}}
SILENCED_SYSTEM_CHECKS = ["gis.W001"]
TIME_ZONE = "UTC"
USE_TZ = True
STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
