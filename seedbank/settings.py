"""The one settings file. Every variable it reads is listed in the README."""

from pathlib import Path
from typing import Any

from crosses.base.countries import COUNTRY_NAMES
from seedbank.environment import (
    env_choice,
    env_country,
    env_flag,
    env_secret,
    env_site,
    env_text,
    env_time_zone,
    env_whole,
)
from seedbank.web.static_files import headers_of_static_file

BASE_DIR = Path(__file__).resolve().parent.parent

DEBUG = env_flag("DEBUG", default=False)
# Only a trial run may start without a key of its own.
SECRET_KEY = env_secret("SECRET_KEY", "only-for-trying-out-" + "0" * 40 if DEBUG else None)
ALLOWED_HOSTS = env_text("ALLOWED_HOSTS", "127.0.0.1,localhost,[::1]").split(",")
# The address that stands in QR codes, mails and the calendar.
SITE_ADDRESS = env_site("SITE_ADDRESS", "http://127.0.0.1:8000")
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]

SOCIETY_NAME = env_text("SOCIETY_NAME", "Our seed exchange")
SOCIETY_COUNTRY = env_country("SOCIETY_COUNTRY", "GB", codes=COUNTRY_NAMES)
TIME_ZONE = env_time_zone("TIME_ZONE", "Europe/London")
USE_TZ = True
LANGUAGE_CODE = "en-gb"
USE_I18N = True

# What a run writes (database, slips, uploads) goes here.
VAR_DIR = Path(env_text("VAR_DIR", str(BASE_DIR / "var")))

INSTALLED_APPS = [
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.forms",
    "django.contrib.staticfiles",
    "simple_history",
    "rest_framework",
    "django_filters",
    "drf_spectacular",
    "crosses",
    "seedbank.jobs",
    "seedbank.members",
    "seedbank.bank",
    "seedbank.sowings",
    "seedbank.exchange",
    "seedbank.transfer",
    "seedbank.web",
    "seedbank.api",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "seedbank.web.static_files.permissions_policy",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "seedbank.web.signed_out.SignedOut",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "crosses.base.sending.OnceOnly",
]

CSRF_FAILURE_VIEW = "seedbank.web.signed_out.csrf_failure"
ROOT_URLCONF = "seedbank.urls"
WSGI_APPLICATION = "seedbank.wsgi.application"

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
                "seedbank.web.context.society",
            ],
            "builtins": [
                "seedbank.web.templatetags.trade",
                "seedbank.web.templatetags.guards",
                "seedbank.web.templatetags.fold",
            ],
        },
    }
]
FORM_RENDERER = "seedbank.web.rendering.FormRenderer"


def _database() -> dict[str, Any]:
    if env_choice("DATABASE", "sqlite", allowed=("sqlite", "postgresql")) == "postgresql":
        return {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": env_text("PGDATABASE", "seedbank"),
            "USER": env_text("PGUSER", ""),
            "PASSWORD": env_secret("PGPASSWORD", ""),
            "HOST": env_text("PGHOST", ""),
            "PORT": env_text("PGPORT", ""),
            "CONN_MAX_AGE": 60,
        }
    VAR_DIR.mkdir(parents=True, exist_ok=True)
    # IMMEDIATE: without it two people who count at the same moment get "database is locked".
    # FULL: what a grower logged must survive a power cut.
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": env_text("SQLITE_PATH", str(VAR_DIR / "seedbank.sqlite3")),
        "CONN_MAX_AGE": 60,
        # A file, not memory: the tests of races need what a society runs on.
        "TEST": {"NAME": str(VAR_DIR / "test.sqlite3")},
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": (
                "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;"
                "PRAGMA mmap_size=134217728;PRAGMA journal_size_limit=27103364;"
            ),
        },
    }


DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "members.Member"
AUTHENTICATION_BACKENDS = ["django.contrib.auth.backends.ModelBackend"]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
# An invitation waits in a mailbox over a holiday.
PASSWORD_RESET_TIMEOUT = 14 * 24 * 3600

STATIC_URL = "static/"
STATIC_ROOT = VAR_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "seedbank.web.static_files.Storage"
    },
}
WHITENOISE_ADD_HEADERS_FUNCTION = headers_of_static_file
MEDIA_ROOT = VAR_DIR / "media"
DATA_UPLOAD_MAX_MEMORY_SIZE = 5_000_000
# A wish list of 200 lines sends several fields a line.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5_000

EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if env_text("EMAIL_HOST", "")
    else "django.core.mail.backends.console.EmailBackend"
)
EMAIL_HOST = env_text("EMAIL_HOST", "")
EMAIL_PORT = env_whole("EMAIL_PORT", 587, least=1, most=65_535)
EMAIL_HOST_USER = env_text("EMAIL_USER", "")
EMAIL_HOST_PASSWORD = env_secret("EMAIL_PASSWORD", "")
EMAIL_USE_TLS = env_flag("EMAIL_TLS", default=True)
# A mail server that does not answer must not hold a page for ever.
EMAIL_TIMEOUT = 20
DEFAULT_FROM_EMAIL = env_text("EMAIL_FROM", "seed-exchange@localhost")

# Behind a proxy that ends TLS; a trial run on 127.0.0.1 speaks plain HTTP.
HTTPS = env_flag("HTTPS", default=SITE_ADDRESS.startswith("https://"))
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if HTTPS else None
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

SIMPLE_HISTORY_HISTORY_ID_USE_UUID = False
SIMPLE_HISTORY_REVERT_DISABLED = True

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "seedbank.api.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": [
        "rest_framework.permissions.IsAuthenticated",
        "seedbank.api.permissions.KeyMayWrite",
    ],
    "DEFAULT_FILTER_BACKENDS": ["seedbank.api.filters.NamedFilters"],
    "DEFAULT_PAGINATION_CLASS": "seedbank.api.paging.Paging",
    "PAGE_SIZE": 50,
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_CLASSES": ["seedbank.api.limits.RequestsOfMember"],
    "EXCEPTION_HANDLER": "seedbank.api.errors.handle",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Seed bank and exchange",
    "DESCRIPTION": "Germination history, packets with their chain, and the open list.",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "COMPONENT_SPLIT_REQUEST": True,
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    "ENUM_NAME_OVERRIDES": {
        "PlantOriginEnum": "crosses.models.Plant.Origin",
        "LotOriginEnum": "seedbank.bank.models.Lot.Origin",
        "CheckKindEnum": "crosses.models.Check.Kind",
        "PretreatmentKindEnum": "seedbank.sowings.models.Pretreatment.Kind",
        "PacketStateEnum": "seedbank.bank.models.Packet.State",
        "PollinationStateEnum": "crosses.models.Pollination.State",
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "seedbank.api.schema.add_manners",
    ],
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
