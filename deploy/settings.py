"""The one settings file.  Everything that differs between places comes from the environment.

Safe by default: no debug, no secret, no host.  `deploy/demo` and `deploy/test` set what they need.
"""

from __future__ import annotations

import secrets
from pathlib import Path

from csp.constants import NONE, SELF

from deploy.environment import database, flag, names, text
from deploy.roles import READS, ROLES, STAFF

BASE_DIR = Path(__file__).resolve().parent.parent

DEMO = flag("MUSTER_DEMO", default=False)
DEBUG = flag("MUSTER_DEBUG", default=False)
# Without a key each process makes its own: enough for commands and tests; `deploy.wsgi` refuses.
SECRET_KEY = text("MUSTER_SECRET_KEY", secrets.token_urlsafe(48))
ALLOWED_HOSTS = names("MUSTER_HOSTS", "127.0.0.1,localhost")
DATABASES = {"default": database(text("MUSTER_DATABASE", "sqlite:///muster.sqlite3"), BASE_DIR)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.postgres",  # two uses of a tray: an exclusion constraint
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "deploy.kit",
    "trays",
    "implants",
    "scheduling",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "deploy.kit.security_log.RecordRefusals",
    "deploy.kit.session_limits.SessionLimits",
    "deploy.kit.doors.ClosedByDefault",
    "deploy.kit.right_clock.RightClock",
    "deploy.kit.read_only.ReadOnly",
    "deploy.kit.signed_act.TakeSignatures",
    "deploy.kit.page_writes.PagesOnce",
]

ROOT_URLCONF = "deploy.urls"
WSGI_APPLICATION = "deploy.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "deploy" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "deploy.kit.context.place_of_work",
                "deploy.navigation.navigation",
            ],
        },
    },
]

# -- people and sessions ----------------------------------------------------------------------

MUSTER_ROLES, MUSTER_STAFF_ROLES, MUSTER_READS = ROLES, STAFF, READS
MUSTER_READ_ONLY = flag("MUSTER_READ_ONLY", default=False)
# Idle for so long, a session locks; after the longest it is over, however busy it was.
MUSTER_IDLE_SECONDS = 10 * 60
MUSTER_LONGEST_SECONDS = 12 * 60 * 60
# Badges and one-time codes are looked up by a hash with this key; with another key badges have
# to be registered again.
MUSTER_HASH_KEY: str = text("MUSTER_HASH_KEY", SECRET_KEY)
AUTHENTICATION_BACKENDS = ["deploy.kit.accounts.Accounts"]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "login"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
SESSION_COOKIE_AGE = MUSTER_LONGEST_SECONDS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not (DEMO or DEBUG)
# With the session, so that the next person never reads what was said to the last one.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

# -- what a browser may load ------------------------------------------------------------------
# Nothing inline, nothing from elsewhere: a hospital network has no internet.

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
    }
}
# With MUSTER_HTTPS=1 browsers are sent to HTTPS and told to stay there.  A proxy on the same
# machine ends TLS and sets X-Forwarded-Proto, which gunicorn believes from there only.
HTTPS = flag("MUSTER_HTTPS", default=False)
MUSTER_PROXIES: frozenset[str] = frozenset({"127.0.0.1", "::1"} if HTTPS else ())
if HTTPS:  # A browser takes these names over HTTPS only, for this host and every path of it.
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-session", "__Host-csrf"
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

# -- mail: what `manage.py send_outbox` sends --------------------------------------------------
# Without a server nothing is sent, and the messages wait in the outbox.

EMAIL_HOST = text("MUSTER_MAIL_HOST", "")
DEFAULT_FROM_EMAIL = text("MUSTER_MAIL_FROM", "muster@localhost")
EMAIL_TIMEOUT = 20

# -- errors -----------------------------------------------------------------------------------
# To the standard error output, which the machine keeps; nothing is mailed.

DEFAULT_EXCEPTION_REPORTER_FILTER = "deploy.error_reports.NothingTyped"
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "()": "deploy.error_reports.WithoutRows",
            "format": "%(asctime)s %(levelname)s %(name)s: %(message)s",
        }
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    # Django's own would mail errors, or without addresses lose them.
    "loggers": {"django": {"handlers": [], "level": "INFO", "propagate": True}},
}

# -- words, time, files -----------------------------------------------------------------------

LANGUAGE_CODE = "en-gb"
USE_I18N = False
TIME_ZONE = "UTC"
USE_TZ = True
STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / "var" / "static"
STATICFILES_DIRS = [BASE_DIR / "deploy" / "static"]

# -- the API ----------------------------------------------------------------------------------

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.SessionAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["deploy.kit.doors.HasDoor"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Muster",
    "DESCRIPTION": "Readiness of revision hip operations: trays, implants, coverage, pick lists. "
    "Logistics aid: check the physical tray, label, use-by date and indicator.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
}
