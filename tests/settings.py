"""The settings of the suite: a throwaway data folder, nothing from the developer's own `.env`.

The variables are set before the real settings load, so that they decide and `.env` does not.
Each process has its own data folder under one folder that the first process removes.
"""

import atexit
import os
import shutil
import tempfile
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

if "EAVELINE_TEST_DIR" not in os.environ:
    os.environ["EAVELINE_TEST_DIR"] = tempfile.mkdtemp(prefix="eaveline-test-")
    atexit.register(shutil.rmtree, os.environ["EAVELINE_TEST_DIR"], ignore_errors=True)
TEST_DIR = Path(os.environ["EAVELINE_TEST_DIR"])
ENGINE = os.environ.get("EAVELINE_TEST_ENGINE", "sqlite")
_OWN = TEST_DIR / f"{ENGINE}-{os.environ.get('PYTEST_XDIST_WORKER', 'main')}"

os.environ.update(
    DATA_DIR=str(_OWN),
    LOG_KEY_FILE=str(_OWN.with_name(f"{_OWN.name}-keys") / "log_key.pem"),
    LOG_HEADS_DIR=str(_OWN.with_name(f"{_OWN.name}-heads")),
    LOG_HEADS_EMAIL="",
    BASE_URL="http://127.0.0.1:8000",
    DEBUG="False",
    DEMO="False",
    SECRET_KEY="a key for the suite only, never for a running house, fifty characters",
    ALLOWED_HOSTS="testserver",
    TRUSTED_PROXIES="0",
    HASHED_STATIC="False",
    EMAIL_URL="memorymail://",
    EMAIL_TIMEOUT="20",
    FROM_EMAIL="office@firm.example",
    HSTS_SUBDOMAINS="False",
    HSTS_PRELOAD="False",
)
if ENGINE == "sqlite":
    os.environ.update(DATABASE_URL=f"sqlite:///{_OWN / 'eaveline.sqlite3'}", REDIS_URL="")

elif os.environ.get("REDIS_URL", "").startswith("redis://"):
    # each worker has a database of its own: clearing the counters clears a whole one
    number = os.environ.get("PYTEST_XDIST_WORKER", "").removeprefix("gw")
    address = urlsplit(os.environ["REDIS_URL"])._replace(path=f"/{number or 0}")
    os.environ["REDIS_URL"] = urlunsplit(address)

from config.settings import *  # noqa: E402, F403
from config.settings import DATABASES, SQLITE_OPTIONS, STATIC_ROOT  # noqa: E402

STATIC_ROOT.mkdir(exist_ok=True)
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_TASK_ALWAYS_EAGER = True
if ENGINE == "sqlite":
    # A file, not memory: threads, browsers and writers then meet the same locks as in service.
    # Nobody pulls the plug on a test, so commits need not reach the disk.
    DATABASES["default"] |= {
        "TEST": {"NAME": str(_OWN / "test.sqlite3")},
        "OPTIONS": SQLITE_OPTIONS
        | {
            "init_command": SQLITE_OPTIONS["init_command"].replace(
                "synchronous=FULL", "synchronous=OFF"
            )
        },
    }
