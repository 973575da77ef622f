"""The key of the log and the heads outside, one folder a test: they would outlive its rows."""

from __future__ import annotations

import uuid
from typing import Any

import pytest

from tests.settings import TEST_DIR


@pytest.fixture(autouse=True)
def _own_log_files(settings: Any) -> None:
    own = TEST_DIR / f"log-{uuid.uuid4()}"
    settings.LOG_KEY_FILE, settings.LOG_HEADS_DIR = str(own / "log_key.pem"), str(own / "heads")
