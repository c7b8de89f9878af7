"""The one settings file. Everything that differs between machines comes from the environment, strictly read.

With nothing set it is a debugging site on this machine; with DEBUG=no it stops until SECRET_KEY is there.
"""

from __future__ import annotations

import os
from datetime import timedelta
from pathlib import Path

import bootstrap_wrapper
import fontpkg_bitter
import fontpkg_fira_sans
import fontpkg_fira_sans_condensed
import fontpkg_ibm_plex_sans_arabic
from django.utils.translation import gettext_lazy as _

from training import environment

BASE_DIR = Path(__file__).resolve().parent.parent

DEBUG = environment.flag("DEBUG", default=True)
SECRET_KEY = environment.secret_key(debug=DEBUG)
ALLOWED_HOSTS = environment.words("ALLOWED_HOSTS") or (["localhost", "127.0.0.1", "[::1]"] if DEBUG else [])
CSRF_TRUSTED_ORIGINS = environment.words("CSRF_TRUSTED_ORIGINS")
PUBLIC_URL = environment.address("PUBLIC_URL")  # where documents are checked; none: wherever they were printed

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "crispy_forms",
    "crispy_bootstrap5",
    "axes",
    "allauth",
    "allauth.account",  # allauth.mfa needs it; none of its pages is wired
    "allauth.mfa",
    "training.people",
    "training.invitations",
    "training.log",
    "training.curriculum",
    "training.records",
    "training.standing",
    "training.handover",
    "training.issuing",
    "training.documents",
    "training.tenancy",
    "training.exchange",
    "training.pages",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "training.pages.middleware.NothingIsAskedOfTheDevice",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "training.pages.middleware.SignedInAnswersAreNotKept",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "training.tenancy.scope.WhoAsks",
    "allauth.account.middleware.AccountMiddleware",
    "axes.middleware.AxesMiddleware",
    "training.pages.entry.staying.SessionsEnd",
    "training.pages.middleware.ViewsAreNamedInTheLog",
    "django.contrib.messages.middleware.MessageMiddleware",
    "training.pages.cannot_save.CannotSave",
]

ROOT_URLCONF = "training.urls"
WSGI_APPLICATION = "training.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.i18n",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "training.pages.context.the_page",
            ],
        },
    },
]

_database, SITE_ROLE, AS_OWNER = environment.databases(folder=BASE_DIR)
DATABASES = {"default": _database}
_replica = environment.replica(folder=BASE_DIR)
if _replica and not AS_OWNER:  # the owner's commands read where they write
    DATABASES["replica"] = _replica
    DATABASE_ROUTERS = ["training.tenancy.replica.Router"]

AUTH_USER_MODEL = "people.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"
PASSWORD_HASHERS = [
    "training.hashing.Argon2InTurns",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]

AUTHENTICATION_BACKENDS = ["training.pages.entry.lock.Backend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_RESET_TIMEOUT = 24 * 60 * 60

# Wrong passwords and codes are counted in the database, for one account at one address, and for an address as a whole.
WRONG_TRIES_OF_AN_ADDRESS = 50
CLIENT_ADDRESS_HEADER = os.environ.get(
    "CLIENT_ADDRESS_HEADER", ""
)  # such as X-Forwarded-For, behind a proxy that sets it
AXES_FAILURE_LIMIT = 5
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_RESET_ON_SUCCESS = True
AXES_HANDLER = "training.pages.entry.lock.Handler"
AXES_CLIENT_IP_CALLABLE = "training.pages.entry.lock.address_of"
AXES_USERNAME_CALLABLE = "training.pages.entry.lock.counted_name"
AXES_DISABLE_ACCESS_LOG = True

MFA_SUPPORTED_TYPES = ["totp", "recovery_codes", "webauthn"]
MFA_TOTP_TOLERANCE = 1  # a clock half a minute off
MFA_ADAPTER = "training.pages.entry.passkeys.Adapter"
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = False
ACCOUNT_USER_MODEL_EMAIL_FIELD = None
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English"))]
TIME_ZONE = "UTC"
USE_TZ = True
FORMAT_MODULE_PATH = ["training.formats"]

STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "staticfiles"
STATICFILES_DIRS = [
    ("bootstrap", bootstrap_wrapper.get_bootstrap_dir()),
    *(
        (f"faces/{face}", Path(package.__file__).parent / "files")
        for face, package in {
            "bitter": fontpkg_bitter,
            "fira-sans": fontpkg_fira_sans,
            "fira-sans-condensed": fontpkg_fira_sans_condensed,
            "plex-arabic": fontpkg_ibm_plex_sans_arabic,
        }.items()
    ),
]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

# Nothing from elsewhere, no inline script or style, no framing.
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:"],  # Bootstrap draws its form arrows as data pictures
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}
# None leaves the site. With "no-referrer" browsers send no origin either, and every post is refused.
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 12 * 60 * 60
CAREGIVER_IDLE_MINUTES = environment.number("CAREGIVER_IDLE_MINUTES", default=30)  # their phone is often the family's
BEDSIDE_IDLE_MINUTES = 15  # left alone that long, the bedside page covers itself
IDLE_MINUTES = environment.number("IDLE_MINUTES", default=15)  # left alone that long, a member is signed out
IDLE_WARNING_SECONDS = 120
CSRF_FAILURE_VIEW = "training.pages.errors.page_open_too_long"
if not DEBUG:
    SECURE_SSL_REDIRECT = True
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"without_words": {"()": "training.failures.WithoutWords"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "without_words"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "training": {"level": "INFO"},
        "django": {"handlers": [], "level": "INFO"},  # its own would print errors' words, and mail whole forms
        "axes": {"level": "CRITICAL", "propagate": False},  # it would log who could not sign in, and from where
    },
}
DEFAULT_EXCEPTION_REPORTER_FILTER = "training.failures.ReportsWithoutWords"
