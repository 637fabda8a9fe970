"""Django's settings, read from the environment (config/env.py); with nothing said they are the safe ones."""

from datetime import timedelta
from pathlib import Path

from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from config.env import Environment, file_broker, origin_of

BASE_DIR = Path(__file__).resolve().parent.parent
RUN_FOLDER = BASE_DIR / ".run"  # what the embedded set-up keeps: broker folders, logins, logs

environment = Environment()

SECRET_KEY = environment.secret("SECRET_KEY")
SECRET_KEY_FALLBACKS = environment.words("SECRET_KEY_FALLBACKS")
DEBUG = environment.flag("DEBUG")

# --- Who may ask, and how ---------------------------------------------------------------------------
LOOPBACK_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
NAMED_HOSTS = environment.hosts("ALLOWED_HOSTS")
# The loopback names reach this machine alone, and health checks use them.
ALLOWED_HOSTS = NAMED_HOSTS + LOOPBACK_HOSTS
CSRF_TRUSTED_ORIGINS = environment.origins("CSRF_TRUSTED_ORIGINS")

PLAIN_HTTP = environment.flag("PLAIN_HTTP", default=DEBUG)
if PLAIN_HTTP and not set(NAMED_HOSTS) <= set(LOOPBACK_HOSTS):
    raise ImproperlyConfigured(
        "PLAIN_HTTP (and DEBUG, which brings it) serves passwords unencrypted: it is for this machine alone, "
        f"and ALLOWED_HOSTS names {', '.join(NAMED_HOSTS)}. Put a TLS proxy in front and set BEHIND_PROXY=1."
    )
SECURE_SSL_REDIRECT = not PLAIN_HTTP
SECURE_REDIRECT_EXEMPT = [r"^healthz$"]  # asked from inside the machine, where there is no TLS
SECURE_HSTS_SECONDS = 0 if PLAIN_HTTP else environment.whole_number("HSTS_SECONDS", 31_536_000, least=1)
SECURE_HSTS_INCLUDE_SUBDOMAINS = not PLAIN_HTTP
SECURE_HSTS_PRELOAD = not PLAIN_HTTP
SECURE_REFERRER_POLICY = "same-origin"
PROXY_COUNT = 0
if environment.flag("BEHIND_PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    PROXY_COUNT = environment.whole_number("PROXY_COUNT", 1, least=1)
SESSION_COOKIE_SECURE = not PLAIN_HTTP
CSRF_COOKIE_SECURE = not PLAIN_HTTP
X_FRAME_OPTIONS = "DENY"

# --- Pictures under the map: none, unless somebody names where they come from --------------------------
MAP_TILE_URL = environment.tile_url("MAP_TILE_URL")
MAP_TILE_ATTRIBUTION = environment.text("MAP_TILE_ATTRIBUTION")
MAP_TILE_MAX_ZOOM = environment.whole_number("MAP_TILE_MAX_ZOOM", 19, least=1)
if MAP_TILE_URL and not MAP_TILE_ATTRIBUTION:
    raise ImproperlyConfigured("MAP_TILE_URL is set: say in MAP_TILE_ATTRIBUTION whose pictures they are.")

# Nothing from elsewhere but the map's pictures, nothing inline. Pictures may be data: Leaflet uses such.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", *([origin_of(MAP_TILE_URL)] if MAP_TILE_URL else [])],
        "connect-src": [SELF],
        "worker-src": [SELF],
        "manifest-src": [SELF],
        "font-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}

# --- The parts ---------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.gis",
    "django.contrib.postgres",
    "axes",
    "csp",
    "leaflet",
    "config",
    "locates",
    "conflicts",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "locates.page_acting.PageActingMiddleware",
    "config.login_again.LoginAgainMiddleware",
    "locates.company_gate.CompanyGateMiddleware",
    "conflicts.strike.remember_jobs.RememberJobsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ]
        },
    }
]
# GDAL below 3.9 cannot be kept from files and networks, so no visitor's text ever reaches it: coordinates are
# read as numbers and made into geometries by GEOS alone.
SILENCED_SYSTEM_CHECKS = ["gis.W001"]

