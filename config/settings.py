"""Every setting, from the environment; without one this is the embedded install."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from urllib.parse import urlsplit

import environ

ROOT = Path(__file__).resolve().parent.parent
env = environ.Env()
environ.Env.read_env(ROOT / ".env")

DATA_DIR = Path(env.str("DATA_DIR", default=str(ROOT / "var")))
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)


def _kept_secret(path: Path) -> str:
    """Return the secret kept in `path`, made at first start and readable by its owner only."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text()
    with os.fdopen(handle, "w") as file:
        file.write(secrets.token_urlsafe(64))
    return path.read_text()


# The key that signs the log and the signed heads stand beside the data folder, never in it: a
# copy or a loss of the one is then no copy or loss of the other.
LOG_KEY_FILE = env.str("LOG_KEY_FILE", default="") or str(
    DATA_DIR.with_name(f"{DATA_DIR.name}-keys") / "log_key.pem"
)
LOG_HEADS_DIR = env.str("LOG_HEADS_DIR", default="") or str(
    DATA_DIR.with_name(f"{DATA_DIR.name}-heads")
)
LOG_HEADS_EMAIL = env.list("LOG_HEADS_EMAIL", default=[])

# One address decides every https flag: cookies and redirects would lock people out of plain http.
BASE_URL = env.str("BASE_URL", default="http://127.0.0.1:8000")
# what the link of a notice opens; the roof has the page
CONTACT_LINK_URL = f"{BASE_URL.rstrip('/')}/logbook/enter/{{token}}/"
HTTPS = BASE_URL.startswith("https://")
HOST = urlsplit(BASE_URL).hostname or "127.0.0.1"

DEBUG = env.bool("DEBUG", default=False)
DEMO = env.bool("DEMO", default=False)
SECRET_KEY = env.str("SECRET_KEY", default="") or _kept_secret(DATA_DIR / "secret_key")
ALLOWED_HOSTS = [HOST, "127.0.0.1", "localhost", *env.list("ALLOWED_HOSTS", default=[])]
CSRF_TRUSTED_ORIGINS = [BASE_URL] if HTTPS else []

# django.contrib.sites must never be added: its label "sites" is the label of our first floor.
INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "django_htmx",
    "csp",
    "accounts",
    "sites",
    "treatments",
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
    "accounts.middleware.PrivatePagesMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "allauth.usersessions.middleware.UserSessionsMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "accounts.middleware.BranchTimeMiddleware",
    "accounts.middleware.RefusedMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "config" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.context.site",
            ],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# SQLite: WAL with IMMEDIATE transactions is what serializes the log's frontier; FULL keeps a
# record through a power cut; recursive triggers close INSERT OR REPLACE past the guards.
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; "
        "PRAGMA recursive_triggers=ON; PRAGMA journal_size_limit=27103364; "
        "PRAGMA mmap_size=134217728; PRAGMA cache_size=-20000;"
    ),
}


def _database() -> dict[str, object]:
    """Return the one database: DATABASE_URL, else SQLite in the data folder."""
    database: dict[str, object] = env.db_url(
        "DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'eaveline.sqlite3'}"
    )
    if database["ENGINE"] == "django.db.backends.sqlite3":
        return {**database, "ENGINE": "config.sqlite_in_turn", "OPTIONS": SQLITE_OPTIONS}
    return {**database, "CONN_MAX_AGE": 60, "CONN_HEALTH_CHECKS": True}


DATABASES = {"default": _database()}
ATOMIC_REQUESTS = False
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

REDIS_URL = env.str("REDIS_URL", default="")
# Sign-in throttling counts over all worker processes, so the counters live outside of them.
CACHES = {
    "default": (
        {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}
        if REDIS_URL
        else {
            "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
            "LOCATION": DATA_DIR / "counters",
        }
    ),
    # what can never change again, in each process by itself (treatments/selectors/settled)
    "settled": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "settled",
        "TIMEOUT": None,
        "OPTIONS": {"MAX_ENTRIES": 500},
    },
}

CELERY_BROKER_URL = REDIS_URL or "memory://"
CELERY_TASK_ALWAYS_EAGER = not REDIS_URL

AUTH_USER_MODEL = "accounts.Person"
AUTHENTICATION_BACKENDS = ["accounts.backends.WithRoles"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]
# NIST SP 800-63B-4: length and blocklists instead of composition rules.
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("full_name", "email")},
    },
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
ACCOUNT_ADAPTER = "accounts.adapters.ClosedDoor"
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGOUT_ON_GET = False
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_PRESERVE_USERNAME_CASING = False
ACCOUNT_EMAIL_NOTIFICATIONS = False
MFA_ALLOW_UNVERIFIED_EMAIL = True
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = not HTTPS
ALLAUTH_TRUSTED_PROXY_COUNT = env.int("TRUSTED_PROXIES", default=0)

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = False

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [ROOT / "config" / "static"]
# The suite and the screens serve straight from the source; hashed names are for serving.
HASHED_STATIC = env.bool("HASHED_STATIC", default=True)
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "whitenoise.storage.CompressedManifestStaticFilesStorage"
            if HASHED_STATIC
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
    },
}
WHITENOISE_USE_FINDERS = not HASHED_STATIC

EMAIL_CONFIG = env.email_url("EMAIL_URL", default="consolemail://")
vars().update(EMAIL_CONFIG)
# a mail server that hangs must not hold up the sweep
EMAIL_TIMEOUT = env.int("EMAIL_TIMEOUT", default=20)
DEFAULT_FROM_EMAIL = env.str("FROM_EMAIL", default="office@firm.example")

SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_HSTS_SECONDS = 31536000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("HSTS_SUBDOMAINS", default=False)
SECURE_HSTS_PRELOAD = env.bool("HSTS_PRELOAD", default=False)
SECURE_PROXY_SSL_HEADER = (
    ("HTTP_X_FORWARDED_PROTO", "https") if ALLAUTH_TRUSTED_PROXY_COUNT and HTTPS else None
)
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 2_500_000
FILE_UPLOAD_HANDLERS = [
    "accounts.uploads.LargestUpload",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "connect-src": ["'self'"],
        "font-src": ["'self'"],
        "manifest-src": ["'self'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
        "base-uri": ["'none'"],
        "object-src": ["'none'"],
    }
}
