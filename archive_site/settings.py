"""All settings, from the environment (names in DEVELOPERS.md). With nothing set the site serves this machine only.

WRAPKEEP_HOSTS is the switch: naming public hosts makes the site a deployed one, which wants its own secret key, HTTPS
and collected static files. Without it the site answers to 127.0.0.1 and localhost and keeps its key in `.data/`.
"""

from datetime import timedelta
from pathlib import Path

from csp.constants import NONE, SELF

from archive_site.env import Settings, WrongSetting, database, kept_key

env = Settings()
BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("WRAPKEEP_DATA", BASE_DIR / ".data")

# --- who is served ---------------------------------------------------------------------------------------------------
DEBUG = env.flag("WRAPKEEP_DEBUG", False)
PUBLIC_HOSTS = env.hosts("WRAPKEEP_HOSTS")
DEPLOYED = bool(PUBLIC_HOSTS)
ALLOWED_HOSTS = [*PUBLIC_HOSTS, "127.0.0.1", "localhost", "[::1]"]
SECRET_KEY = env.text("WRAPKEEP_SECRET_KEY")
if DEPLOYED and DEBUG:
    raise WrongSetting("WRAPKEEP_DEBUG is on while WRAPKEEP_HOSTS names public hosts: switch one of them off.")
if DEPLOYED and not SECRET_KEY:
    raise WrongSetting("WRAPKEEP_SECRET_KEY is missing: a site with WRAPKEEP_HOSTS needs a secret key of its own.")
if SECRET_KEY and (len(SECRET_KEY) < 50 or len(set(SECRET_KEY)) < 5):
    raise WrongSetting("WRAPKEEP_SECRET_KEY is too simple: use at least 50 random characters.")
SECRET_KEY = SECRET_KEY or kept_key(DATA_DIR)

# The host that is printed on labels; it must stay the same for as long as the labels do.
LABEL_HOST = env.text("WRAPKEEP_LABEL_HOST", PUBLIC_HOSTS[0].lstrip(".") if PUBLIC_HOSTS else "127.0.0.1:8000")

# --- the app ---------------------------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "catalog.apps.CatalogConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_filters",
    "django_htmx",
    "csp",
    "axes",
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
    "django_htmx.middleware.HtmxMiddleware",
    # Every address must be listed with who may open it; what nobody listed is closed.
    "catalog.access.middleware.AddressMiddleware",
    "catalog.core.middleware.SentenceMiddleware",
    "axes.middleware.AxesMiddleware",
]
ROOT_URLCONF = "archive_site.urls"
WSGI_APPLICATION = "archive_site.wsgi.application"
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
                "catalog.access.context.desk",
            ],
        },
    },
]
# Forms are drawn from templates/django/forms where the house has its own shape for a field.
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# --- database --------------------------------------------------------------------------------------------------------
DATABASES = {"default": database(env.text("DATABASE_URL"), DATA_DIR / "db.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- accounts --------------------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "catalog.User"
AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "access:sign_in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = LOGIN_URL
SESSION_COOKIE_AGE = 12 * 60 * 60  # a working day in the store
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True

# Five wrong passwords for one name from one address, then a pause.
PROXIES = env.number("WRAPKEEP_PROXIES", 0, least=0, most=5)
AXES_FAILURE_LIMIT = 5
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_ENABLE_ADMIN = False
AXES_LOCKOUT_TEMPLATE = "catalog/access/locked.html"
AXES_IPWARE_PROXY_COUNT = PROXIES
# Without a proxy nobody but the caller writes X-Forwarded-For, so it must not count.
AXES_IPWARE_META_PRECEDENCE_ORDER = ["HTTP_X_FORWARDED_FOR", "REMOTE_ADDR"] if PROXIES else ["REMOTE_ADDR"]

# --- safety ----------------------------------------------------------------------------------------------------------
CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
if DEPLOYED:
    HTTPS = env.flag("WRAPKEEP_HTTPS", True)
    SECURE_SSL_REDIRECT = HTTPS
    SESSION_COOKIE_SECURE = HTTPS
    CSRF_COOKIE_SECURE = HTTPS
    SECURE_HSTS_SECONDS = 86400 * env.number("WRAPKEEP_HSTS_DAYS", 365, least=0, most=3650) if HTTPS else 0
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = env.flag("WRAPKEEP_HSTS_PRELOAD", False)
    CSRF_TRUSTED_ORIGINS = [f"http{'s' if HTTPS else ''}://{'*' if h[0] == '.' else ''}{h}" for h in PUBLIC_HOSTS]
    if PROXIES:
        SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
# Preloading writes the domain into browsers for years: the owner of the domain decides (WRAPKEEP_HSTS_PRELOAD), not we.
SILENCED_SYSTEM_CHECKS = ["security.W021"]

# --- files -----------------------------------------------------------------------------------------------------------
MAX_UPLOAD_MB = env.number("WRAPKEEP_MAX_UPLOAD_MB", 25, least=1, most=2000)
FILE_UPLOAD_HANDLERS = [
    "catalog.core.uploads.UploadCap",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
FILE_UPLOAD_PERMISSIONS = 0o640
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
DATA_UPLOAD_MAX_NUMBER_FILES = 40

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
MEDIA_ROOT = DATA_DIR / "media"
# Hashed names need `collectstatic`, which a deployment runs and a first look does not.
STATIC_BACKEND = (
    "archive_site.static_files.HashedManifest" if DEPLOYED else "django.contrib.staticfiles.storage.StaticFilesStorage"
)
WHITENOISE_USE_FINDERS = not DEPLOYED
STATIC_ROOT.mkdir(exist_ok=True)

MEDIA_S3_BUCKET = env.text("MEDIA_S3_BUCKET")
if MEDIA_S3_BUCKET:
    # The one place that knows which library speaks to the object store.
    media_storage = {
        "BACKEND": env.text("MEDIA_S3_BACKEND", "storages.backends.s3.S3Storage"),
        "OPTIONS": {
            "bucket_name": MEDIA_S3_BUCKET,
            "endpoint_url": env.text("MEDIA_S3_ENDPOINT") or None,
            "region_name": env.text("MEDIA_S3_REGION") or None,
            "access_key": env.text("MEDIA_S3_KEY") or None,
            "secret_key": env.text("MEDIA_S3_SECRET") or None,
            "default_acl": None,
            "file_overwrite": False,
            "querystring_auth": True,
        },
    }
else:
    media_storage = {"BACKEND": "django.core.files.storage.FileSystemStorage"}
STORAGES = {"default": media_storage, "staticfiles": {"BACKEND": STATIC_BACKEND}}

# --- language and time -----------------------------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.time_zone("WRAPKEEP_TIME_ZONE")
DATE_FORMAT = "j M Y"
FORMAT_MODULE_PATH = "archive_site.formats"  # 24 hours, and dates typed as 8 Sep 2026 or 2026-09-08

# --- log: to standard error, for whatever runs the site to keep. No form values are ever written ---------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"django": {"handlers": ["console"], "level": "WARNING", "propagate": False}},
}