DATABASES = {
    "default": {
        **environment.database("DATABASE_URL"),
        # A kept connection answers ten times as many requests; the check drops one that a restart broke.
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
        "TEST": {"NAME": environment.text("TEST_DATABASE_NAME", "test_crosswatch")},
    }
}
# What is migrated by an owner is then granted to the role that serves; else the one role does both.
SERVING_DATABASE = (
    environment.database("SERVING_DATABASE_URL") if environment.text("SERVING_DATABASE_URL") else None
)
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- Logins ------------------------------------------------------------------------------------------
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "/"
# From the login on, whatever is done meanwhile: a phone that is lost opens nothing the next day.
SESSION_HOURS = environment.whole_number("SESSION_HOURS", 12, least=1)
SESSION_COOKIE_AGE = SESSION_HOURS * 3600
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",  # refuses before a password is looked at
    "django.contrib.auth.backends.ModelBackend",
]
# Wrong passwords are counted by user name and address together, so that nobody locks another out from afar.
AXES_FAILURE_LIMIT = environment.whole_number("LOGIN_ATTEMPTS", 8, least=1)
AXES_COOLOFF_TIME = timedelta(minutes=environment.whole_number("LOGIN_COOL_OFF_MINUTES", 15, least=1))
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_CLIENT_IP_CALLABLE = "config.client_address.client_address"
AXES_LOCKOUT_CALLABLE = "locates.lockout.answer_lockout"
AXES_RESET_ON_SUCCESS = True
# Who tries while locked out writes nothing and waits no longer for it.
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
# The record of logins is not kept: a row for each address, name and browser that failed is all there is.
AXES_DISABLE_ACCESS_LOG = True
AXES_VERBOSE = False
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]

# --- Words and clocks --------------------------------------------------------------------------------
LANGUAGE_CODE = "en-us"
USE_I18N = False
TIME_ZONE = "UTC"
USE_TZ = True

# --- Static files and the map ------------------------------------------------------------------------
STATIC_URL = "static/"
STATIC_ROOT = Path(environment.text("STATIC_ROOT", str(BASE_DIR / "staticfiles")))
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "config.static_files.HashedStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = DEBUG
WHITENOISE_AUTOREFRESH = DEBUG
LEAFLET_CONFIG = {
    "TILES": [("Base map", MAP_TILE_URL, {"maxNativeZoom": MAP_TILE_MAX_ZOOM})] if MAP_TILE_URL else [],
    # The map's own instruments show scale and whose pictures they are.
    "SCALE": False,
    "RESET_VIEW": False,
    "MAX_ZOOM": 24,  # 7 mm a pixel and less: nothing is measured more finely
}

# --- Mail --------------------------------------------------------------------------------------------
# With no server named, notices are shown on the site alone, and its page of notices says so.
MAIL_SERVER = environment.mail_server("EMAIL_URL")
MAIL_FROM = environment.mail_address("MAIL_FROM")
if MAIL_SERVER and not MAIL_FROM:
    raise ImproperlyConfigured("EMAIL_URL is set: say in MAIL_FROM from which address the mail comes.")
# What the links in mails and calendars begin with: a task and a file know of no request.
SITE_ADDRESS = next(
    iter(environment.origins("SITE_ADDRESS")), f"https://{NAMED_HOSTS[0]}" if NAMED_HOSTS else ""
)

# --- Tasks -------------------------------------------------------------------------------------------
# With no broker named, one made of files in this folder: it only rings the bell, the truth is in PostgreSQL.
BROKER_FOLDER = Path(environment.text("BROKER_FOLDER", str(RUN_FOLDER / "broker")))
CELERY_BROKER_URL = environment.broker("BROKER_URL") or "filesystem://localhost"
CELERY_BROKER_TRANSPORT_OPTIONS = (
    # Nobody who saves a record waits for a broker that does not answer: the sweep sees to what it misses.
    {"socket_connect_timeout": 2} if environment.broker("BROKER_URL") else file_broker(BROKER_FOLDER)
)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_IGNORE_RESULT = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TIMEZONE = "UTC"
CELERY_BEAT_SCHEDULE = {
    # One that comes late finds nothing that a later one would not.
    "sweep": {"task": "conflicts.sweep", "schedule": 3.0, "options": {"expires": 60}},
    "sweep records": {"task": "conflicts.sweep_records", "schedule": 3.0, "options": {"expires": 60}},
    "notices": {"task": "locates.make_notices", "schedule": 60.0, "options": {"expires": 60}},
    "mail": {"task": "locates.send_mail", "schedule": 30.0, "options": {"expires": 60}},
    "sweep tickets": {"task": "locates.sweep_tickets", "schedule": 30.0, "options": {"expires": 60}},
    "sweep import work": {"task": "locates.sweep_import_work", "schedule": 3.0, "options": {"expires": 60}},
    "sweep imports": {"task": "locates.sweep_imports", "schedule": 3600.0, "options": {"expires": 3600}},
}

# --- Logs --------------------------------------------------------------------------------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": environment.text("LOG_LEVEL", "INFO").upper()},
}
